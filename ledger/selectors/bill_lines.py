"""Where a bill ends: on a season, in a machine's pool, in a stock or on the farm as a whole."""

from dataclasses import replace
from decimal import Decimal

from farmops.core.clock import local_date
from farmops.farms.models import Farm, Field, Implement, Machine, Season
from ledger.costing.allocation import AllocationError, share_out
from ledger.models import (
    Account,
    Bill,
    BillPayment,
    BookSettings,
    Category,
    OpeningStock,
    PunctureTo,
    SharedBy,
)
from ledger.selectors.categories import CategoryBook
from ledger.selectors.drafts import DraftLine, both_sides
from scheduling.models import Incident, IncidentKind

OWED_BEFORE = {
    Category.LABOR: Account.WAGES_OWED,
    Category.PAYROLL_BURDEN: Account.PAYROLL_OWED,
}
"""What is owed from work records on, so that paying it is no cost again."""


def puncture_choice(*, farm: Farm) -> PunctureTo:
    """Return who bears a puncture on this farm: the field unless the farm chose otherwise."""
    row = BookSettings.objects.filter(farm=farm).first()
    return PunctureTo(row.puncture_to) if row else PunctureTo.FIELD


def bill_lines(*, bill: Bill, puncture_to: PunctureTo, categories: CategoryBook) -> list[DraftLine]:
    """Return the lines of a bill, owed to its payee.

    A season, a machine or a pump that the bill names bears it. The bill of a puncture goes to the field or to the
    machine's pool by the farm's choice, whatever else it names; of another incident, to the machine's pool. Without any
    of these, fuel goes to the tank, seed and the like to the shed, what is paid to hands or for them to what was owed,
    and everything else to the farm as a whole; or all seasons of its crop year share it, where the bill says so.

    Items go each to their place: what has a code and a quantity into stock, by which it becomes a layer of it; the rest
    of a category together where the bill goes, seed and the like without a code to the shed. Of a credit the same, with the quantity that went back below zero.
    """
    says = bill_says(bill)
    wholes = _wholes(bill, DraftLine(Account.OVERHEAD, 0, says=says), categories)
    costs = [line for whole in wholes for line in _places(bill, puncture_to, whole, categories)]
    owed = owed_by_category(bill).items()
    return [*costs, *(DraftLine(Account.BILLS_OWED, -cents, category, says=says) for category, cents in owed)]


def payment_lines(*, payment: BillPayment) -> list[DraftLine]:
    """Return the lines of a payment: what was owed is paid from the bank."""
    bill, says = payment.bill, payment_says(payment)
    lines = []
    for category, cents in owed_by_category(bill).items():
        lines += [
            DraftLine(Account.BILLS_OWED, cents, category, says=says),
            DraftLine(Account.BANK, -cents, category, says=says),
        ]
    return lines


def owed_by_category(bill: Bill) -> dict[str, int]:
    """Return the cents of a bill by category: those of its items, or the whole bill; none of a category at zero."""
    sums: dict[str, int] = {}
    for item in bill.items.all():
        sums[item.category] = sums.get(item.category, 0) + item.cents
    return {category: cents for category, cents in sums.items() if cents} or {bill.category: bill.cents}


def opening_lines(*, opening: OpeningStock, categories: CategoryBook) -> list[DraftLine]:
    """Return the lines of what was in stock when the books began; none of what had cost nothing."""
    stock = DraftLine(
        categories.stock(opening.category) or Account.INPUT_STOCK,
        opening.cents,
        opening.category,
        quantity_e4=opening.quantity_e4,
        unit=opening.unit,
        item=opening.item,
        lot=opening.lot,
        says=f"there on {opening.on}",
    )
    start = DraftLine(Account.OPENING, -opening.cents, opening.category, says=stock.says)
    return both_sides(stock, against=start)


def payment_says(payment: BillPayment) -> str:
    """Return the words of a payment on its lines."""
    by_check = f" by check {payment.check_no}" if payment.check_no else ""
    return f"paid to {payment.bill.payee.name}{by_check}"


def bill_says(bill: Bill) -> str:
    """Return the words of a bill on its lines, which the digest of its entry holds."""
    return f"bill of {bill.payee.name}{f' no. {bill.number}' if bill.number else ''}"


def _wholes(bill: Bill, owed: DraftLine, categories: CategoryBook) -> list[DraftLine]:
    """Return what a bill asks, by item; what goes where the bill goes is one of each category."""
    items = list(bill.items.all())
    if not items:
        return [replace(owed, cents=bill.cents, category=bill.category)]
    placed: list[DraftLine] = []
    rest: dict[str, DraftLine] = {}
    for item in items:
        sign = -1 if item.cents < 0 else 1
        whole = replace(
            owed,
            cents=item.cents,
            category=item.category,
            quantity_e4=None if item.quantity_e4 is None else sign * item.quantity_e4,
            unit=item.unit,
            says=f"{owed.says}: {item.says}" if item.says else owed.says,
        )
        if item.item:
            stock = categories.stock(item.category) or Account.INPUT_STOCK
            placed.append(replace(whole, account=stock, item=item.item, lot=item.lot))
        elif item.season is not None:
            placed.append(replace(whole, account=Account.SEASON, season=item.season))
        elif item.machine is not None:
            placed.append(replace(whole, account=Account.MACHINE_POOL, machine=item.machine))
        elif item.category in rest:
            cents = rest[item.category].cents + item.cents
            rest[item.category] = replace(owed, cents=cents, category=item.category)
        else:
            rest[item.category] = whole
    return [*placed, *(whole for whole in rest.values() if whole.cents)]


def _places(
    bill: Bill, puncture_to: PunctureTo, whole: DraftLine, categories: CategoryBook
) -> list[DraftLine]:
    if whole.account != Account.OVERHEAD:
        return [whole]
    if bill.pump is not None:
        return [replace(whole, account=Account.IRRIGATION, pump=bill.pump)]
    kept_at = _kept_at(whole.category, categories)
    if bill.shared_by and (kept_at == Account.OVERHEAD or not bill.items.all()):
        return _shared_at_once(whole, bill)
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
    return [replace(whole, account=kept_at)]


def _shared_at_once(whole: DraftLine, bill: Bill) -> list[DraftLine]:
    """Return a bill shared over all seasons of its crop year, by acres or in equal parts."""
    seasons = Season.objects.filter(farm=bill.farm_id, crop_year=bill.crop_year or bill.bill_on.year)
    rows = list(seasons.select_related("field").order_by("id"))
    if not rows:
        raise AllocationError(
            f"There is no season of crop year {bill.crop_year or bill.bill_on.year} to share the bill over."
        )
    return _shared(whole, rows, is_equal=bill.shared_by == SharedBy.EQUAL)


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


def _shared(whole: DraftLine, seasons: list[Season], *, is_equal: bool = False) -> list[DraftLine]:
    """Return a cost shared over seasons by acres, or in equal parts; a share of several has no quantity and price."""
    if not seasons:
        return []
    if len(seasons) > 1:
        whole = replace(whole, quantity_e4=None, unit="", price_e4=None, rate=None)
    by_key = {f"{season.pk:020d}": season for season in seasons}
    weights = {key: Decimal(1) if is_equal else row.area_ac for key, row in by_key.items()}
    parts = share_out(total_cents=whole.cents, weights=weights)
    return [
        replace(whole, account=Account.SEASON, season=by_key[key], cents=cents)
        for key, cents in parts.items()
        if cents != 0
    ]


def field_shares(*, whole: DraftLine, field: Field, year: int) -> list[DraftLine]:
    """Return a cost shared by acres over a field's seasons of that crop year, else of its newest; none without a season.

    A share of several has no quantity and price of its own.
    """
    return _shared(whole, _seasons_of_field(field, year))


def _kept_at(category: str, categories: CategoryBook) -> Account:
    """Return where a bill without a place ends. What hands are paid was charged by their work records before."""
    if category in OWED_BEFORE:
        return OWED_BEFORE[Category(category)]
    return categories.stock(category) or Account.OVERHEAD


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
