"""What the page of fuel shows: each tank with what is not accounted for, and fill-ups with the passes that burned them."""

import datetime as dt
import uuid
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from farmops.farms.models import Farm, Fuel, FuelTank, Machine
from farmops.pages import words
from farmops.pages.fleet_page import Refused
from farmops.pages.trade_words import tool, work
from farmops.science.work_rate import fuel_gal_per_h
from scheduling.fuel import Stretch
from scheduling.models import FieldPass
from scheduling.selectors.fuel import FillShared, TankStock, shared_fills, standing_deliveries, tank_stocks

STICK_SHARE = Decimal("0.01")
"""Farm judgement: a stick read to a quarter of an inch is right to half a percent of a tank, two readings to one."""
ODD_BURN = (Decimal("0.4"), Decimal("1.9"))
"""Farm judgement: a machine at full load burns less than twice its year's average, at light work hardly under half."""
MOST_FILLS = 60
FORMS = ("fill", "delivery", "reading")


@dataclass(frozen=True)
class StretchRow:
    """A stretch between two readings of a tank, in words."""

    since: str
    until: str
    had: str
    came: str
    went: str
    should: str
    found: str
    missing: str
    is_odd: bool
    is_overfull: bool


@dataclass(frozen=True)
class FillRow:
    """A fill-up, in words, with the gallons of each pass; `not_its_fuel` says so where the machine burns another."""

    pk: int
    when: str
    machine: str
    gallons: str
    source: str
    meter: str
    burn: str
    is_odd: bool
    shares: list[tuple[str, str]]
    by: str
    note: str
    not_its_fuel: str
    take_back_id: uuid.UUID = field(default_factory=uuid.uuid4)


def fuel_facts(*, farm: Farm, now: dt.datetime, refused: Refused | None = None) -> dict[str, Any]:
    """Return tanks, fill-ups and passes with their fuel, and the forms to enter more."""
    refused = refused or Refused()
    zone = ZoneInfo(farm.zone)
    stocks, fills = tank_stocks(farm=farm), shared_fills(farm=farm)
    deliveries = standing_deliveries(farm=farm).select_related("tank").order_by("-delivered_at", "-id")
    return {
        "headline": _headline(stocks, fills, zone),
        "tanks": [_tank(stock, zone) | {"form": _tank_form(stock.tank, refused)} for stock in stocks],
        "new_tank": _tank_form(None, refused),
        "fills": [_fill(one, zone) for one in fills[:MOST_FILLS]],
        "older_fills": max(0, len(fills) - MOST_FILLS),
        "passes": pass_rows(fills),
        "deliveries": [
            {
                "pk": row.pk,
                "when": _when(row.delivered_at, zone),
                "tank": row.tank.name,
                "gallons": _gal(row.gallons),
                "ticket": row.ticket_no,
                "take_back_id": uuid.uuid4(),
            }
            for row in deliveries[:MOST_FILLS]
        ],
        "forms": _forms(now.astimezone(zone), refused),
        "machine_choices": [(row.pk, tool(row)) for row in Machine.objects.filter(farm=farm)],
        "tank_choices": [(row.pk, row.name) for row in FuelTank.objects.filter(farm=farm)],
        "fuel_choices": [(value, words.named(label)) for value, label in Fuel.choices],
        "refused_key": refused.key,
    }


def pass_rows(fills: Iterable[FillShared]) -> list[dict[str, str]]:
    """Return the gallons that each pass burned, the most first."""
    passes: dict[int, FieldPass] = {}
    gallons: dict[int, Decimal] = {}
    minutes: dict[int, int] = {}
    for one in fills:
        for share in one.passes:
            pk = share.field_pass.pk
            passes[pk] = share.field_pass
            gallons[pk] = gallons.get(pk, Decimal(0)) + share.gallons
            minutes[pk] = minutes.get(pk, 0) + share.engine_min
    ordered = sorted(passes, key=lambda pk: (-gallons[pk], pk))
    return [
        {
            "name": _pass_name(passes[pk]),
            "gallons": _gal(gallons[pk]),
            "hours": f"{Decimal(minutes[pk]) / 60:.1f} h",
            "per_ac": _per(gallons[pk], passes[pk].done_ac, "gal/ac"),
            "per_h": _per(gallons[pk] * 60, Decimal(minutes[pk]), "gal/h"),
        }
        for pk in ordered
    ]


def _headline(stocks: Sequence[TankStock], fills: Sequence[FillShared], zone: ZoneInfo) -> str:
    odd = [(stock, stock.stretches[-1]) for stock in stocks if stock.stretches]
    odd = [(stock, last) for stock, last in odd if _is_odd(stock.tank, last)]
    if odd:
        stock, last = max(odd, key=lambda one: abs(one[1].missing_gal or Decimal(0)))
        missing = last.missing_gal or Decimal(0)
        since = words.long_date(last.begins_at.astimezone(zone).date())
        if missing > 0:
            lost = _("{gallons} of {tank} are not accounted for since {day}.")
            return words.capital(lost.format(gallons=_gal(missing), tank=stock.tank.name, day=since))
        return _("{tank} holds {gallons} more than it should since {day}.").format(
            tank=words.capital(stock.tank.name), gallons=_gal(-missing), day=since
        )
    if any(stock.stretches for stock in stocks):
        return _("All the fuel between the last readings is accounted for, as near as a stick can tell.")
    if fills:
        total = sum((one.row.gallons for one in fills), Decimal(0))
        return _("{gallons} went into machines so far; no tank was read twice yet.").format(
            gallons=_gal(total)
        )
    return _("No fuel has been put in yet.")


def _tank(stock: TankStock, zone: ZoneInfo) -> dict[str, Any]:
    rows = [_stretch(stock.tank, one, zone) for one in reversed(stock.stretches)]
    now = stock.now
    return {
        "name": stock.tank.name,
        "what": _("{fuel}, holds {gallons}").format(
            fuel=words.named(stock.tank.get_fuel_display()), gallons=_gal(stock.tank.holds_gal)
        ),
        "now": None if now is None else _stretch(stock.tank, now, zone),
        "is_overdrawn": now is not None and now.should_gal < 0,
        "is_overfull": now is not None and now.should_gal > stock.tank.holds_gal,
        "rows": rows,
        "came": _gal(stock.came_gal),
        "went": _gal(stock.went_gal),
    }


def _stretch(tank: FuelTank, one: Stretch, zone: ZoneInfo) -> StretchRow:
    missing = one.missing_gal
    return StretchRow(
        since=_when(one.begins_at, zone),
        until=_when(one.ends_at, zone) if one.ends_at is not None else "",
        had=_gal(one.had_gal),
        came=_gal(one.came_gal),
        went=_gal(one.went_gal),
        should=_gal(one.should_gal),
        found=_gal(one.found_gal) if one.found_gal is not None else "",
        missing=_side(missing) if missing is not None else "",
        is_odd=_is_odd(tank, one),
        is_overfull=one.should_gal > tank.holds_gal,
    )


def _is_odd(tank: FuelTank, one: Stretch) -> bool:
    return one.missing_gal is not None and abs(one.missing_gal) > tank.holds_gal * STICK_SHARE


def _side(missing_gal: Decimal) -> str:
    if not missing_gal:
        return "0.0 gal"
    said = _("{gallons} missing") if missing_gal > 0 else _("{gallons} too much")
    return said.format(gallons=_gal(abs(missing_gal)))


def _fill(one: FillShared, zone: ZoneInfo) -> FillRow:
    row, burned = one.row, one.burned
    usual = Decimal(str(round(float(fuel_gal_per_h(pto_hp=float(row.machine.power_hp))), 2)))
    burn, is_odd = "", False
    if burned.gal_per_h is not None:
        burn = _("{rate} gal/h over {hours} h, usual {usual}").format(
            rate=f"{burned.gal_per_h:.1f}",
            hours=f"{Decimal(burned.engine_min) / 60:.1f}",
            usual=f"{usual:.1f}",
        )
        is_odd = row.fuel == Fuel.DIESEL and not (
            usual * ODD_BURN[0] <= burned.gal_per_h <= usual * ODD_BURN[1]
        )
    shares = [(_pass_name(share.field_pass), _gal(share.gallons)) for share in one.passes]
    if burned.no_work_gal:
        shares.append((_("on no pass: road and yard"), _gal(burned.no_work_gal)))
    if one.unshared_gal:
        shares.append((_("no work is recorded since the fill-up before"), _gal(one.unshared_gal)))
    return FillRow(
        pk=row.pk,
        when=_when(row.filled_at, zone),
        machine=tool(row.machine),
        gallons=_gal(row.gallons),
        source=row.tank.name
        if row.tank is not None
        else _("{fuel}, bought elsewhere").format(fuel=words.named(row.get_fuel_display())),
        meter=f"{row.meter_h} h" if row.meter_h is not None else "",
        burn=burn,
        is_odd=is_odd,
        shares=shares,
        by=row.hand.name if row.hand is not None else "",
        note=row.note,
        not_its_fuel=""
        if row.fuel == row.machine.fuel
        else _("It burns {fuel}: look at the tank.").format(fuel=words.named(row.machine.get_fuel_display())),
    )


def _forms(local: dt.datetime, refused: Refused) -> dict[str, dict[str, Any]]:
    fresh = {"day": local.date().isoformat(), "hour": f"{local:%H:%M}"}
    return {
        name: {
            "id": refused.typed.get("client_id", "") if refused.key == name else str(uuid.uuid4()),
            "typed": refused.typed if refused.key == name else fresh,
            "wrong": refused.wrong if refused.key == name else {},
        }
        for name in FORMS
    }


def tank_form(tank: FuelTank | None) -> str:
    """Return the key of the form that changes a tank, or that adds one."""
    return "tank" if tank is None else f"tank-{tank.code}"


def _tank_form(tank: FuelTank | None, refused: Refused) -> dict[str, Any]:
    key, stored = tank_form(tank), {"fuel": Fuel.DIESEL.value}
    if tank is not None:
        stored = {"name": tank.name, "fuel": tank.fuel, "holds_gal": f"{tank.holds_gal.normalize():f}"}
    return {
        "key": key,
        "code": tank.code if tank is not None else "",
        "typed": refused.typed if refused.key == key else stored,
        "wrong": refused.wrong if refused.key == key else {},
    }


def _pass_name(field_pass: FieldPass) -> str:
    return f"{field_pass.season.field.name}, {work(field_pass.operation)}"


def _when(instant: dt.datetime, zone: ZoneInfo) -> str:
    local = instant.astimezone(zone)
    return f"{words.short_date(local.date())}, {words.clock(local)}"


def _gal(gallons: Decimal) -> str:
    return _("{gallons} gal").format(gallons=f"{gallons:,.1f}")


def _per(gallons: Decimal, of: Decimal, unit: str) -> str:
    return f"{gallons / of:.2f} {unit}" if of else ""
