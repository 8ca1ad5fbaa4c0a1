"""Bills and their payment."""

import datetime as dt
import uuid
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from farmops.core.nudge import nudge
from farmops.farms.models import Farm, Implement, Machine, Pump, Season
from ledger.costing.money import usd_said
from ledger.models import Bill, BillItem, BillPayment, Entity, Payee
from ledger.selectors.bills import payment_of
from ledger.selectors.categories import category_book
from ledger.selectors.payees import one_spaced, payee_called
from ledger.services.bill_items import NewBillItem, are_same, biggest_category, item_rows
from ledger.services.bill_rules import (
    CURRENCY,
    BillDiffers,
    BillRefused,
    CurrencyDiffers,
    amounts_of,
    corrected_before,
    name_said,
    refuse_far_date,
    refuse_odd_sharing,
    refuse_odd_text,
    refuse_other_currency,
    refuse_other_farms,
    refuse_other_payment,
    refuse_second_invoice,
    refuse_two_places,
    refuse_undone_payment,
    refuse_unknown_category,
)
from scheduling.models import Incident

__all__ = ["BillDiffers", "BillRefused", "CurrencyDiffers", "NewBillItem", "enter_bill", "pay_bill"]

_SHOWN = {"cents": "amount", "sales_tax_cents": "sales_tax"}


def enter_bill(
    *,
    farm: Farm,
    client_id: uuid.UUID,
    payee: str,
    bill_on: dt.date,
    amount_usd: Decimal | str,
    category: str = "",
    number: str = "",
    incident: Incident | None = None,
    season: Season | None = None,
    machine: Machine | None = None,
    implement: Implement | None = None,
    pump: Pump | None = None,
    entity: Entity | None = None,
    sales_tax_usd: Decimal | str = "0",
    crop_year: int | None = None,
    shared_by: str = "",
    items: Sequence[NewBillItem] = (),
    currency: str = CURRENCY,
    note: str = "",
    paid_on: dt.date | None = None,
    check_no: str = "",
    supersedes: Bill | None = None,
    is_another: bool = False,
    entered_by: Any = None,
    now: dt.datetime,
) -> tuple[Bill, bool]:
    """Enter a bill, or a credit where the amount is below zero; False beside it where it was entered before.

    `client_id` is made by the sender: the same id with the same facts is the same bill, with others a conflict. The
    same invoice number of a payee, in whatever capitals, is refused a second time unless the new bill supersedes the old
    one, or `is_another` says that it is another one all the same. A bill with items needs no category of its own: it is that of most of its cents. The correction of a bill that
    was paid is paid as that was, unless it says otherwise.
    """
    refuse_other_currency(currency)
    refuse_odd_text(payee=payee, number=number, check_no=check_no, note=note)
    for name, day in (("bill_on", bill_on), ("paid_on", paid_on)):
        refuse_far_date(farm=farm, name=name, day=day, now=now)
    categories = category_book(farm=farm)
    amounts = amounts_of(payee=payee, amount_usd=amount_usd, sales_tax_usd=sales_tax_usd)
    rows = item_rows(farm=farm, items=items, categories=categories, supersedes=supersedes, **amounts)
    if category or not rows:
        refuse_unknown_category(category=category, categories=categories)
    wanted: dict[str, Any] = {
        "number": number.strip(),
        "bill_on": bill_on,
        "category": category or biggest_category(rows),
        "entity": entity,
        "crop_year": crop_year,
        "shared_by": shared_by,
        "incident": incident,
        "season": season,
        "machine": machine,
        "implement": implement,
        "pump": pump,
        "note": note.strip(),
        "supersedes": supersedes,
        **amounts,
    }
    refuse_two_places(wanted)
    refuse_other_farms(farm=farm, wanted=wanted)
    refuse_odd_sharing(farm=farm, shared_by=shared_by, crop_year=crop_year, bill_on=bill_on, now=now)
    with transaction.atomic():
        known = _known(farm, client_id, payee.strip(), wanted, rows)
        if known is not None:
            refuse_other_payment(bill=known, paid_on=paid_on, check_no=check_no.strip())
            return known, False
        if supersedes is not None:
            _hold(supersedes)
            if Bill.objects.filter(supersedes=supersedes).exists():
                raise corrected_before(supersedes)
        creditor = payee_called(farm=farm, name=payee)
        if creditor is None:
            creditor, _new = Payee.objects.get_or_create(farm=farm, name=one_spaced(payee))
        if wanted["number"]:
            Payee.objects.select_for_update(no_key=True).get(pk=creditor.pk)  # its invoices come one by one
        if not is_another:
            refuse_second_invoice(payee=creditor, wanted=wanted)
        stored = {"farm": farm, "client_id": client_id, "payee": creditor, "entered_by": entered_by, **wanted}
        try:
            with transaction.atomic():
                bill = Bill.objects.create(entered_at=now, **stored)
                for row in rows:
                    row.bill = bill
                BillItem.objects.bulk_create(rows)
        except IntegrityError:
            known = _known(farm, client_id, payee.strip(), wanted, rows)
            if known is not None:
                return known, False
            if supersedes is not None and Bill.objects.filter(supersedes=supersedes).exists():
                raise corrected_before(supersedes) from None
            raise
        _pay(bill, _payment_of(supersedes, paid_on, check_no.strip()), entered_by, now)
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
    refuse_odd_text(check_no=check_no)
    refuse_far_date(farm=bill.farm, name="paid_on", day=paid_on, now=now)
    with transaction.atomic():
        _hold(bill)
        paid_before = BillPayment.objects.filter(bill=bill).exists()
        if not paid_before and Bill.objects.filter(supersedes=bill).exists():
            raise corrected_before(bill)
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
            refuse_undone_payment(payment=payment)
            refuse_other_payment(bill=bill, paid_on=paid_on, check_no=check_no)
        nudge("bill.entered")
    return payment, is_new


def _hold(bill: Bill) -> None:
    """Hold a bill until the end of the transaction: who pays it and who corrects it wait for each other."""
    Bill.objects.select_for_update(no_key=True).get(pk=bill.pk)


def _payment_of(
    supersedes: Bill | None, paid_on: dt.date | None, check_no: str
) -> tuple[dt.date, str] | None:
    """Return day and check of a new bill's payment: as told, else as that of the bill whose place it takes."""
    if paid_on is not None:
        return paid_on, check_no
    payment = payment_of(bill=supersedes)
    return None if payment is None else (payment.paid_on, payment.check_no)


def _pay(bill: Bill, paid: tuple[dt.date, str] | None, entered_by: Any, now: dt.datetime) -> None:
    if paid is not None:
        BillPayment.objects.create(
            farm=bill.farm,
            bill=bill,
            paid_on=paid[0],
            check_no=paid[1],
            entered_by=entered_by,
            entered_at=now,
        )


def _known(
    farm: Farm, client_id: uuid.UUID, payee: str, wanted: dict[str, Any], rows: Sequence[BillItem]
) -> Bill | None:
    bill = Bill.objects.select_related("payee").filter(farm=farm, client_id=client_id).first()
    if bill is None:
        return None
    differs = [_SHOWN.get(name, name) for name, value in wanted.items() if getattr(bill, name) != value]
    if one_spaced(bill.payee.name).casefold() != one_spaced(payee).casefold():
        differs.append("payee")
    if not are_same(bill=bill, rows=rows):
        differs.append("list of items")
    if differs:
        raise BillDiffers(
            _(
                "This bill was entered before with another {what} ({payee}, {amount} on {day}); "
                "enter a correction that supersedes it."
            ).format(
                what=", ".join(name_said(name) for name in sorted(differs)),
                payee=bill.payee,
                amount=usd_said(bill.cents),
                day=bill.bill_on,
            ),
            fields={"client_id": "used"},
        )
    return bill
