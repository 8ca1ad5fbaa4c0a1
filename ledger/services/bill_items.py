"""Items of a bill: what was bought, how much, in which lot; their cents are those of the bill."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from django.core.validators import slug_re
from django.utils.translation import gettext as _

from farmops.farms.models import Farm, Machine, Season
from ledger.costing.allocation import share_out
from ledger.costing.money import MoneyError, cents_from, quantity_e4_from, usd_from, usd_said
from ledger.models import Bill, BillItem
from ledger.selectors.bills import meant_item, stocked_unit
from ledger.selectors.categories import CategoryBook
from ledger.selectors.said import label_said, money_said
from ledger.services.bill_rules import BillRefused, name_said, refuse_unknown_category

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
            _("A bill has {most} items at most; this one has {count}.").format(
                most=MOST_ITEMS, count=len(items)
            ),
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
    item = replace(
        told, item=told.item.strip(), lot=told.lot.strip(), unit=told.unit.strip(), says=told.says.strip()
    )

    def refused(name: str, says: str) -> BillRefused:
        return _of_item(number, name, says)

    try:
        refuse_unknown_category(category=item.category, categories=categories)
    except BillRefused as error:
        raise refused("category", error.says) from error
    for name, most in LONGEST.items():
        text = getattr(item, name)
        if len(text) > most or not text.isprintable():
            raise refused(
                name,
                _("its {name} is one line of at most {most} characters.").format(
                    name=name_said(name), most=most
                ),
            )
    try:
        cents = cents_from(item.amount_usd)
    except MoneyError as error:
        raise refused("amount_usd", money_said(error)) from error
    if cents == 0:
        raise refused("amount_usd", _("an amount of $0.00 asks for nothing."))
    quantity_e4 = _quantity_e4(item, refused)
    if item.item and (quantity_e4 is None or not slug_re.fullmatch(item.item)):
        raise refused(
            "item", _("{item!r} goes into stock by its code, a quantity and a unit.").format(item=item.item)
        )
    if item.item and categories.stock(item.category) is None:
        raise refused(
            "item",
            _("{category} is not bought into stock; leave its code out.").format(
                category=label_said(categories.label(item.category))
            ),
        )
    if item.item and (meant := meant_item(farm=farm, item=item.item)):
        raise refused(
            "item",
            _("{item} is written {meant} here; under another code its use would miss it.").format(
                item=item.item, meant=meant
            ),
        )
    if item.lot and not item.item:
        raise refused("lot", _("the lot {lot} is one of an item; name its code.").format(lot=item.lot))
    if item.item and (item.season is not None or item.machine is not None):
        raise refused("item", _("it goes into stock, or to a season or machine; not both."))
    if item.season is not None and item.machine is not None:
        raise refused("season", _("it goes to a season or to a machine, not to both."))
    for name in ("season", "machine"):
        row = getattr(item, name)
        if row is not None and row.farm_id != farm.pk:
            raise refused(name, _("its {name} is not one of {farm}.").format(name=name_said(name), farm=farm))
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
            raise refused(
                "quantity", _("how many {unit}? It has a unit and no quantity.").format(unit=item.unit)
            )
        return None
    try:
        quantity_e4 = quantity_e4_from(item.quantity)  # type: ignore[arg-type]
    except MoneyError as error:
        raise refused("quantity", money_said(error)) from error
    if quantity_e4 < 0:
        raise refused(
            "quantity",
            _(
                "the quantity {quantity} is below zero; what went back has an amount below zero and its quantity "
                "above."
            ).format(quantity=item.quantity),
        )
    if quantity_e4 == 0:
        raise refused("quantity", _("the quantity is zero; leave it out, or say how much it was."))
    if not item.unit:
        raise refused("unit", _("{quantity} of what? Give the unit.").format(quantity=item.quantity))
    return quantity_e4


def _refuse_other_unit(number: int, row: BillItem, unit: str) -> None:
    if unit != row.unit:
        says = _("{item} is in stock by the {unit}, and this is by the {other}.").format(
            item=row.item, unit=unit, other=row.unit
        )
        raise _of_item(number + 1, "unit", says)


def _of_item(number: int, name: str, says: str) -> BillRefused:
    whole = _("Item {number} of the bill: {says}").format(number=number, says=says)
    return BillRefused(whole, fields={f"items/{number - 1}/{name}": says})


def _add_tax(rows: list[BillItem], cents: int, sales_tax_cents: int) -> None:
    """Bring the items to the sum of the bill, with their parts of the sales tax where they come without."""
    found = sum(row.cents for row in rows)
    if found == cents:
        return
    if not sales_tax_cents or found + sales_tax_cents != cents:
        says = (
            _("The items come to {items}, and the bill asks for {bill}, or {rest} without the sales tax.")
            if sales_tax_cents
            else _("The items come to {items}, and the bill asks for {bill}.")
        )
        raise BillRefused(
            says.format(items=usd_said(found), bill=usd_said(cents), rest=usd_said(cents - sales_tax_cents)),
            fields={"items": "Another sum."},
        )
    sign = 1 if cents > 0 else -1
    weights = {f"{number:05d}": max(sign * row.cents, 0) for number, row in enumerate(rows)}
    if not any(weights.values()):
        raise BillRefused(
            _("The sales tax has no item on which it could have been asked."),
            fields={"sales_tax_usd": "On what?"},
        )
    parts = share_out(total_cents=sales_tax_cents, weights=weights)
    for number, row in enumerate(rows):
        row.cents += parts[f"{number:05d}"]
