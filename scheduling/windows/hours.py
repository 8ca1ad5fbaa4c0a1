"""The hours of a run of local days, in elapsed time: a day that changes the clock has 23 or 25 of them."""

import datetime as dt
from collections.abc import Collection
from dataclasses import dataclass
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt

HOUR = dt.timedelta(hours=1)


@dataclass(frozen=True)
class HourGrid:
    """Hours from local midnight of `days[0]` to local midnight after `days[-1]`.

    `starts` are in UTC, `minutes` is an hour's length (60, shorter only before a midnight that is not a whole
    hour away), `day_index` the local day it starts in, `clock_h` its start on the local clock (0..24).
    """

    zone: str
    days: tuple[dt.date, ...]
    starts: tuple[dt.datetime, ...]
    minutes: npt.NDArray[np.float64]
    day_index: npt.NDArray[np.int64]
    clock_h: npt.NDArray[np.float64]

    @property
    def end(self) -> dt.datetime:
        """Return the instant after the last hour, in UTC."""
        return self.starts[-1] + dt.timedelta(minutes=float(self.minutes[-1]))

    def minutes_from(self, instant: dt.datetime) -> npt.NDArray[np.int64]:
        """Return each hour's start and the last one's end in whole elapsed minutes from an instant."""
        return np.array([elapsed_min(instant, edge) for edge in (*self.starts, self.end)], dtype=np.int64)


@dataclass(frozen=True)
class Cells:
    """Stretches of the horizon within which nothing changes: `from_min` ≤ minute < `to_min`, in order, no gap."""

    from_min: npt.NDArray[np.int64]
    to_min: npt.NDArray[np.int64]
    hour: npt.NDArray[np.int64]


def local_midnight(day: dt.date, zone: str) -> dt.datetime:
    """Return the instant at which a local day begins, in UTC."""
    return dt.datetime.combine(day, dt.time(), tzinfo=ZoneInfo(zone)).astimezone(dt.UTC)


def elapsed_min(since: dt.datetime, until: dt.datetime) -> int:
    """Return the whole minutes that pass between two instants, whatever clocks do meanwhile."""
    return round((until.astimezone(dt.UTC) - since.astimezone(dt.UTC)).total_seconds() / 60)


def horizon_min(*, starts_at: dt.datetime, days: int, zone: str) -> int:
    """Return the minutes from `starts_at` until the farm's clock shows the same hour `days` days later."""
    clock = ZoneInfo(zone)
    ends = starts_at.astimezone(clock).replace(tzinfo=None) + dt.timedelta(days=days)
    return elapsed_min(starts_at, ends.replace(tzinfo=clock))


def hour_grid(*, first: dt.date, last: dt.date, zone: str) -> HourGrid:
    """Return the hours of the local days `first`..`last`."""
    days = tuple(first + dt.timedelta(days=offset) for offset in range((last - first).days + 1))
    clock = ZoneInfo(zone)
    starts: list[dt.datetime] = []
    minutes: list[float] = []
    day_index: list[int] = []
    for index, day in enumerate(days):
        start, end = local_midnight(day, zone), local_midnight(day + dt.timedelta(days=1), zone)
        while start < end:
            starts.append(start)
            minutes.append(min(HOUR, end - start).total_seconds() / 60)
            day_index.append(index)
            start += HOUR
    local = [start.astimezone(clock) for start in starts]
    return HourGrid(
        zone=zone,
        days=days,
        starts=tuple(starts),
        minutes=np.array(minutes),
        day_index=np.array(day_index, dtype=np.int64),
        clock_h=np.array([moment.hour + moment.minute / 60 for moment in local]),
    )


def cut_cells(*, edges: npt.NDArray[np.int64], until_min: int, cuts: Collection[int]) -> Cells:
    """Cut the minutes 0..`until_min` at `edges`, which are each hour's start and the last one's end, and at `cuts`.

    The hours must reach over the whole horizon; a cell carries the index of the hour it lies in.
    """
    if edges[0] > 0 or edges[-1] < until_min:
        raise ValueError("the hours do not reach over the horizon")
    extra = np.array([0, until_min, *cuts], dtype=np.int64)
    points = np.unique(np.concatenate([edges, extra]))
    points = points[(points >= 0) & (points <= until_min)]
    return Cells(
        from_min=points[:-1],
        to_min=points[1:],
        hour=np.searchsorted(edges, points[:-1], side="right") - 1,
    )
