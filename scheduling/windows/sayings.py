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
    """`fit` and `waits` are flags of shape (cells, zones); `after_at` the hour waited for, by cell."""

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
    waits = np.zeros_like(fit)
    after: list[dt.time | None] = [None] * len(cells.hour)
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
            if counts.after_at is None:
                (waits if counts.word is Word.NOT_TODAY else fit)[on_day, column] = True
                continue
            minute = elapsed_min(starts_at, dt.datetime.combine(day, counts.after_at, tzinfo=clock))
            waits[on_day & (cells.from_min < minute), column] = True
            fit[on_day & (cells.from_min >= minute), column] = True
            for cell in np.flatnonzero(on_day & (cells.from_min < minute)):
                after[cell] = max(after[cell] or counts.after_at, counts.after_at)
    return Said(fit=fit, waits=waits, after_at=tuple(after))
