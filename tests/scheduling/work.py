"""Work as it was reported, for tests of what is reckoned from it."""

import datetime as dt
import uuid
from decimal import Decimal

from farmops.core.clock import local_date
from farmops.farms.models import Hand, Machine
from scheduling.models import FieldPass, WorkRecord
from scheduling.services.work import record_work


def worked(
    field_pass: FieldPass,
    hand: Hand,
    machine: Machine | None = None,
    *,
    starts_at: dt.datetime,
    minutes: int,
    done_ac: str = "10",
    is_finished: bool = False,
) -> WorkRecord:
    """Return the record of work that began at an instant, on the farm's day of it."""
    record, _is_new = record_work(
        farm=hand.farm,
        client_id=uuid.uuid4(),
        field_pass=field_pass,
        hand=hand,
        machine=machine,
        work_on=local_date(starts_at, hand.farm.zone),
        starts_at=starts_at,
        hand_min=minutes,
        machine_min=minutes if machine is not None else 0,
        done_ac=Decimal(done_ac),
        is_finished=is_finished,
        recorded_by=None,
        now=starts_at + dt.timedelta(days=1),
    )
    return record
