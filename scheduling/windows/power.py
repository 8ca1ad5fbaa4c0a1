"""Hours of the week in which the power supplier shuts a pump, laid over the horizon."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt

from scheduling.windows.hours import Cells, HourGrid, elapsed_min


@dataclass(frozen=True)
class PowerCut:
    """A stretch of a weekday (0 is Monday) on the farm's clock."""

    weekday: int
    starts_at: dt.time
    ends_at: dt.time


def power_cut_edges(
    *, cuts: Sequence[PowerCut], days: Sequence[dt.date], starts_at: dt.datetime, zone: str
) -> set[int]:
    """Return the minutes at which the power goes or comes back."""
    return {minute for stretch in _stretches(cuts, days, starts_at, zone) for minute in stretch}


def is_cut(
    *, cuts: Sequence[PowerCut], grid: HourGrid, cells: Cells, starts_at: dt.datetime
) -> npt.NDArray[np.bool_]:
    """Return for each cell whether the power is shut in it; cells must be cut at the edges."""
    shut = np.zeros(len(cells.hour), dtype=bool)
    for begins, ends in _stretches(cuts, grid.days, starts_at, grid.zone):
        shut |= (cells.from_min >= begins) & (cells.from_min < ends)
    return shut


def _stretches(
    cuts: Sequence[PowerCut], days: Sequence[dt.date], starts_at: dt.datetime, zone: str
) -> list[tuple[int, int]]:
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
