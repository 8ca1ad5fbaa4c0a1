"""Where a bill ends: on a season, in a machine's pool, in a stock or on the farm as a whole."""

from dataclasses import replace

from farmops.core.clock import local_date
from farmops.farms.models import Farm, Field, Implement, Machine, Season
from ledger.costing.allocation import share_out
from ledger.models import (
    IN_THE_SHED,
    Account,
    Bill,
    BillPayment,
    BookSettings,
    Category,
    PunctureTo,
)
from ledger.selectors.drafts import DraftLine
from scheduling.models import Incident, IncidentKind


def puncture_choice(*, farm: Farm) -> PunctureTo:
    """Return who bears a puncture on this farm: the field unless the farm chose otherwise."""
    row = BookSettings.objects.filter(farm=farm).first()
    return PunctureTo(row.puncture_to) if row else PunctureTo.FIELD


def bill_lines(*, bill: Bill, puncture_to: PunctureTo) -> list[DraftLine]:
    """Return the lines of a bill, owed to its payee.

    A season or a machine that the bill names bears it. The bill of a puncture goes to the field or to the machine's
    pool by the farm's choice, whatever else it names; of another incident, to the machine's pool. Without any of
    these, fuel goes to the tank, seed and the like to the shed, and everything else to the farm as a whole.
    """
    says = f"bill of {bill.payee.name}{f' no. {bill.number}' if bill.number else ''}"
    owed = DraftLine(Account.BILLS_OWED, -bill.cents, bill.category, says=says)
    return [*_places(bill, puncture_to, replace(owed, cents=bill.cents)), owed]


def payment_lines(*, payment: BillPayment) -> list[DraftLine]:
    """Return the lines of a payment: what was owed is paid from the bank."""
    bill = payment.bill
    says = f"paid to {bill.payee.name}{f' by check {payment.check_no}' if payment.check_no else ''}"
    return [
        DraftLine(Account.BILLS_OWED, bill.cents, bill.category, says=says),
        DraftLine(Account.BANK, -bill.cents, bill.category, says=says),
    ]


def _places(bill: Bill, puncture_to: PunctureTo, whole: DraftLine) -> list[DraftLine]:
    incident = bill.incident
    machine = bill.machine or (incident.machine if incident else None)
    implement = bill.implement or (incident.implement if incident else None)
    seasons = [bill.season] if bill.season else _seasons_of(incident) if incident else []
    pool_first = incident is not None and not (bill.season and not bill.machine and not bill.implement)
    if incident is not None and incident.kind == IncidentKind.PUNCTURE:
        pool_first = puncture_to == PunctureTo.MACHINE_POOL
    elif bill.machine or bill.implement:
        pool_first = True
    pool = _pool(whole, machine, implement)
    field = _shared(whole, seasons)
    for place in (pool, field) if pool_first else (field, pool):
        if place:
            return place
    return [replace(whole, account=_stock(Category(bill.category)))]


def _pool(whole: DraftLine, machine: Machine | None, implement: Implement | None) -> list[DraftLine]:
    if machine is None and implement is None:
        return []
    return [
        replace(
            whole,
            account=Account.MACHINE_POOL,
            machine=machine,
            implement=None if machine is not None else implement,
        )
    ]


def _shared(whole: DraftLine, seasons: list[Season]) -> list[DraftLine]:
    if not seasons:
        return []
    by_key = {f"{season.pk:020d}": season for season in seasons}
    parts = share_out(total_cents=whole.cents, weights={key: row.area_ac for key, row in by_key.items()})
    return [
        replace(whole, account=Account.SEASON, season=by_key[key], cents=cents)
        for key, cents in parts.items()
        if cents != 0
    ]


def field_shares(*, whole: DraftLine, field: Field, year: int) -> list[DraftLine]:
    """Return a cost shared by acres over a field's seasons of that crop year, else of its newest; none without a season.

    A share of several has no quantity and price of its own.
    """
    seasons = _seasons_of_field(field, year)
    if len(seasons) > 1:
        whole = replace(whole, quantity_e4=None, unit="", price_e4=None, rate=None)
    return _shared(whole, seasons)


def _stock(category: Category) -> Account:
    if category == Category.FUEL:
        return Account.FUEL_STOCK
    return Account.INPUT_STOCK if category in IN_THE_SHED else Account.OVERHEAD


def _seasons_of(incident: Incident) -> list[Season]:
    if incident.season is not None:
        return [incident.season]
    if incident.field is None:
        return []
    return _seasons_of_field(incident.field, local_date(incident.happened_at, incident.farm.zone).year)


def _seasons_of_field(field: Field, year: int) -> list[Season]:
    """Return the field's seasons of that crop year, else of its newest; several share by acres."""
    seasons = list(field.seasons.select_related("field").order_by("id"))
    years = {season.crop_year for season in seasons}
    wanted = year if year in years else max(years, default=0)
    return [season for season in seasons if season.crop_year == wanted]
