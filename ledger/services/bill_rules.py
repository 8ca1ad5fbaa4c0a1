"""What makes no sense on a bill, in a sentence and by the name of its field."""

import datetime as dt
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from farmops.core.clock import local_date
from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm, Season
from ledger.costing.money import MoneyError, cents_from, usd_said
from ledger.models import Bill, BillPayment, Payee, SharedBy
from ledger.selectors.bills import is_undone
from ledger.selectors.categories import CategoryBook
from ledger.selectors.said import money_said

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


def name_said(name: str) -> str:
    """Return what the reader calls a field of a bill, or of a count of stock."""
    said = {
        "payee": pgettext("field of a bill", "payee"),
        "number": pgettext("field of a bill", "number"),
        "check_no": pgettext("field of a bill", "check"),
        "note": pgettext("field of a bill", "note"),
        "bill_on": pgettext("field of a bill", "day of the bill"),
        "paid_on": pgettext("field of a bill", "day of payment"),
        "crop_year": pgettext("field of a bill", "crop year"),
        "season": pgettext("field of a bill", "season"),
        "machine": pgettext("field of a bill", "machine"),
        "implement": pgettext("field of a bill", "implement"),
        "pump": pgettext("field of a bill", "pump"),
        "incident": pgettext("field of a bill", "incident"),
        "entity": pgettext("field of a bill", "entity"),
        "item": pgettext("field of a bill", "item code"),
        "lot": pgettext("field of a bill", "lot"),
        "unit": pgettext("field of a bill", "unit"),
        "says": pgettext("field of a bill", "words"),
        "category": pgettext("field of a bill", "category"),
        "amount": pgettext("field of a bill", "amount"),
        "sales_tax": pgettext("field of a bill", "sales tax"),
        "shared_by": pgettext("field of a bill", "share"),
        "quantity": pgettext("field of a bill", "quantity"),
        "cents": pgettext("field of a bill", "amount"),
        "list of items": pgettext("field of a bill", "list of items"),
        "supersedes": pgettext("field of a bill", "supersedes"),
        "on": pgettext("field of a bill", "day"),
    }
    return said.get(name, name)


def refuse_other_currency(currency: str) -> None:
    """Refuse an amount in another currency than US dollars, in which the books are kept."""
    if currency.strip().upper() != CURRENCY:
        raise CurrencyDiffers(
            _(
                "The books are in US dollars ({ours}), and this amount is in {theirs!r}; "
                "enter what the bank took in dollars."
            ).format(ours=CURRENCY, theirs=currency.strip() or _("no currency")),
            fields={"currency": f"Only {CURRENCY}."},
        )


def refuse_odd_text(**texts: str) -> None:
    """Refuse text that is too long, or that holds what cannot be printed; a note may have lines."""
    for name, text in texts.items():
        if len(text.strip()) > LONGEST[name]:
            told = {"name": name_said(name), "count": len(text.strip()), "most": LONGEST[name]}
            raise BillRefused(
                _("The {name} of the bill has {count} characters; at most {most}.").format(**told),
                fields={name: _("{count} characters; at most {most}.").format(**told)},
            )
        if "\0" in text or (name != "note" and not text.isprintable()):
            raise BillRefused(
                _("The {name} of the bill holds a sign that cannot be printed.").format(name=name_said(name)),
                fields={name: "Odd sign."},
            )


def refuse_far_date(*, farm: Farm, name: str, day: dt.date | None, now: dt.datetime) -> None:
    """Refuse a date before 1990 or more than a year ahead."""
    last = local_date(now, farm.zone) + dt.timedelta(days=AHEAD_DAYS)
    if day is not None and not dt.date(FIRST_YEAR, 1, 1) <= day <= last:
        says = _("{day} is not between {first} and {last}; is the year right?").format(
            day=day, first=FIRST_YEAR, last=last
        )
        raise BillRefused(f"{name_said(name)}: {says}", fields={name: says})


def refuse_other_payment(*, bill: Bill, paid_on: dt.date | None, check_no: str) -> None:
    """Refuse a payment that was said otherwise before; a repeat that says nothing of payment is no matter."""
    payment = BillPayment.objects.filter(bill=bill).first()
    if paid_on is None or (
        payment is not None and (payment.paid_on, payment.check_no) == (paid_on, check_no)
    ):
        return
    if payment is None:
        raise BillDiffers(
            _("The {bill} bill was entered as not paid; say apart that it was paid.").format(bill=bill)
        )
    says = (
        _("The {bill} bill was paid on {day} by check {check} already.")
        if payment.check_no
        else _("The {bill} bill was paid on {day} already.")
    )
    raise BillDiffers(says.format(bill=bill, day=payment.paid_on, check=payment.check_no))


def refuse_undone_payment(*, payment: BillPayment) -> None:
    """Refuse to take a payment for said that was reversed in the books; a bill is paid once, and its correction anew."""
    if is_undone(payment=payment):
        raise BillDiffers(
            _(
                "The payment of {day} was reversed in the books: correct the {bill} bill, "
                "and pay the correction."
            ).format(day=payment.paid_on, bill=payment.bill)
        )


def corrected_before(bill: Bill) -> BillDiffers:
    """Return the refusal of a second correction, or of a payment of what was corrected."""
    return BillDiffers(_("The {bill} bill was corrected before; take the newer one.").format(bill=bill))


def amounts_of(*, payee: str, amount_usd: Decimal | str, sales_tax_usd: Decimal | str) -> dict[str, int]:
    """Return the cents of a bill and of its sales tax, which is part of them."""
    if not payee.strip():
        raise BillRefused(_("A bill names who is to be paid."), fields={"payee": "Name the payee."})
    cents = cents_of_field("amount_usd", amount_usd)
    if cents == 0:
        raise BillRefused(_("A bill of $0.00 asks for nothing."), fields={"amount_usd": "Not zero."})
    tax_cents = cents_of_field("sales_tax_usd", sales_tax_usd)
    if tax_cents and (tax_cents < 0) != (cents < 0):
        raise BillRefused(
            _(
                "The sales tax {tax} and the amount {amount} have different signs; "
                "on a credit both are below zero."
            ).format(tax=usd_said(tax_cents), amount=usd_said(cents)),
            fields={"sales_tax_usd": "Other sign."},
        )
    if abs(tax_cents) >= abs(cents):
        raise BillRefused(
            _("The sales tax {tax} is not less than the amount {amount}, which holds it.").format(
                tax=usd_said(tax_cents), amount=usd_said(cents)
            ),
            fields={"sales_tax_usd": "More than the bill."},
        )
    return {"cents": cents, "sales_tax_cents": tax_cents}


def cents_of_field(name: str, amount_usd: Decimal | str) -> int:
    """Return an amount of dollars as cents; BillRefused names the field."""
    try:
        return cents_from(amount_usd)
    except MoneyError as error:
        says = money_said(error)
        raise BillRefused(says, fields={name: says}) from error


def refuse_unknown_category(*, category: str, categories: CategoryBook, name: str = "category") -> None:
    """Refuse a category that no bill is of."""
    billed = [row.code for row in categories.billed()]
    if category not in billed:
        raise BillRefused(
            _("{category!r} is not a category of bills; known: {known}.").format(
                category=category, known=", ".join(billed)
            ),
            fields={name: "Not known."},
        )


def refuse_two_places(wanted: dict[str, Any]) -> None:
    """Refuse a bill that would go to two places at once."""
    on_machine = wanted["machine"] is not None or wanted["implement"] is not None
    if wanted["season"] is not None and wanted["incident"] is None and on_machine:
        raise BillRefused(
            _("A bill goes to a season or to a machine, not to both."), fields={"season": "Or a machine."}
        )
    others = [name for name in PLACES if name != "pump" and wanted[name] is not None]
    if wanted["pump"] is not None and others:
        raise BillRefused(
            _("A bill goes to a pump or to a {other}, not to both.").format(other=name_said(others[0])),
            fields={"pump": f"Or a {others[0]}."},
        )
    named = [name for name in PLACES if wanted[name] is not None]
    if wanted["shared_by"] and named:
        raise BillRefused(
            _("A bill is shared over all fields or goes to a {other}, not both.").format(
                other=name_said(named[0])
            ),
            fields={"shared_by": f"Or a {named[0]}."},
        )


def refuse_odd_sharing(
    *, farm: Farm, shared_by: str, crop_year: int | None, bill_on: dt.date, now: dt.datetime
) -> None:
    """Refuse what a bill cannot be shared by when it is entered, or a crop year in which nothing grows."""
    last = local_date(now, farm.zone).year + YEARS_AHEAD
    if crop_year is not None and not FIRST_YEAR <= crop_year <= last:
        says = _("{year} is not between {first} and {last}.").format(
            year=crop_year, first=FIRST_YEAR, last=last
        )
        raise BillRefused(f"{name_said('crop_year')}: {says}", fields={"crop_year": says})
    if not shared_by:
        return
    if shared_by not in AT_ONCE:
        raise BillRefused(
            _(
                "A bill is shared at once by {known}, not by {given!r}; what runs by hours or water "
                "goes to its pool and is shared out when the period is over."
            ).format(known=" or ".join(AT_ONCE), given=shared_by),
            fields={"shared_by": "Not known."},
        )
    year = crop_year or bill_on.year
    if not Season.objects.filter(farm=farm, crop_year=year).exists():
        raise BillRefused(
            _("{farm} has no season of crop year {year} over which the bill could be shared.").format(
                farm=farm, year=year
            ),
            fields={"crop_year": "Nothing grows."},
        )


def refuse_other_farms(*, farm: Farm, wanted: dict[str, Any]) -> None:
    """Refuse a bill that names what is another farm's."""
    for name in (*PLACES, "entity", "supersedes"):
        row = wanted[name]
        if row is not None and row.farm_id != farm.pk:
            raise BillRefused(
                _("The {name} of the bill is not one of {farm}.").format(name=name_said(name), farm=farm),
                fields={name: "Another farm's."},
            )


def refuse_second_invoice(*, payee: Payee, wanted: dict[str, Any]) -> None:
    """Refuse an invoice number of a payee that stands already, unless the new bill takes its place.

    A correction that keeps payee and number stands beside what its forerunner stood beside.
    """
    number, before = wanted["number"], wanted["supersedes"]
    is_kept = before is not None and before.payee_id == payee.pk
    if not number or (is_kept and before.number.casefold() == number.casefold()):
        return
    twins = Bill.objects.filter(payee=payee, number__iexact=number, superseded_by__isnull=True)
    twin = twins.first()
    if twin is not None:
        raise BillDiffers(
            _("Invoice {number} of {payee} was entered on {day} for {amount}; is this the same one?").format(
                number=twin.number,
                payee=payee,
                day=f"{twin.entered_at:%Y-%m-%d}",
                amount=usd_said(twin.cents),
            ),
            fields={"number": "Entered before."},
        )
