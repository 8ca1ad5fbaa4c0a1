"""Saying of a bill that came alone which incident it mends."""

import datetime as dt
import uuid
from typing import Any

from django.utils.translation import gettext as _

from farmops.farms.models import Farm
from ledger.costing.money import usd_from
from ledger.models import Bill
from ledger.services.bill_items import items_of
from ledger.services.bills import BillRefused, enter_bill
from scheduling.models import Incident


def join_bill(
    *,
    farm: Farm,
    client_id: uuid.UUID,
    bill: Bill,
    incident: Incident,
    entered_by: Any = None,
    now: dt.datetime,
) -> tuple[Bill, bool]:
    """Enter the same bill again as that of an incident, in the place of the one that named none.

    Bills are never changed: the new one supersedes, and is shared over no other fields. What was paid of the old one stays paid. Raises BillRefused for a
    bill that names an incident already, or a pump.
    """
    if bill.incident_id is not None and bill.incident_id != incident.pk:
        raise BillRefused(
            _("The {bill} bill is that of another incident.").format(bill=bill), fields={"bill": "Another's."}
        )
    if bill.incident_id == incident.pk:
        return bill, False
    return enter_bill(
        farm=farm,
        client_id=client_id,
        payee=bill.payee.name,
        number=bill.number,
        bill_on=bill.bill_on,
        amount_usd=usd_from(bill.cents),
        category=bill.category,
        incident=incident,
        season=bill.season,
        machine=bill.machine,
        implement=bill.implement,
        pump=bill.pump,
        entity=bill.entity,
        sales_tax_usd=usd_from(bill.sales_tax_cents),
        crop_year=bill.crop_year,
        items=items_of(bill),
        note=bill.note,
        supersedes=bill,
        entered_by=entered_by,
        now=now,
    )
