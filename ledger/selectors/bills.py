"""Bills that stand: what is owed, what was paid, whom a farm pays and for what, and units of what goes into stock."""

from dataclasses import dataclass

from django.db.models import QuerySet

from farmops.farms.models import Farm
from ledger.models import Bill, BillItem, BillPayment, OpeningStock

SHOWN_WITH = ("payee", "entity", "machine", "implement", "pump", "season__field", "incident", "payment")


@dataclass(frozen=True)
class PayeeHint:
    """Somebody a farm has paid, with what the last bill was for."""

    payee: str
    category: str


def standing_bills(*, farm: Farm) -> QuerySet[Bill]:
    """Return the bills that no correction took the place of, newest first."""
    rows = Bill.objects.filter(farm=farm, superseded_by__isnull=True).select_related(*SHOWN_WITH)
    return rows.prefetch_related("items", "photos").order_by("-bill_on", "-id")


def unpaid_bills(*, farm: Farm) -> list[Bill]:
    """Return the bills that stand and are not paid, oldest first; credits that were not taken are among them."""
    rows = standing_bills(farm=farm).filter(payment__isnull=True).order_by("bill_on", "id")
    return [bill for bill in rows.select_related("supersedes") if not is_paid(bill=bill)]


def is_paid(*, bill: Bill) -> bool:
    """Return whether a bill, or one whose place it took, was paid."""
    one: Bill | None = bill
    while one is not None:
        if hasattr(one, "payment"):
            return True
        one = one.supersedes
    return False


def standing_payments(*, farm: Farm) -> QuerySet[BillPayment]:
    """Return what was paid, once each: the payment of a corrected bill that was paid anew is not among them."""
    rows = BillPayment.objects.filter(farm=farm, bill__superseded_by__payment__isnull=True)
    return rows.select_related("bill__payee", "bill__entity").prefetch_related("bill__items")


def payee_hints(*, farm: Farm, most: int) -> list[PayeeHint]:
    """Return those a farm has paid, by when their last bill was entered, with the category of that bill."""
    rows = standing_bills(farm=farm).order_by("-id").values_list("payee__name", "category")
    found: dict[str, PayeeHint] = {}
    for payee, category in rows.iterator():
        found.setdefault(payee, PayeeHint(payee, category))
        if len(found) == most:
            break
    return list(found.values())


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
