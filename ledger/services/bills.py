"""Bills and their payment."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

from django.db import IntegrityError, transaction

from farmops.core.nudge import nudge
from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm, Implement, Machine, Season
from ledger.costing.money import MoneyError, cents_from, usd_text
from ledger.models import Bill, BillPayment, Category, Payee
from scheduling.models import Incident

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
            return known, False
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
            if known is None:
                raise
            return known, False
        if paid_on is not None:
            BillPayment.objects.create(
                farm=farm,
                bill=bill,
                paid_on=paid_on,
                check_no=check_no,
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
    """Say that a bill was paid, whole; False beside it where the same was said before."""
    with transaction.atomic():
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
        if not is_new and (payment.paid_on, payment.check_no) != (paid_on, check_no):
            raise BillDiffers(f"The {bill} bill was paid on {payment.paid_on} already.")
        nudge("bill.entered")
    return payment, is_new


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
    differs = [name for name, value in wanted.items() if getattr(bill, name) != value]
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
