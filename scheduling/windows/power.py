"""Hours of the week in which the power supplier shuts a pump, laid over the horizon."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from scheduling.windows.hours import elapsed_min


@dataclass(frozen=True)
class PowerCut:
    """A stretch of a weekday (0 is Monday) on the farm's clock."""

    weekday: int
    starts_at: dt.time
    ends_at: dt.time


def power_cut_stretches(
    cuts: Sequence[PowerCut], days: Sequence[dt.date], starts_at: dt.datetime, zone: str
) -> list[tuple[int, int]]:
    """Return the minutes (elapsed from the start) from which and until which the power is shut."""
    clock = ZoneInfo(zone)
    return [
        (
            elapsed_min(starts_at, dt.datetime.combine(day, cut.starts_at, tzinfo=clock)),
            elapsed_min(starts_at, dt.datetime.combine(day, cut.ends_at, tzinfo=clock)),
        )
        for day in days
        for cut in cuts
        if cut.weekday == day.weekday()
    ]
