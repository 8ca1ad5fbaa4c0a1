"""How long a pass waits after another: the gap of the link between them, or the hours of a label if those are longer."""

import datetime as dt
import math
from collections.abc import Iterable

from farmops.farms.operations import SPRAYING
from scheduling.models import FieldPass, PassLink, WorkRecord
from scheduling.selectors.horizon import Horizon


def reentry_min(field_pass: FieldPass) -> int:
    """Return the minutes for which a pass's label keeps people out after it; 0 where none is stated."""
    if field_pass.operation not in SPRAYING or field_pass.reentry_h is None:
        return 0
    return math.ceil(field_pass.reentry_h * 60)


def least_gap_min(link: PassLink) -> int:
    """Return the least minutes between two linked passes: the link's own, or the label's if that is longer."""
    return max(link.min_gap_min, reentry_min(link.before))


def met_gaps(links: Iterable[PassLink], horizon: Horizon) -> dict[int, int]:
    """Return the first minute that the least gap after a finished pass allows, by the row id of what waited for it.

    The end is that of its last record: start and minutes where the hand gave them, else the end of the day. The
    greatest gap after a finished pass binds nothing: once it has run out, later is still better than never.
    """
    links = [link for link in links if least_gap_min(link)]
    ends: dict[int, int] = {}
    records = WorkRecord.objects.filter(
        field_pass__in={link.before_id for link in links}, superseded_by__isnull=True
    )
    for record in records if links else ():
        if record.starts_at is not None:
            end = horizon.after(record.starts_at) + record.hand_min
        else:
            end = horizon.midnight(record.work_on + dt.timedelta(days=1))
        ends[record.field_pass_id] = max(end, ends.get(record.field_pass_id, end))
    soonest: dict[int, int] = {}
    for link in links:
        if link.before_id in ends:
            minute = ends[link.before_id] + least_gap_min(link)
            soonest[link.after_id] = max(minute, soonest.get(link.after_id, 0))
    return soonest
