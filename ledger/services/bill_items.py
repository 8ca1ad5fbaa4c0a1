"""Items of a bill: what was bought, how much, in which lot; their cents are those of the bill."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from django.core.validators import slug_re

from farmops.farms.models import Farm, Machine, Season
from ledger.costing.allocation import share_out
from ledger.costing.money import MoneyError, cents_from, quantity_e4_from, usd_from, usd_text
from ledger.models import Bill, BillItem
from ledger.selectors.bills import meant_item, stocked_unit
from ledger.selectors.categories import CategoryBook
from ledger.services.bill_rules import BillRefused, refuse_unknown_category

MOST_ITEMS = 200
LONGEST = {"item": 40, "lot": 40, "unit": 12, "says": 120}
COMPARED = ("category", "cents", "item", "lot", "quantity_e4", "unit", "season_id", "machine_id", "says")


@dataclass(frozen=True)
class NewBillItem:
    """One line of a bill as it is told.

    With an item code and a quantity it goes into stock. Of a credit the amount is below zero and the quantity, above
    zero, is what went back.
    """

    category: str
    amount_usd: Decimal | str
    item: str = ""
    lot: str = ""
    quantity: Decimal | str | None = None
    unit: str = ""
    season: Season | None = None
    machine: Machine | None = None
    says: str = ""


def item_rows(
    *,
    farm: Farm,
    items: Sequence[NewBillItem],
    cents: int,
    sales_tax_cents: int,
    categories: CategoryBook,
    supersedes: Bill | None = None,
) -> list[BillItem]:
    """Return the rows of a bill's items, not stored yet; BillRefused names the item and its field.

    Their amounts sum to the bill; where they sum to the bill without its sales tax, the tax is shared out over them by
    their amounts to the cent.
    """
    if len(items) > MOST_ITEMS:
        raise BillRefused(
            f"A bill has {MOST_ITEMS} items at most; this one has {len(items)}.",
            fields={"items": "Too many."},
        )
    rows = [_row(farm, number, item, categories) for number, item in enumerate(items, start=1)]
    units: dict[str, str] = {}
    for number, row in enumerate(rows):
        if row.item:
            known = stocked_unit(farm=farm, item=row.item, without=supersedes)
            _refuse_other_unit(number, row, units.setdefault(row.item, known or row.unit))
    if rows:
        _add_tax(rows, cents, sales_tax_cents)
    return rows


def items_of(bill: Bill) -> list[NewBillItem]:
    """Return the items of a bill as they would be told again."""
    return [
        NewBillItem(
            category=row.category,
            amount_usd=usd_from(row.cents),
            item=row.item,
            lot=row.lot,
            quantity=None if row.quantity_e4 is None else Decimal(row.quantity_e4).scaleb(-4),
            unit=row.unit,
            season=row.season,
            machine=row.machine,
            says=row.says,
        )
        for row in bill.items.select_related("season", "machine").order_by("item_no")
    ]


def are_same(*, bill: Bill, rows: Sequence[BillItem]) -> bool:
    """Return whether a bill was entered with the same items."""
    known = list(bill.items.order_by("item_no"))
    return [_compared(row) for row in known] == [_compared(row) for row in rows]


def biggest_category(rows: Sequence[BillItem]) -> str:
    """Return the category to which most cents of a bill's items go, the first of them where some are alike."""
    sums: dict[str, int] = {}
    for row in rows:
        sums[row.category] = sums.get(row.category, 0) + abs(row.cents)
    return max(sums, key=lambda category: sums[category])


def _compared(row: BillItem) -> tuple[Any, ...]:
    return tuple(getattr(row, name) for name in COMPARED)


def _row(farm: Farm, number: int, told: NewBillItem, categories: CategoryBook) -> BillItem:
    place = f"Item {number} of the bill"
    item = replace(
        told, item=told.item.strip(), lot=told.lot.strip(), unit=told.unit.strip(), says=told.says.strip()
    )

    def refused(name: str, says: str) -> BillRefused:
        return BillRefused(f"{place}: {says}", fields={f"items/{number - 1}/{name}": says})

    try:
        refuse_unknown_category(category=item.category, categories=categories)
    except BillRefused as error:
        raise refused("category", error.says) from error
    for name, most in LONGEST.items():
        text = getattr(item, name)
        if len(text) > most or not text.isprintable():
            raise refused(name, f"its {name} is one line of at most {most} characters.")
    try:
        cents = cents_from(item.amount_usd)
    except MoneyError as error:
        raise refused("amount_usd", str(error)) from error
    if cents == 0:
        raise refused("amount_usd", "an amount of $0.00 asks for nothing.")
    quantity_e4 = _quantity_e4(item, refused)
    if item.item and (quantity_e4 is None or not slug_re.fullmatch(item.item)):
        raise refused("item", f"{item.item!r} goes into stock by its code, a quantity and a unit.")
    if item.item and categories.stock(item.category) is None:
        raise refused(
            "item", f"{categories.label(item.category)} is not bought into stock; leave its code out."
        )
    if item.item and (meant := meant_item(farm=farm, item=item.item)):
        raise refused(
            "item", f"{item.item} is written {meant} here; under another code its use would miss it."
        )
    if item.lot and not item.item:
        raise refused("lot", f"the lot {item.lot} is one of an item; name its code.")
    if item.item and (item.season is not None or item.machine is not None):
        raise refused("item", "it goes into stock, or to a season or machine; not both.")
    if item.season is not None and item.machine is not None:
        raise refused("season", "it goes to a season or to a machine, not to both.")
    for name in ("season", "machine"):
        row = getattr(item, name)
        if row is not None and row.farm_id != farm.pk:
            raise refused(name, f"its {name} is not one of {farm}.")
    return BillItem(
        farm=farm,
        item_no=number,
        category=item.category,
        cents=cents,
        item=item.item,
        lot=item.lot,
        quantity_e4=quantity_e4,
        unit=item.unit,
        season=item.season,
        machine=item.machine,
        says=item.says,
    )


def _quantity_e4(item: NewBillItem, refused: Any) -> int | None:
    if item.quantity is None:
        if item.unit:
            raise refused("quantity", f"how many {item.unit}? It has a unit and no quantity.")
        return None
    try:
        quantity_e4 = quantity_e4_from(item.quantity)  # type: ignore[arg-type]
    except MoneyError as error:
        raise refused("quantity", str(error)) from error
    if quantity_e4 < 0:
        raise refused(
            "quantity",
            f"the quantity {item.quantity} is below zero; what went back has an amount below zero and its quantity "
            "above.",
        )
    if quantity_e4 == 0:
        raise refused("quantity", "the quantity is zero; leave it out, or say how much it was.")
    if not item.unit:
        raise refused("unit", f"{item.quantity} of what? Give the unit.")
    return quantity_e4


def _refuse_other_unit(number: int, row: BillItem, unit: str) -> None:
    if unit != row.unit:
        says = f"{row.item} is in stock by the {unit}, and this is by the {row.unit}."
        raise BillRefused(f"Item {number + 1} of the bill: {says}", fields={f"items/{number}/unit": says})


def _add_tax(rows: list[BillItem], cents: int, sales_tax_cents: int) -> None:
    """Bring the items to the sum of the bill, with their parts of the sales tax where they come without."""
    found = sum(row.cents for row in rows)
    if found == cents:
        return
    if not sales_tax_cents or found + sales_tax_cents != cents:
        of_tax = f", or {usd_text(cents - sales_tax_cents)} without the sales tax" if sales_tax_cents else ""
        raise BillRefused(
            f"The items come to {usd_text(found)} dollars, and the bill is over {usd_text(cents)}{of_tax}.",
            fields={"items": "Another sum."},
        )
    sign = 1 if cents > 0 else -1
    weights = {f"{number:05d}": max(sign * row.cents, 0) for number, row in enumerate(rows)}
    if not any(weights.values()):
        raise BillRefused(
            "The sales tax has no item on which it could have been asked.",
            fields={"sales_tax_usd": "On what?"},
        )
    parts = share_out(total_cents=sales_tax_cents, weights=weights)
    for number, row in enumerate(rows):
        row.cents += parts[f"{number:05d}"]
