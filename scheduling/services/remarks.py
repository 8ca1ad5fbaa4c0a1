"""Keeping what somebody standing on a field says of its wetness."""

import datetime as dt
import uuid
from typing import Any

from django.utils.translation import gettext as _

from farmops.core.keeping import holds, keep_once
from farmops.core.models import User
from farmops.farms.models import Farm, Field, SoilZone
from farmops.farms.operations import PIVOT_WORK, Operation
from scheduling.models import Remark, RemarkWord, WorkRecord
from scheduling.services.fact_rules import refuse_bad_correction, refuse_bad_instant, refuse_bad_text
from scheduling.services.record_rules import refuse_other_farms
from scheduling.services.refusals import BadRecord

JUDGED = tuple(operation.value for operation in Operation if operation not in PIVOT_WORK)


def record_remark(
    *,
    farm: Farm,
    client_id: uuid.UUID,
    field: Field,
    zone: SoilZone | None = None,
    said_at: dt.datetime,
    what: str,
    operation: str,
    work_record: WorkRecord | None = None,
    note: str = "",
    is_taken_back: bool = False,
    supersedes: Remark | None = None,
    said_by: User | None,
    now: dt.datetime,
) -> tuple[Remark, bool]:
    """Keep that a field, or one zone of it, was too wet, too dry or fit for a kind of work; False if it was kept before.

    A correction names the remark that it `supersedes`; with `is_taken_back` nothing takes its place. Raises BadRecord
    for words nobody knows, an hour to come, a zone or work record of another field; SupersededAlready; NotThisFarm.
    """
    refuse_other_farms(farm, field, zone, work_record, supersedes)
    if what not in RemarkWord.values:
        known = ", ".join(RemarkWord.values)
        raise BadRecord(
            _("{what} is not known; it is one of {known}.").format(what=repr(what), known=known),
            fields={"what": f"one of {known}"},
        )
    if operation not in JUDGED:
        raise BadRecord(
            _("Wetness is judged for work on the ground, not for {work}; it is one of {known}.").format(
                work=repr(operation), known=", ".join(JUDGED)
            ),
            fields={"operation": "no work on the ground"},
        )
    if zone is not None and zone.field_id != field.pk:
        raise BadRecord(
            _("The field {field} has no zone {zone}.").format(field=repr(field.code), zone=repr(zone.name)),
            fields={"zone": "is not this field's"},
        )
    if work_record is not None and work_record.field_pass.season.field_id != field.pk:
        raise BadRecord(
            _("The work record is not of the field {field}.").format(field=repr(field.code)),
            fields={"work_record": "of another field"},
        )
    refuse_bad_instant("said_at", said_at, farm, now)
    refuse_bad_text("note", note)
    facts: dict[str, Any] = {
        "field": field,
        "zone": zone,
        "said_at": said_at,
        "what": what,
        "operation": operation,
        "work_record": work_record,
        "note": note,
        "is_taken_back": is_taken_back,
        "supersedes": supersedes,
    }

    def make() -> Remark:
        refuse_bad_correction(supersedes, is_taken_back=is_taken_back)
        return Remark.objects.create(
            farm=farm, client_id=client_id, said_by=said_by, recorded_at=now, **facts
        )

    return keep_once(
        Remark.objects.filter(farm=farm, client_id=client_id),
        client_id,
        make,
        lambda kept: holds(kept, facts),
    )
