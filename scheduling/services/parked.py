"""Settling reports that wait: the manager takes each over, corrected where need be, or sets it aside with a reason.

The report itself stays as it was sent, whatever becomes of it.
"""

import datetime as dt
import uuid
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from farmops.core.models import User
from scheduling.models import (
    CareDone,
    FuelFill,
    Incident,
    Mending,
    ParkedReport,
    ParkedState,
    ReportKind,
    WorkRecord,
)
from scheduling.selectors.reports import KEPT_ALL_THE_SAME
from scheduling.services.care import take_back_care
from scheduling.services.fuel import take_back_fill
from scheduling.services.incidents import LONGEST_NOTE as LONGEST_MENDING_NOTE
from scheduling.services.incidents import mend_incident
from scheduling.services.receiving import KINDS
from scheduling.services.refusals import BadRecord, ParkedSettled
from scheduling.services.work import record_work

LONGEST_NOTE = 300


@transaction.atomic
def take_over(
    *,
    parked: ParkedReport,
    changes: Mapping[str, Any] | None = None,
    note: str = "",
    settled_by: User | None,
    now: dt.datetime,
) -> ParkedReport:
    """Keep what a report says, with the values of `changes` in the place of those that were sent.

    What the manager may overrule is not asked again: a pass called off, another's pass, a day long ago, a phone's
    clock. What cannot be, such as a day of 25 hours, raises the error that it would raise anywhere, and the report goes
    on waiting. Of one that was kept all the same it settles only that both stand. Raises ParkedSettled when it was
    settled before, BodyUnreadable for values that cannot be read.
    """
    waiting = _locked(parked)
    report = waiting.report
    if waiting.code in KEPT_ALL_THE_SAME:
        if changes:
            raise BadRecord(_("This report is kept already; correct its record instead."))
        return _settled(waiting, ParkedState.TAKEN, note, settled_by, now)
    body = {**report.body, **(changes or {})}
    KINDS[report.kind](
        farm=report.farm,
        hand=report.hand,
        report=report,
        body={name: value for name, value in body.items() if value is not None},
        now=now,
        sent_by=settled_by,
    )
    waiting.changes = dict(changes or {})
    return _settled(waiting, ParkedState.TAKEN, note, settled_by, now)


@transaction.atomic
def set_aside(
    *, parked: ParkedReport, reason: str, settled_by: User | None, now: dt.datetime
) -> ParkedReport:
    """Keep that a report does not count, with the reason; what was kept all the same is taken back.

    Raises BadRecord without a reason, ParkedSettled when it was settled before.
    """
    if not reason.strip():
        raise BadRecord(_("Say why the report is set aside."), fields={"reason": "empty"})
    waiting = _locked(parked)
    if waiting.code in KEPT_ALL_THE_SAME:
        _take_back(waiting, reason, settled_by, now)
    return _settled(waiting, ParkedState.SET_ASIDE, reason, settled_by, now)


def _locked(parked: ParkedReport) -> ParkedReport:
    """Return the row, held until the end of the transaction; of two that settle it one comes too late."""
    row = ParkedReport.objects.select_for_update().get(pk=parked.pk)
    if row.state != ParkedState.WAITING:
        raise ParkedSettled(
            _("This report was settled before: it is {state}.").format(state=_(row.get_state_display()))
        )
    return row


def _settled(
    row: ParkedReport, state: ParkedState, note: str, settled_by: User | None, now: dt.datetime
) -> ParkedReport:
    row.state, row.settled_at, row.settled_by = state, now, settled_by
    row.settled_note = note.strip()[:LONGEST_NOTE]
    row.save(update_fields=["state", "settled_at", "settled_by", "settled_note", "changes"])
    return row


def _take_back(waiting: ParkedReport, reason: str, settled_by: User | None, now: dt.datetime) -> None:
    """Take back what came twice; nothing is left to take back where it was corrected by hand since."""
    report = waiting.report
    of_report = {"farm": report.farm, "client_id": report.client_id}
    mine = {**of_report, "superseded_by__isnull": True}
    again_id = uuid.uuid5(report.client_id, "set aside")
    for done in CareDone.objects.filter(**mine) if report.kind == ReportKind.CARE else ():
        take_back_care(done=done, recorded_by=settled_by, now=now)
    for fill in FuelFill.objects.filter(**mine) if report.kind == ReportKind.FUEL else ():
        take_back_fill(fill=fill, client_id=again_id, recorded_by=settled_by, now=now)
    for incident in Incident.objects.filter(**of_report) if report.kind == ReportKind.INCIDENT else ():
        mend_incident(
            farm=report.farm,
            client_id=again_id,
            incident=incident,
            mending=Mending.MISTAKE,
            lost_min=0,
            note=reason.strip()[:LONGEST_MENDING_NOTE],
            now=now,
        )
    for record in WorkRecord.objects.filter(**mine) if report.kind == ReportKind.WORK else ():
        _without_hours(record, again_id, reason, settled_by, now)


def _without_hours(
    record: WorkRecord, client_id: uuid.UUID, reason: str, settled_by: User | None, now: dt.datetime
) -> None:
    """Supersede a record of work by one without hours."""
    record_work(
        farm=record.farm,
        client_id=client_id,
        field_pass=record.field_pass,
        hand=record.hand,
        machine=record.machine,
        implement=record.implement,
        work_on=record.work_on,
        hand_min=0,
        done_ac=Decimal(0),
        is_finished=False,
        not_done_why=f"Set aside: {reason.strip()}"[:200],
        supersedes=record,
        recorded_by=settled_by,
        now=now,
    )
