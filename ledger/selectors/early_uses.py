"""Inputs and fuel that were used before their bill came: what they were priced more or less than the bill asked.

Such a use has the price of a rate, and its stock is in credit by it. When the bill comes, what was used already is not
drawn a second time, so that the two prices stay in the account of the stock and come to no field by themselves.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Max, QuerySet, Sum

from farmops.farms.models import Farm
from ledger.costing.money import divide_half_even
from ledger.models import Account, Line, SourceKind
from ledger.selectors.carried_sums import at_head
from ledger.selectors.stock import OnHand, stock_at_head, stock_on_hand


@dataclass(frozen=True)
class StockItem:
    """An item of a stock, and the unit in which it was bought last."""

    account: Account
    item: str
    unit: str


@dataclass(frozen=True)
class PriceDifference:
    """Cents by which the account of a stock differs from what is there of an item and what was used and not bought yet.

    Above zero the bills asked more than the uses were priced, below zero less.
    """

    stocked: StockItem
    category: str
    cents: int


def price_differences(
    *, farm: Farm, through: dt.date, on_hand: Iterable[OnHand] | None = None
) -> list[PriceDifference]:
    """Return every item whose uses were priced otherwise than its bills asked, by account and code.

    Left out is an item of which something was bought that is booked after `through`: its difference is of a later day.
    `on_hand` is what is in stock where it was read before.
    """
    by_item: dict[tuple[Account, str], list[OnHand]] = defaultdict(list)
    for one in stock_on_hand(farm=farm) if on_hand is None else on_hand:
        by_item[one.account, one.item].append(one)
    found = []
    for (account, item), held in by_item.items():
        lines = Line.objects.filter(farm=farm, account=account, item=item)
        came = lines.filter(quantity_e4__gt=0, layer=None).exclude(entry__source_kind=SourceKind.REVERSAL)
        last_on = came.aggregate(on=Max("entry__booked_on"))["on"]
        if last_on is None or last_on > through:
            continue
        cents = _balance(lines, came) - sum(one.stock.held_cents - _unmet_cents(lines, one) for one in held)
        if cents:
            newest = came.order_by("pk").values_list("unit", "category").last()
            assert newest is not None  # there is a last day
            found.append(PriceDifference(StockItem(account, item, newest[0]), newest[1], cents))
    return found


def differences_at_head(*, farm: Farm, through: dt.date) -> list[PriceDifference]:
    """Return what `price_differences` does, kept for as long as nothing else is booked."""
    return at_head(
        farm=farm,
        what="price-differences",
        asked=through,
        make=lambda: price_differences(farm=farm, through=through, on_hand=stock_at_head(farm=farm)),
    )


def _balance(lines: QuerySet[Line], came: QuerySet[Line]) -> int:
    """Return what stands in the account. What was used before a first count is not in that count, and not of it."""
    first = came.order_by("pk").values_list("pk", "entry__source_kind").first()
    if first is not None and first[1] == SourceKind.OPENING:
        lines = lines.filter(pk__gte=first[0])
    cents: int = lines.aggregate(cents=Sum("cents", default=0))["cents"]
    return cents


def _unmet_cents(lines: QuerySet[Line], one: OnHand) -> int:
    """Return at what the newest uses were priced that no purchase has met yet."""
    left_e4, cents = one.stock.unmet_e4, 0
    if left_e4 <= 0:
        return 0
    uses = (
        lines.filter(unit=one.unit, quantity_e4__lt=0, entry__reversed_by=None)
        .exclude(entry__source_kind__in=(SourceKind.BILL, SourceKind.REVERSAL))
        .order_by("-pk")
    )
    for quantity_e4, use_cents in uses.values_list("quantity_e4", "cents").iterator():
        whole_e4 = -(quantity_e4 or 0)
        used_e4 = min(left_e4, whole_e4)
        cents += divide_half_even(-use_cents * used_e4, whole_e4)
        left_e4 -= used_e4
        if left_e4 <= 0:
            break
    return cents
