"""Putting hour meters right: one that was replaced, and a reading that was wrong."""

import datetime as dt
import uuid
from dataclasses import replace
from decimal import Decimal
from itertools import pairwise
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from farmops.core.clock import local_date
from farmops.core.keeping import holds, keep_once
from farmops.core.models import User
from farmops.farms.models import Farm, Machine
from scheduling.care import Meter, Replaced
from scheduling.models import HourReading, MeterReplaced, ReadingSetAside
from scheduling.selectors.meters import meter_of
from scheduling.services.fact_rules import refuse_bad_instant, refuse_bad_text
from scheduling.services.meter_rules import METER_SLACK_H, refuse_bad_hours, refuse_out_of_line
from scheduling.services.record_rules import refuse_other_farms
from scheduling.services.refusals import BadRecord

LONGEST = 200


def record_meter_replaced(
    *,
    farm: Farm,
    client_id: uuid.UUID,
    machine: Machine,
    replaced_at: dt.datetime,
    old_reading_h: Decimal,
    new_reading_h: Decimal = Decimal(0),
    note: str = "",
    recorded_by: User | None,
    now: dt.datetime,
) -> tuple[MeterReplaced, bool]:
    """Keep that an hour meter was replaced; return the row and False if it was kept before.

    Service goes on counting: what the old one showed last is what the new one showed first. Raises MeterRunsBackwards
    and MeterRunsTooFast for a last reading that the ones before do not allow, BadRecord for an hour to come and where
    a reading kept since cannot be of the new meter; NotThisFarm.
    """
    refuse_other_farms(farm, machine)
    refuse_bad_instant("replaced_at", replaced_at, farm, now)
    refuse_bad_text("note", note, most=LONGEST)
    refuse_bad_hours("old_reading_h", old_reading_h)
    refuse_bad_hours("new_reading_h", new_reading_h)
    facts: dict[str, Any] = {
        "machine": machine,
        "replaced_at": replaced_at,
        "old_reading_h": old_reading_h,
        "new_reading_h": new_reading_h,
        "note": note,
    }

    def make() -> MeterReplaced:
        Machine.objects.select_for_update().get(pk=machine.pk)
        meter = meter_of(machine=machine)
        until = replace(meter, readings=tuple(one for one in meter.readings if one.at <= replaced_at))
        refuse_out_of_line(machine, until, old_reading_h, replaced_at, name="old_reading_h")
        _refuse_readings_of_the_old(farm, machine, meter, Replaced(replaced_at, old_reading_h, new_reading_h))
        return MeterReplaced.objects.create(
            farm=farm, client_id=client_id, recorded_by=recorded_by, recorded_at=now, **facts
        )

    return keep_once(
        MeterReplaced.objects.filter(farm=farm, client_id=client_id),
        client_id,
        make,
        lambda kept: holds(kept, facts),
    )


@transaction.atomic
def set_reading_aside(
    *, reading: HourReading, why: str, set_aside_by: User | None, now: dt.datetime
) -> tuple[ReadingSetAside, bool]:
    """Keep that a meter reading was wrong, so that it counts no more; return the row and False if it was before.

    The reading stays as it was written; the right one is recorded as a reading of its own.
    """
    refuse_bad_text("why", why, most=LONGEST, is_needed=True)
    Machine.objects.select_for_update().get(pk=reading.machine_id)
    kept = ReadingSetAside.objects.filter(reading=reading).first()
    if kept is not None:
        return kept, False
    made = ReadingSetAside.objects.create(
        farm=reading.farm, reading=reading, why=why.strip(), set_aside_by=set_aside_by, recorded_at=now
    )
    return made, True


def _refuse_readings_of_the_old(farm: Farm, machine: Machine, meter: Meter, new: Replaced) -> None:
    """Refuse a new meter where a reading kept after that hour cannot be of it: it was read on the old one, or wrong."""
    changed = replace(meter, replaced=(*meter.replaced, new))
    for before, after in pairwise(changed.run_on()):
        if after.at <= new.at or before.at < new.at:
            continue
        passed_h = Decimal((after.at - before.at) // dt.timedelta(minutes=1)) / 60
        if not 0 <= after.hours - before.hours <= passed_h + METER_SLACK_H:
            shown_h = after.hours - changed.added_h(after.at)
            raise BadRecord(
                _(
                    "The {hours} h read on {day} cannot be of the new meter of {machine}, "
                    "which began at {began} h; set that reading aside first."
                ).format(
                    hours=shown_h,
                    day=local_date(after.at, farm.zone),
                    machine=machine.name,
                    began=new.new_h,
                ),
                fields={"replaced_at": f"{shown_h} h read later"},
            )
