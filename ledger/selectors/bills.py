"""Bills that stand: what is owed, what was paid, whom a farm pays and for what, and units of what goes into stock."""

import datetime as dt
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from typing import Any, TypeVar

from django.db.models import Exists, Max, Model, OuterRef, Q, QuerySet

from farmops.farms.models import Farm, Implement, Machine, Pump, Season
from ledger.models import (
    Bill,
    BillItem,
    BillPayment,
    Category,
    Entry,
    OpeningStock,
    Rate,
    RateKind,
    SharedBy,
)
from ledger.selectors.bill_lines import OWED_BEFORE
from ledger.selectors.categories import CategoryBook
from ledger.selectors.drafts import ground_code
from ledger.selectors.work_lines import AVERAGE_FUEL
from scheduling.models import InputUse

Place = TypeVar("Place")
SHOWN_WITH = ("payee", "entity", "machine", "implement", "pump", "season__field", "incident", "payment")
SHOWN_BESIDE = ("items__season__field", "items__machine", "photos")


@dataclass(frozen=True)
class PayeeHint:
    """Somebody a farm has paid, with what the last bill was for."""

    payee: str
    category: str


def standing_bills(*, farm: Farm) -> QuerySet[Bill]:
    """Return the bills that no correction took the place of, newest first."""
    return _as_shown(_standing(farm)).order_by("-bill_on", "-id")


def unpaid_bills(*, farm: Farm) -> list[Bill]:
    """Return the bills that stand and are not paid, oldest first; credits that were not taken are among them.

    As the books have it: a payment that was reversed there pays nothing, and a bill that was reversed is not owed.
    """
    return _still_owed(_as_shown(_unpaid(farm)).order_by("bill_on", "id").select_related("supersedes"))


def listed_bills(*, farm: Farm, most: int) -> tuple[list[Bill], list[Bill]]:
    """Return the bills of `unpaid_bills`, and so many of `standing_bills`: both are read at once, with all about them.

    Planning a query with all about a bill takes the database longer than finding which bills are meant.
    """
    owed = list(_unpaid(farm).order_by("bill_on", "id").values_list("pk", flat=True))
    newest = list(_standing(farm).order_by("-bill_on", "-id").values_list("pk", flat=True)[:most])
    rows = _as_shown(Bill.objects.filter(pk__in={*owed, *newest})).order_by().select_related("supersedes")
    found = {bill.pk: bill for bill in rows}
    return _still_owed(found[pk] for pk in owed), [found[pk] for pk in newest]


def _standing(farm: Farm) -> QuerySet[Bill]:
    return Bill.objects.filter(farm=farm, superseded_by__isnull=True)


def _in_books(farm: Farm) -> QuerySet[Bill]:
    """Return the bills that stand and were not reversed in the books."""
    return unreversed(_standing(farm))


def unreversed(rows: QuerySet[Bill]) -> QuerySet[Bill]:
    """Return those of some bills that were not reversed in the books."""
    return rows.filter(~Exists(_undone(bill=OuterRef("pk"))))


def _unpaid(farm: Farm) -> QuerySet[Bill]:
    return _in_books(farm).filter(Q(payment__isnull=True) | Exists(_undone(payment__bill=OuterRef("pk"))))


def _as_shown(rows: QuerySet[Bill]) -> QuerySet[Bill]:
    return rows.select_related(*SHOWN_WITH).prefetch_related(*SHOWN_BESIDE)


def _still_owed(bills: Iterable[Bill]) -> list[Bill]:
    """Return those of `_unpaid` that are: one that took the place of no other is; a correction may be paid by its forerunner."""
    return [bill for bill in bills if bill.supersedes_id is None or not is_paid(bill=bill)]


def is_paid(*, bill: Bill) -> bool:
    """Return whether a bill, or one whose place it took, was paid, and that payment stands."""
    return payment_of(bill=bill) is not None


def paid_among(*, bills: Collection[Bill]) -> set[int]:
    """Return the keys of those bills that are paid, as `is_paid` has it."""
    asked = [bill.pk for bill in bills if bill.supersedes_id is None]
    payments = BillPayment.objects.filter(~Exists(_undone(payment=OuterRef("pk"))), bill__in=asked)
    corrected = {bill.pk for bill in bills if bill.supersedes_id is not None and is_paid(bill=bill)}
    return corrected.union(payments.values_list("bill_id", flat=True))


def payment_of(*, bill: Bill | None) -> BillPayment | None:
    """Return the payment of a bill, or of the one whose place it took; none that was reversed in the books."""
    one = bill
    while one is not None:
        payment = BillPayment.objects.filter(bill=one).first()
        if payment is not None:
            return None if is_undone(payment=payment) else payment
        one = one.supersedes
    return None


def is_undone(*, payment: BillPayment) -> bool:
    """Return whether the entry of a payment was reversed in the books."""
    return _undone(payment=payment).exists()


def bills_alike(*, farm: Farm, payee: str, bill_on: dt.date, cents: int) -> list[Bill]:
    """Return the bills of a payee that stand with the same day and amount, but for those reversed in the books."""
    rows = _in_books(farm).filter(payee__name__iexact=payee, bill_on=bill_on, cents=cents)
    return list(rows.select_related("payee").order_by("pk"))


def corrected_bills(*, bill: Bill) -> list[Bill]:
    """Return the bills whose place a bill took, one after the other, the last before it first."""
    found, one = [], bill.supersedes
    while one is not None:
        found.append(one)
        one = one.supersedes
    return found


def entries_of(*, bill: Bill) -> list[Entry]:
    """Return what was booked of a bill and of its payment, in the order of the books; reversals are told by their entry."""
    rows = Entry.objects.filter(Q(bill=bill) | Q(payment__bill=bill)).select_related("reversed_by")
    return list(rows.order_by("number"))


def reversed_in_books(*, bills: Iterable[Bill]) -> tuple[set[int], set[int]]:
    """Return the keys of those bills whose own entry was reversed in the books, and of those whose payment was."""
    keys = [bill.pk for bill in bills]
    payments = _undone(payment__bill__in=keys).values_list("payment__bill", flat=True)
    return set(_undone(bill__in=keys).values_list("bill", flat=True)), set(payments)


def standing_payments(*, farm: Farm) -> QuerySet[BillPayment]:
    """Return what was paid, once each.

    The payment of a corrected bill that was paid anew is not among them, nor one that was reversed in the books.
    """
    rows = BillPayment.objects.filter(
        ~Exists(_undone(payment=OuterRef("pk"))), farm=farm, bill__superseded_by__payment__isnull=True
    )
    return rows.select_related("bill__payee", "bill__entity").prefetch_related("bill__items")


def _undone(**of: Any) -> QuerySet[Entry]:
    return Entry.objects.filter(reversed_by__isnull=False, **of)


def payee_hints(*, farm: Farm, most: int) -> list[PayeeHint]:
    """Return those a farm has bills of, the newest first, with the category of the last bill that stands."""
    rows = _in_books(farm)
    newest = rows.values("payee").annotate(last=Max("id")).order_by("-last").values_list("last", flat=True)
    found = rows.filter(pk__in=list(newest[:most])).order_by("-id")
    return [PayeeHint(name, category) for name, category in found.values_list("payee__name", "category")]


def bills_of(*, farm: Farm, payee: str) -> QuerySet[Bill]:
    """Return the bills of a payee that stand and were not reversed in the books, the last entered first."""
    return _in_books(farm).filter(payee__name=payee).order_by("-id")


def last_category(*, farm: Farm, payee: str) -> str:
    """Return what the last bill of a payee was for; empty where there is none."""
    return bills_of(farm=farm, payee=payee).values_list("category", flat=True).first() or ""


def usual_sharing(*, farm: Farm, categories: CategoryBook, wanted: list[str], crop_year: int) -> str:
    """Return by what a bill without a place is shared where nobody says otherwise: by acres.

    Not where all of it goes into stock or pays what was owed before, nor where nothing grows in that crop year.
    """
    elsewhere = all(categories.stock(code) is not None or code in OWED_BEFORE for code in wanted)
    if elsewhere or not Season.objects.filter(farm=farm, crop_year=crop_year).exists():
        return ""
    return SharedBy.ACRES.value


def lacks_quantity(*, bill: Bill, categories: CategoryBook) -> bool:
    """Return whether some of a bill stays in stock for ever: bought into it without a code, and for no other place."""
    places = (bill.season, bill.machine, bill.implement, bill.pump, bill.incident)
    if any(place is not None for place in places):
        return False
    items = list(bill.items.all())
    if not items:
        return not bill.shared_by and categories.stock(bill.category) is not None
    bare = [item for item in items if not item.item and item.season is None and item.machine is None]
    return any(categories.stock(item.category) is not None for item in bare)


def bill_places(*, farm: Farm, crop_year: int) -> dict[str, Season | Machine | Implement | Pump]:
    """Return what a bill can be for, by the name that a person types: codes of machines, implements, pumps and fields.

    A field stands for its season of the crop year. Where it has several, their parts or crops stand behind its code;
    seasons of the year after have the year behind.
    """
    found: dict[str, Season | Machine | Implement | Pump] = {}
    for model in (Machine, Implement, Pump):
        found |= {row.code: row for row in model.objects.filter(farm=farm).order_by("code")}
    rows = _seasons_billed(farm, crop_year).select_related("field").defer("field__boundary")
    told = ((row.crop_year, ground_code(row), row.crop, row) for row in rows)
    return found | dict(_season_names(crop_year, told))


def bill_place_words(*, farm: Farm, crop_year: int) -> dict[tuple[type[Model], int], str]:
    """Return the name of each of `bill_places` by its kind and row id, in their order, without the places themselves."""
    return {key: name for name, key in _place_keys(farm, crop_year).items()}


def _place_keys(farm: Farm, crop_year: int) -> dict[str, tuple[type[Model], int]]:
    """Return the kind and row id of each of `bill_places`, by its name and in their order."""
    found: dict[str, tuple[type[Model], int]] = {}
    for model in (Machine, Implement, Pump):
        rows = model.objects.filter(farm=farm).order_by("code").values_list("code", "pk")
        found |= {code: (model, pk) for code, pk in rows}
    seasons = _seasons_billed(farm, crop_year).values_list("crop_year", "field__code", "part", "crop", "pk")
    told = (
        (year, f"{code}.{part}" if part else code, crop, (Season, pk))
        for year, code, part, crop, pk in seasons
    )
    return found | dict(_season_names(crop_year, told))


def _seasons_billed(farm: Farm, crop_year: int) -> QuerySet[Season]:
    seasons = Season.objects.filter(farm=farm, crop_year__in=(crop_year, crop_year + 1))
    return seasons.order_by("crop_year", "field__code", "part", "crop")


def _season_names(crop_year: int, rows: Iterable[tuple[int, str, str, Place]]) -> Iterator[tuple[str, Place]]:
    """Yield the name of each season, told by its crop year, ground and crop, with what stands for it."""
    named: dict[str, list[tuple[str, Place]]] = {}
    for year, ground, crop, place in rows:
        named.setdefault(ground if year == crop_year else f"{ground} {year}", []).append((crop, place))
    for name, of_name in named.items():
        for crop, place in of_name:
            yield (name if len(of_name) == 1 else f"{name} {crop}"), place


def items_known(*, farm: Farm) -> list[tuple[str, str, str]]:
    """Return code, category and unit of what came into stock, has a price or was used in the field, by code.

    What is bought under another code than it is used by would never leave the stock, so all of them are offered. The
    category is empty where nothing told it.
    """
    bought = BillItem.objects.filter(farm=farm, bill__superseded_by__isnull=True).exclude(item="")
    counted = OpeningStock.objects.filter(farm=farm, superseded_by__isnull=True)
    priced = Rate.objects.filter(farm=farm, kind=RateKind.INPUT)
    used = InputUse.objects.filter(farm=farm).order_by("input_code").distinct()
    found = {code: ("", unit) for code, unit in used.values_list("input_code", "unit")}
    found[AVERAGE_FUEL] = (Category.FUEL.value, "gal")
    for rows, name in ((priced, "input_code"), (counted, "item"), (bought, "item")):
        for code, category, unit in rows.order_by("id").values_list(name, "category", "unit"):
            found[code] = (category, unit)
    return [(code, category, unit) for code, (category, unit) in sorted(found.items())]


def meant_item(*, farm: Farm, item: str) -> str | None:
    """Return the known code that a new one differs from by capitals, - and _ alone; None where it is known or new."""
    codes = [code for code, _category, _unit in items_known(farm=farm)]
    if item in codes:
        return None
    return next((code for code in codes if _bare(code) == _bare(item)), None)


def _bare(code: str) -> str:
    return code.casefold().replace("-", "").replace("_", "")


def stocked_unit(*, farm: Farm, item: str, without: Bill | None = None) -> str | None:
    """Return the unit by which an item is in stock, of its newest bill or of the count at the start; None of neither."""
    bought = BillItem.objects.filter(farm=farm, item=item, bill__superseded_by__isnull=True)
    if without is not None:
        bought = bought.exclude(bill=without)
    counted = OpeningStock.objects.filter(farm=farm, item=item, superseded_by__isnull=True)
    for rows in (bought, counted):
        unit = rows.order_by("-id").values_list("unit", flat=True).first()
        if unit:
            return unit
    return None
