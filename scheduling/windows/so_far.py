"""Rain of a day that is not over: what a field's gauge showed of it, and what of its forecast may still come."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from scheduling.windows.columns import Column, RainSoFar, ZoneFacts
from scheduling.windows.day_weather import Values
from scheduling.windows.hours import HourGrid
from scheduling.windows.timeline import Timeline

GAUGE = "gauge"
HALF_HOUR = 0.5


@dataclass(frozen=True)
class HoursRead:
    """The hours of a day that a gauge tells of, by their places in a grid, with the rain of each, mm.

    `day` is the day's place among a run's days.
    """

    day: int
    hours: npt.NDArray[np.int64]
    rain_mm: Values

    def moved(self, *, days: int, hours: int) -> "HoursRead":
        """Return the same in a run and a grid that begin so many days and hours later: those hours that are in it."""
        rows = self.hours - hours
        return replace(self, day=self.day - days, hours=rows[rows >= 0], rain_mm=self.rain_mm[rows >= 0])


def with_own_days(facts: ZoneFacts, line: Timeline) -> ZoneFacts:
    """Return the facts with those readings of unfinished days alone of which no weather is in; they are no whole days."""
    standing = tuple(one for one in facts.so_far if line.members_from <= _place(one, line) < len(line.days))
    if standing == facts.so_far == ():
        return facts
    rain_mm, source = facts.rain_mm.copy(), list(facts.rain_source)
    for one in standing:
        rain_mm[_place(one, line)] = np.nan
        source[_place(one, line)] = GAUGE
    return replace(facts, rain_mm=rain_mm, rain_source=tuple(source), so_far=standing)


def hours_read(column: Column, line: Timeline) -> tuple[HoursRead, ...]:
    """Return the hours that a column's gauge tells of, by their places among the hours of the line.

    Their rain goes by the forecast's hours where it tells of any before the reading, else evenly. The hour in which the
    gauge was read counts as read where most of it was over: a forecast has no finer parts.
    """
    return tuple(_hours_of(one, line.hours, line) for one in column.facts.so_far)


def put_in(rain_mm: Values, read: Sequence[HoursRead], *, column: int, first: int) -> None:
    """Write what was read into hours (hours × columns × members) that begin with the place `first` of the line's."""
    for one in read:
        rows = one.hours - first
        inside = (rows >= 0) & (rows < len(rain_mm))
        rain_mm[rows[inside], column] = one.rain_mm[inside, np.newaxis]


def _place(one: RainSoFar, line: Timeline) -> int:
    return (one.day - line.days[0]).days


def _hours_of(one: RainSoFar, grid: HourGrid, line: Timeline) -> HoursRead:
    day = _place(one, line)
    mine = np.flatnonzero(grid.day_index == day - line.hourly_from)
    read = mine[grid.clock_h[mine] + HALF_HOUR < one.until_h]
    told = line.rain_share[read]
    weight = told if told.sum() > 0 else grid.minutes[read]
    return HoursRead(day, read, one.rain_mm * weight / weight.sum())
