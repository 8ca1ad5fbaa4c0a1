"""Bills and their payment."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

from django.db import IntegrityError, transaction

from farmops.core.clock import local_date
from farmops.core.nudge import nudge
from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm, Implement, Machine, Season
from ledger.costing.money import MoneyError, cents_from, usd_text
from ledger.models import Bill, BillPayment, Category, Payee
from scheduling.models import Incident

LONGEST = {"payee": 80, "number": 40, "check_no": 20, "note": 2000}
FIRST_YEAR = 1990
AHEAD_DAYS = 366  # farm judgement: a date further ahead is a slip of the keyboard
BILLED = tuple(category for category in Category if category not in (Category.OVERTIME, Category.OWNER_TIME))


class BillRefused(DomainError):
    """A bill whose facts do not make sense."""

    code = "bill_refused"


class BillDiffers(DomainError):
    """The same bill was entered before with other facts."""

    code = "bill_differs"
    kind = Kind.CONFLICT


def enter_bill(
    *,
    farm: Farm,
    client_id: uuid.UUID,
    payee: str,
    bill_on: dt.date,
    amount_usd: Decimal | str,
    category: str,
    number: str = "",
    incident: Incident | None = None,
    season: Season | None = None,
    machine: Machine | None = None,
    implement: Implement | None = None,
    note: str = "",
    paid_on: dt.date | None = None,
    check_no: str = "",
    supersedes: Bill | None = None,
    entered_by: Any = None,
    now: dt.datetime,
) -> tuple[Bill, bool]:
    """Enter a bill, or a credit where the amount is below zero; False beside it where it was entered before.

    `client_id` is made by the sender: the same id with the same facts is the same bill, with others a conflict. The
    same invoice number of a payee is refused a second time unless the new bill supersedes the old one.
    """
    _refuse_odd_text(payee=payee, number=number, check_no=check_no, note=note)
    for name, day in (("bill_on", bill_on), ("paid_on", paid_on)):
        _refuse_far_date(farm, name, day, now)
    facts = _facts(payee, amount_usd, category, season, machine, implement, incident)
    wanted: dict[str, Any] = {
        "number": number.strip(),
        "bill_on": bill_on,
        "incident": incident,
        "season": season,
        "machine": machine,
        "implement": implement,
        "note": note.strip(),
        "supersedes": supersedes,
        **facts,
    }
    _of_one_farm(farm, wanted)
    with transaction.atomic():
        known = _known(farm, client_id, payee.strip(), wanted)
        if known is not None:
            _refuse_other_payment(known, paid_on, check_no.strip())
            return known, False
        if supersedes is not None and Bill.objects.filter(supersedes=supersedes).exists():
            raise _corrected_before(supersedes)
        creditor, _new = Payee.objects.get_or_create(farm=farm, name=payee.strip())
        _refuse_second_invoice(creditor, wanted)
        try:
            with transaction.atomic():
                bill = Bill.objects.create(
                    farm=farm,
                    client_id=client_id,
                    payee=creditor,
                    entered_by=entered_by,
                    entered_at=now,
                    **wanted,
                )
        except IntegrityError:
            known = _known(farm, client_id, payee.strip(), wanted)
            if (
                known is None
                and supersedes is not None
                and Bill.objects.filter(supersedes=supersedes).exists()
            ):
                raise _corrected_before(supersedes) from None
            if known is None:
                raise
            return known, False
        if paid_on is not None:
            BillPayment.objects.create(
                farm=farm,
                bill=bill,
                paid_on=paid_on,
                check_no=check_no.strip(),
                entered_by=entered_by,
                entered_at=now,
            )
        nudge("bill.entered")
    return bill, True


def pay_bill(
    *,
    bill: Bill,
    paid_on: dt.date,
    check_no: str = "",
    entered_by: Any = None,
    now: dt.datetime,
) -> tuple[BillPayment, bool]:
    """Say that a bill was paid, whole; False beside it where the same was said before.

    A bill that was corrected is not paid any more: its correction is.
    """
    check_no = check_no.strip()
    _refuse_odd_text(check_no=check_no)
    _refuse_far_date(bill.farm, "paid_on", paid_on, now)
    with transaction.atomic():
        paid_before = BillPayment.objects.filter(bill=bill).exists()
        if not paid_before and Bill.objects.filter(supersedes=bill).exists():
            raise _corrected_before(bill)
        payment, is_new = BillPayment.objects.get_or_create(
            bill=bill,
            defaults={
                "farm": bill.farm,
                "paid_on": paid_on,
                "check_no": check_no,
                "entered_by": entered_by,
                "entered_at": now,
            },
        )
        if not is_new:
            _refuse_other_payment(bill, paid_on, check_no)
        nudge("bill.entered")
    return payment, is_new


def _refuse_odd_text(**texts: str) -> None:
    for name, text in texts.items():
        if len(text.strip()) > LONGEST[name]:
            says = f"{len(text.strip())} characters; at most {LONGEST[name]}."
            raise BillRefused(f"The {name} of the bill has {says}", fields={name: says})
        if "\0" in text or (name != "note" and not text.isprintable()):
            raise BillRefused(
                f"The {name} of the bill holds a sign that cannot be printed.", fields={name: "Odd sign."}
            )


def _refuse_far_date(farm: Farm, name: str, day: dt.date | None, now: dt.datetime) -> None:
    last = local_date(now, farm.zone) + dt.timedelta(days=AHEAD_DAYS)
    if day is not None and not dt.date(FIRST_YEAR, 1, 1) <= day <= last:
        says = f"{day} is not between {FIRST_YEAR} and {last}; is the year right?"
        raise BillRefused(f"{name}: {says}", fields={name: says})


def _refuse_other_payment(bill: Bill, paid_on: dt.date | None, check_no: str) -> None:
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


def _corrected_before(bill: Bill) -> BillDiffers:
    return BillDiffers(f"The {bill} bill was corrected before; take the newer one.")


def _facts(
    payee: str,
    amount_usd: Decimal | str,
    category: str,
    season: Season | None,
    machine: Machine | None,
    implement: Implement | None,
    incident: Incident | None,
) -> dict[str, Any]:
    if not payee.strip():
        raise BillRefused("A bill names who is to be paid.", fields={"payee": "Name the payee."})
    if category not in BILLED:
        known = ", ".join(item.value for item in BILLED)
        raise BillRefused(
            f"{category!r} is not a category of bills; known: {known}.", fields={"category": "Not known."}
        )
    try:
        cents = cents_from(amount_usd)
    except MoneyError as error:
        raise BillRefused(str(error), fields={"amount_usd": str(error)}) from error
    if cents == 0:
        raise BillRefused("A bill of $0.00 asks for nothing.", fields={"amount_usd": "Not zero."})
    if season is not None and incident is None and (machine is not None or implement is not None):
        raise BillRefused(
            "A bill goes to a season or to a machine, not to both.", fields={"season": "Or a machine."}
        )
    return {"cents": cents, "category": category}


_SHOWN = {"cents": "amount"}


def _of_one_farm(farm: Farm, wanted: dict[str, Any]) -> None:
    for name in ("incident", "season", "machine", "implement", "supersedes"):
        row = wanted[name]
        if row is not None and row.farm_id != farm.pk:
            raise BillRefused(
                f"The {name} of the bill is not one of {farm}.", fields={name: "Another farm's."}
            )


def _known(farm: Farm, client_id: uuid.UUID, payee: str, wanted: dict[str, Any]) -> Bill | None:
    bill = Bill.objects.select_related("payee").filter(farm=farm, client_id=client_id).first()
    if bill is None:
        return None
    differs = [_SHOWN.get(name, name) for name, value in wanted.items() if getattr(bill, name) != value]
    if bill.payee.name != payee:
        differs.append("payee")
    if differs:
        raise BillDiffers(
            f"This bill was entered before with another {', '.join(sorted(differs))} "
            f"({bill.payee}, {usd_text(bill.cents)} dollars on {bill.bill_on}); enter a correction that supersedes it."
        )
    return bill


def _refuse_second_invoice(payee: Payee, wanted: dict[str, Any]) -> None:
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
