"""The resources of a planning problem, with their calendars, roads and prices."""

import datetime as dt
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from farmops.farms.models import Farm, Hand, Implement, Machine, Pivot
from farmops.science import radiation
from scheduling.selectors.fleet import YARD, Fleet, pivot_id, place_of, pump_id
from scheduling.selectors.horizon import Horizon, Stretch, overlap, tidy
from scheduling.selectors.prices import PlanPrices
from scheduling.selectors.roads import road_factor

CHANGEOVER_MIN = 30  # farm judgement: to unhook one implement and hook up another


def per_minute(cents_per_h: int) -> int:
    """Return whole cents a minute, rounded half up."""
    return (cents_per_h + 30) // 60


def hand_calendar(*, hand: Hand, fleet: Fleet, horizon: Horizon, extra_cents_per_h: int) -> list[Stretch]:
    """Return a hand's shifts in the horizon without the days away; overtime costs extra."""
    away = fleet.away_of.get(hand.pk, ())
    stretches = []
    for day in horizon.local_days():
        if any(days.first_on <= day <= days.last_on for days in away):
            continue
        for shift in fleet.shifts_of.get(hand.pk, ()):
            if shift.weekday == day.weekday():
                extra = extra_cents_per_h if shift.is_overtime else 0
                stretch = horizon.stretch(day, shift.starts_at, shift.ends_at, extra)
                if stretch is not None:
                    stretches.append(stretch)
    return tidy(stretches)


def daylight(*, farm: Farm, horizon: Horizon) -> list[Stretch]:
    """Return the stretches between sunrise and sunset at the farm, in whole minutes of daylight."""
    stretches = []
    for day in horizon.local_days():
        noon = dt.datetime.combine(day, dt.time(12), tzinfo=horizon.clock)
        offset = noon.utcoffset() or dt.timedelta()
        sunrise_h, sunset_h = radiation.sunrise_sunset_h(
            latitude_deg=float(farm.latitude_deg),
            longitude_deg=float(farm.longitude_deg),
            day_of_year=day.timetuple().tm_yday,
            utc_offset_h=offset / dt.timedelta(hours=1),
        )
        midnight = noon.astimezone(dt.UTC) - dt.timedelta(hours=12)
        first = max(horizon.after(midnight + dt.timedelta(hours=float(sunrise_h))), 0)
        last = min(horizon.before(midnight + dt.timedelta(hours=float(sunset_h))), horizon.minutes)
        if first < last:
            stretches.append(Stretch(first, last))
    return tidy(stretches)


def resources_of(
    *,
    farm: Farm,
    fleet: Fleet,
    horizon: Horizon,
    prices: PlanPrices,
    used: frozenset[str],
    standing: Mapping[str, tuple[str, str | None]],
) -> list[dict[str, Any]]:
    """Return the resources that the modes use; `standing` overrules where one stands at minute 0, and what it pulls."""
    hands = [hand for hand in fleet.hands if fleet.id_of(hand) in used]
    hitch_cents = _hitch_cents([prices.hand_cents_per_h[hand.pk] for hand in hands])
    rows = [
        _machine(machine, fleet, horizon, prices, hitch_cents)
        for machine in fleet.machines
        if fleet.id_of(machine) in used
    ]
    implements = [implement for implement in fleet.implements if fleet.id_of(implement) in used]
    light = daylight(farm=farm, horizon=horizon) if any(i.wide_on_road for i in implements) else []
    rows += [_implement(implement, fleet, horizon, light) for implement in implements]
    rows += [_hand(hand, fleet, horizon, prices) for hand in hands]
    rows += [
        _pivot(pivot, horizon)
        for pivot in sorted(fleet.pivots.values(), key=lambda p: p.field.code)
        if pivot_id(pivot.field.code) in used
    ]
    rows += [
        {"id": name, "kind": "pump", "home": YARD, "roams": False, "calendar": as_json(horizon.whole_from(0))}
        for name in sorted({pump_id(pivot.pump.code) for pivot in fleet.pivots.values()} & used)
    ]
    for row in rows:
        row["home"], setup = standing.get(row["id"], (row["home"], None))
        if "setup_now" in row and setup is not None:
            row["setup_now"] = setup
    return rows


def as_json(stretches: Iterable[Stretch]) -> list[dict[str, int]]:
    """Return stretches as the problem writes them."""
    return [
        {"from": s.from_min, "to": s.to_min}
        | ({"extra_cents_per_hour": s.extra_cents_per_h} if s.extra_cents_per_h else {})
        for s in stretches
    ]


def _hitch_cents(hand_cents_per_h: list[int]) -> int:
    """Return what changing an implement costs: the average hand's time."""
    if not hand_cents_per_h:
        return 0
    average = Decimal(sum(hand_cents_per_h)) / len(hand_cents_per_h)
    return int((average * CHANGEOVER_MIN / 60).to_integral_value())


def back_from(row: Machine | Implement, horizon: Horizon) -> list[Stretch]:
    """Return when a machine or implement works: all through, or from the hour it is back about."""
    return horizon.whole_from(horizon.after(row.down_until) if row.down_until is not None else 0)


def _machine(
    machine: Machine, fleet: Fleet, horizon: Horizon, prices: PlanPrices, hitch_cents: int
) -> dict[str, Any]:
    stands, pulled = fleet.machine_stands.get(machine.pk, (YARD, None))
    setup = next((fleet.id_of(i) for i in fleet.implements if i.pk == pulled), None)
    return {
        "id": fleet.id_of(machine),
        "kind": machine.kind,
        "home": stands,
        "roams": True,
        "road_factor": road_factor(machine.road_speed_mph),
        "road_cents_per_minute": per_minute(prices.machine_cents_per_h[machine.pk]),
        "calendar": as_json(back_from(machine, horizon)),
        "changeover": {"minutes": CHANGEOVER_MIN, "cents": hitch_cents},
        "setup_now": setup,
    }


def _implement(implement: Implement, fleet: Fleet, horizon: Horizon, light: list[Stretch]) -> dict[str, Any]:
    calendar = back_from(implement, horizon)
    row = {
        "id": fleet.id_of(implement),
        "kind": "implement",
        "home": fleet.implement_stands.get(implement.pk, YARD),
        "roams": True,
        "road_factor": float(implement.road_factor),
        "calendar": as_json(calendar),
    }
    if implement.wide_on_road:
        row["road_calendar"] = as_json(overlap(light, calendar))
    return row


def _hand(hand: Hand, fleet: Fleet, horizon: Horizon, prices: PlanPrices) -> dict[str, Any]:
    extra = prices.overtime_extra_cents_per_h.get(hand.pk, 0)
    return {
        "id": fleet.id_of(hand),
        "kind": "hand",
        "home": YARD,
        "roams": True,
        "road_cents_per_minute": per_minute(prices.hand_cents_per_h[hand.pk]),
        "calendar": as_json(hand_calendar(hand=hand, fleet=fleet, horizon=horizon, extra_cents_per_h=extra)),
    }


def _pivot(pivot: Pivot, horizon: Horizon) -> dict[str, Any]:
    return {
        "id": pivot_id(pivot.field.code),
        "kind": "pivot",
        "home": place_of(pivot.field.code),
        "roams": False,
        "calendar": as_json(horizon.whole_from(0)),
    }
