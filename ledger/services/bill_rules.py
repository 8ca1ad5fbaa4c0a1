"""What makes no sense on a bill, in a sentence and by the name of its field."""

import datetime as dt
from decimal import Decimal
from typing import Any

from farmops.core.clock import local_date
from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm, Season
from ledger.costing.money import MoneyError, cents_from, usd_text
from ledger.models import Bill, BillPayment, Payee, SharedBy
from ledger.selectors.bills import is_undone
from ledger.selectors.categories import CategoryBook

LONGEST = {"payee": 80, "number": 40, "check_no": 20, "note": 2000}
FIRST_YEAR = 1990
AHEAD_DAYS = 366  # farm judgement: a date further ahead is a slip of the keyboard
YEARS_AHEAD = 2
CURRENCY = "USD"
AT_ONCE = (SharedBy.ACRES, SharedBy.EQUAL)
"""By what a bill is shared when it is entered; hours and acre-inches are known at the end of a period only."""
PLACES = ("season", "machine", "implement", "pump", "incident")


class BillRefused(DomainError):
    """A bill whose facts do not make sense."""

    code = "bill_refused"


class BillDiffers(DomainError):
    """The same bill was entered before with other facts."""

    code = "bill_differs"
    kind = Kind.CONFLICT


class CurrencyDiffers(DomainError):
    """An amount in another currency than that of the farm's books."""

    code = "currency_differs"


def refuse_other_currency(currency: str) -> None:
    """Refuse an amount in another currency than US dollars, in which the books are kept."""
    if currency.strip().upper() != CURRENCY:
        raise CurrencyDiffers(
            f"The books are in US dollars ({CURRENCY}), and this amount is in {currency.strip() or 'no currency'!r}; "
            "enter what the bank took in dollars.",
            fields={"currency": f"Only {CURRENCY}."},
        )


def refuse_odd_text(**texts: str) -> None:
    """Refuse text that is too long, or that holds what cannot be printed; a note may have lines."""
    for name, text in texts.items():
        if len(text.strip()) > LONGEST[name]:
            says = f"{len(text.strip())} characters; at most {LONGEST[name]}."
            raise BillRefused(f"The {name} of the bill has {says}", fields={name: says})
        if "\0" in text or (name != "note" and not text.isprintable()):
            raise BillRefused(
                f"The {name} of the bill holds a sign that cannot be printed.", fields={name: "Odd sign."}
            )


def refuse_far_date(*, farm: Farm, name: str, day: dt.date | None, now: dt.datetime) -> None:
    """Refuse a date before 1990 or more than a year ahead."""
    last = local_date(now, farm.zone) + dt.timedelta(days=AHEAD_DAYS)
    if day is not None and not dt.date(FIRST_YEAR, 1, 1) <= day <= last:
        says = f"{day} is not between {FIRST_YEAR} and {last}; is the year right?"
        raise BillRefused(f"{name}: {says}", fields={name: says})


def refuse_other_payment(*, bill: Bill, paid_on: dt.date | None, check_no: str) -> None:
    """Refuse a payment that was said otherwise before; a repeat that says nothing of payment is no matter."""
    payment = BillPayment.objects.filter(bill=bill).first()
    if paid_on is None or (
        payment is not None and (payment.paid_on, payment.check_no) == (paid_on, check_no)
    ):
        return
    if payment is None:
        raise BillDiffers(f"The {bill} bill was entered as not paid; say apart that it was paid.")
    by_check = f" by check {payment.check_no}" if payment.check_no else ""
    raise BillDiffers(f"The {bill} bill was paid on {payment.paid_on}{by_check} already.")


def refuse_undone_payment(*, payment: BillPayment) -> None:
    """Refuse to take a payment for said that was reversed in the books; a bill is paid once, and its correction anew."""
    if is_undone(payment=payment):
        raise BillDiffers(
            f"The payment of {payment.paid_on} was reversed in the books: correct the {payment.bill} bill, "
            "and pay the correction."
        )


def corrected_before(bill: Bill) -> BillDiffers:
    """Return the refusal of a second correction, or of a payment of what was corrected."""
    return BillDiffers(f"The {bill} bill was corrected before; take the newer one.")


def amounts_of(*, payee: str, amount_usd: Decimal | str, sales_tax_usd: Decimal | str) -> dict[str, int]:
    """Return the cents of a bill and of its sales tax, which is part of them."""
    if not payee.strip():
        raise BillRefused("A bill names who is to be paid.", fields={"payee": "Name the payee."})
    cents = cents_of_field("amount_usd", amount_usd)
    if cents == 0:
        raise BillRefused("A bill of $0.00 asks for nothing.", fields={"amount_usd": "Not zero."})
    tax_cents = cents_of_field("sales_tax_usd", sales_tax_usd)
    if tax_cents and (tax_cents < 0) != (cents < 0):
        raise BillRefused(
            f"The sales tax {usd_text(tax_cents)} and the amount {usd_text(cents)} have different signs; "
            "on a credit both are below zero.",
            fields={"sales_tax_usd": "Other sign."},
        )
    if abs(tax_cents) >= abs(cents):
        raise BillRefused(
            f"The sales tax {usd_text(tax_cents)} is not less than the amount {usd_text(cents)}, which holds it.",
            fields={"sales_tax_usd": "More than the bill."},
        )
    return {"cents": cents, "sales_tax_cents": tax_cents}


def cents_of_field(name: str, amount_usd: Decimal | str) -> int:
    """Return an amount of dollars as cents; BillRefused names the field."""
    try:
        return cents_from(amount_usd)
    except MoneyError as error:
        raise BillRefused(str(error), fields={name: str(error)}) from error


def refuse_unknown_category(*, category: str, categories: CategoryBook, name: str = "category") -> None:
    """Refuse a category that no bill is of."""
    billed = [row.code for row in categories.billed()]
    if category not in billed:
        raise BillRefused(
            f"{category!r} is not a category of bills; known: {', '.join(billed)}.",
            fields={name: "Not known."},
        )


def refuse_two_places(wanted: dict[str, Any]) -> None:
    """Refuse a bill that would go to two places at once."""
    on_machine = wanted["machine"] is not None or wanted["implement"] is not None
    if wanted["season"] is not None and wanted["incident"] is None and on_machine:
        raise BillRefused(
            "A bill goes to a season or to a machine, not to both.", fields={"season": "Or a machine."}
        )
    others = [name for name in PLACES if name != "pump" and wanted[name] is not None]
    if wanted["pump"] is not None and others:
        raise BillRefused(
            f"A bill goes to a pump or to a {others[0]}, not to both.", fields={"pump": f"Or a {others[0]}."}
        )
    named = [name for name in PLACES if wanted[name] is not None]
    if wanted["shared_by"] and named:
        raise BillRefused(
            f"A bill is shared over all fields or goes to a {named[0]}, not both.",
            fields={"shared_by": f"Or a {named[0]}."},
        )


def refuse_odd_sharing(
    *, farm: Farm, shared_by: str, crop_year: int | None, bill_on: dt.date, now: dt.datetime
) -> None:
    """Refuse what a bill cannot be shared by when it is entered, or a crop year in which nothing grows."""
    last = local_date(now, farm.zone).year + YEARS_AHEAD
    if crop_year is not None and not FIRST_YEAR <= crop_year <= last:
        says = f"{crop_year} is not between {FIRST_YEAR} and {last}."
        raise BillRefused(f"crop_year: {says}", fields={"crop_year": says})
    if not shared_by:
        return
    if shared_by not in AT_ONCE:
        raise BillRefused(
            f"A bill is shared at once by {' or '.join(AT_ONCE)}, not by {shared_by!r}; what runs by hours or water "
            "goes to its pool and is shared out when the period is over.",
            fields={"shared_by": "Not known."},
        )
    year = crop_year or bill_on.year
    if not Season.objects.filter(farm=farm, crop_year=year).exists():
        raise BillRefused(
            f"{farm} has no season of crop year {year} over which the bill could be shared.",
            fields={"crop_year": "Nothing grows."},
        )


def refuse_other_farms(*, farm: Farm, wanted: dict[str, Any]) -> None:
    """Refuse a bill that names what is another farm's."""
    for name in (*PLACES, "entity", "supersedes"):
        row = wanted[name]
        if row is not None and row.farm_id != farm.pk:
            raise BillRefused(
                f"The {name} of the bill is not one of {farm}.", fields={name: "Another farm's."}
            )


def refuse_second_invoice(*, payee: Payee, wanted: dict[str, Any]) -> None:
    """Refuse an invoice number of a payee that stands already, unless the new bill takes its place."""
    if not wanted["number"]:
        return
    twins = Bill.objects.filter(payee=payee, number=wanted["number"], superseded_by__isnull=True)
    if wanted["supersedes"] is not None:
        twins = twins.exclude(pk=wanted["supersedes"].pk)
    twin = twins.first()
    if twin is not None:
        raise BillDiffers(
            f"Invoice {twin.number} of {payee} was entered on {twin.entered_at:%Y-%m-%d} "
            f"for {usd_text(twin.cents)} dollars; is this the same one?"
        )
