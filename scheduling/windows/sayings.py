"""The grower's own word on the ground: on which cells of the horizon it holds the wetness limits open or shut."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt

from scheduling.windows.hours import Cells, HourGrid, elapsed_min

Flags = npt.NDArray[np.bool_]
WHOLE_DAY_MIN = 1440


class Word(StrEnum):
    """What a grower says of a field in the morning."""

    FIT = "fit"
    AFTER = "after"
    NOT_TODAY = "not_today"


@dataclass(frozen=True)
class Saying:
    """One word on a zone (None: the whole field) for a day; `said_at` decides which of several counts."""

    zone_name: str | None
    day: dt.date
    word: Word
    after_at: dt.time | None
    said_at: dt.datetime


@dataclass(frozen=True)
class Said:
    """`fit` and `waits` are flags of shape (cells, zones); `after_at` the hour waited for, by cell.

    Where zones wait for different hours, `waits` are those that wait longest and `after_at` is theirs.
    """

    fit: Flags
    waits: Flags
    after_at: tuple[dt.time | None, ...]


def say_so_cuts(*, sayings: Sequence[Saying], starts_at: dt.datetime, zone: str) -> set[int]:
    """Return the minutes at which a word changes something."""
    clock = ZoneInfo(zone)
    return {
        elapsed_min(starts_at, dt.datetime.combine(saying.day, saying.after_at, tzinfo=clock))
        for saying in sayings
        if saying.after_at is not None
    }


def lay_out(
    *,
    sayings: Sequence[Saying],
    zone_names: Sequence[str],
    grid: HourGrid,
    cells: Cells,
    starts_at: dt.datetime,
) -> Said:
    """Lay the words over the cells; of several on one zone and day the newest counts."""
    fit = np.zeros((len(cells.hour), len(zone_names)), dtype=bool)
    until_min = np.zeros(fit.shape, dtype=np.int64)
    clock = ZoneInfo(grid.zone)
    day_of_cell = grid.day_index[cells.hour]
    for column, name in enumerate(zone_names):
        newest: dict[dt.date, Saying] = {}
        for saying in sorted(sayings, key=lambda one: one.said_at):
            if saying.zone_name in (None, name):
                newest[saying.day] = saying
        for index, day in enumerate(grid.days):
            counts = newest.get(day)
            if counts is None:
                continue
            on_day = day_of_cell == index
            if counts.word is Word.NOT_TODAY:
                until_min[on_day, column] = WHOLE_DAY_MIN
            elif counts.after_at is None:
                fit[on_day, column] = True
            else:
                minute = elapsed_min(starts_at, dt.datetime.combine(day, counts.after_at, tzinfo=clock))
                is_before = cells.from_min < minute
                until_min[on_day & is_before, column] = counts.after_at.hour * 60 + counts.after_at.minute
                fit[on_day & ~is_before, column] = True
    longest = until_min.max(axis=1, initial=0)
    return Said(
        fit=fit,
        waits=(until_min == longest[:, np.newaxis]) & (until_min > 0),
        after_at=tuple(
            dt.time(*divmod(int(minute), 60)) if 0 < minute < WHOLE_DAY_MIN else None for minute in longest
        ),
    )
