"""What is asked about a bill before it is kept: sums and days that are odd, and a bill that may be there already.

Each question has a box to tick, under the name of `ASKED`, which the form shows once it was asked.
"""

import datetime as dt
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from farmops.core import clock
from farmops.farms.models import Farm
from farmops.pages import words
from farmops.pages.boxes import Boxes
from ledger.costing.money import MoneyError, cents_from
from ledger.models import Bill
from ledger.selectors.bills import bills_alike, payment_of
from ledger.selectors.payees import one_spaced

ODD_CENTS = 1_000_000_00  # farm judgement: a larger bill of a farm is mostly a slip of the keyboard
ODD_USD_PER_AC = Decimal(100_000)  # farm judgement: no crop is budgeted so
BEFORE_DAYS = (
    60  # farm judgement: what is paid earlier before its bill was mostly given another year or month
)
ASKED = {"number": "is_another", "amount_usd": "is_amount_right", "paid_on": "is_day_right"}
"""The box that is ticked, by the box at which the question stands."""


def ask(boxes: Boxes, at: str, says: str) -> None:
    """Put a question at a box, and have the form show the box that answers it."""
    boxes.wrong[at] = says
    boxes.wrong[ASKED[at]] = says


def is_said(boxes: Boxes, at: str) -> bool:
    """Return whether the question at a box was answered: it is as it stands there."""
    return bool(boxes.text(ASKED[at]))


def ask_of_bill(boxes: Boxes, *, farm: Farm, told: Mapping[str, Any], supersedes: Bill | None) -> None:
    """Ask what is odd of a bill as it was typed; what its forerunner says too was answered then, and a repeat is kept."""
    if Bill.objects.filter(farm=farm, client_id=boxes.client_id()).exists():
        return
    try:
        cents = cents_from(told["amount_usd"])
    except MoneyError:
        return  # it is refused
    is_same_sum = supersedes is not None and supersedes.cents == cents
    if abs(cents) > ODD_CENTS and not is_same_sum and not is_said(boxes, "amount_usd"):
        ask(boxes, "amount_usd", amount_asked(words.dollars(cents)))
    before = payment_of(bill=supersedes)
    paid_on = told.get("paid_on") or (before.paid_on if before is not None else None)
    is_same_day = (
        supersedes is not None
        and before is not None
        and (supersedes.bill_on, before.paid_on) == (told["bill_on"], paid_on)
    )
    if paid_on is not None and not is_same_day:
        ask_of_day(boxes, paid_on=paid_on, bill_on=told["bill_on"])
    if not is_said(boxes, "number"):
        _ask_of_twin(boxes, farm, told, cents, supersedes)


def ask_of_day(boxes: Boxes, *, paid_on: dt.date, bill_on: dt.date) -> None:
    """Ask where a bill was paid long before its own day, or in a tax year before it."""
    is_far = (bill_on - paid_on).days > BEFORE_DAYS or paid_on.year < bill_on.year
    if is_far and not is_said(boxes, "paid_on"):
        says = _("Paid on {paid}, and the bill is of {day}: taxes go by the day of payment. Is it right?")
        says = says.format(paid=words.full_date(paid_on), day=words.full_date(bill_on))
        ask(boxes, "paid_on", says)


def amount_asked(amount: str) -> str:
    """Return the question about an amount that is larger than any should be."""
    return _("{amount}: is the amount right?").format(amount=amount)


def _ask_of_twin(
    boxes: Boxes, farm: Farm, told: Mapping[str, Any], cents: int, supersedes: Bill | None
) -> None:
    """Ask where the payee has a bill of the same day and amount, and one of the two has no number."""
    twins = bills_alike(farm=farm, payee=one_spaced(told["payee"]), bill_on=told["bill_on"], cents=cents)
    if supersedes is not None and supersedes.pk in [twin.pk for twin in twins]:
        return
    twin = next((one for one in twins if not (one.number and told["number"])), None)
    if twin is not None:
        says = _(
            "A bill of {payee} of {day} for {amount} was entered on {entered}; is this the same one?"
        ).format(
            payee=twin.payee,
            day=words.full_date(twin.bill_on),
            amount=words.dollars(twin.cents),
            entered=words.full_date(clock.local_date(twin.entered_at, farm.zone)),
        )
        ask(boxes, "number", says)
