"""Readings put together into days; a line that cannot stand is named and left out whole."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from farmops.weather.sources.ranges import JUMP_DAYS, jump, out_of_range
from farmops.weather.sources.rows import BadRow, Reading, bad_line

PAIRS = (("temp_min_c", "temp_max_c"), ("humidity_min_pct", "humidity_max_pct"))
NEAR = dt.timedelta(days=21)
"""As far back as days tell what is usual: older ones are of another season."""


@dataclass(frozen=True)
class Day:
    """The readings of a day, by quantity, and the line of each."""

    day: dt.date
    values: Mapping[str, float]
    lines: Mapping[str, int]

    @property
    def line(self) -> int:
        return min(self.lines.values())


def columns_of(readings: Sequence[Reading]) -> dict[str, list[float]]:
    """Return the values of each quantity, for a look at the column as a whole."""
    columns: dict[str, list[float]] = {}
    for reading in readings:
        columns.setdefault(reading.quantity, []).append(reading.value)
    return columns


def mean_air_c(values: Mapping[str, float]) -> float | None:
    """Return the mean of a day's low and high, °C; None where one of them was not read."""
    if "temp_min_c" not in values or "temp_max_c" not in values:
        return None
    return (values["temp_min_c"] + values["temp_max_c"]) / 2


def first_jump(days: Sequence[Day], *, known_c: Mapping[dt.date, float]) -> str | None:
    """Return a sentence for the first day too warm, beside the three weeks before it, to be in °C; or None.

    `days` in order are those of a file, `known_c` the means of other days of the station. A column of which few days
    are in another unit does not look like another unit as a whole.
    """
    means_c = dict(known_c)
    for day in days:
        mean_c = mean_air_c(day.values)
        if mean_c is None:
            continue
        before = (day.day - dt.timedelta(days=back) for back in range(NEAR.days, 0, -1))
        says = jump(
            mean_c=mean_c, before_c=[means_c[past] for past in before if past in means_c][-JUMP_DAYS:]
        )
        if says is not None:
            return f"On {day.day} (line {day.line}) {says}"
        means_c[day.day] = mean_c
    return None


def assemble(readings: Sequence[Reading]) -> tuple[list[Day], list[BadRow]]:
    """Return the days of one station in order, and the lines that are impossible, doubled or contradictory.

    A day that stands twice with the same values counts once; with another value the later line is refused.
    """
    bad: dict[int, BadRow] = {}
    first: dict[tuple[dt.date, str], Reading] = {}

    def refuse(line: int, says: str) -> None:
        bad.setdefault(line, bad_line(line, says))

    for reading in readings:
        says = out_of_range(quantity=reading.quantity, value=reading.value)
        if says is not None:
            refuse(reading.line, f"{reading.day} {says}")
            continue
        earlier = first.setdefault((reading.day, reading.quantity), reading)
        if earlier.value != reading.value:
            refuse(
                reading.line,
                f"{reading.day} {reading.quantity} is {reading.value:g}, "
                f"but line {earlier.line} says {earlier.value:g}",
            )
    by_day: dict[dt.date, dict[str, Reading]] = {}
    for (day, quantity), reading in first.items():
        by_day.setdefault(day, {})[quantity] = reading
    for day, row in by_day.items():
        for low, high in PAIRS:
            if low in row and high in row and row[low].value > row[high].value:
                for line in {row[low].line, row[high].line}:
                    refuse(line, f"{day} {low} {row[low].value:g} is above {high} {row[high].value:g}")
    days = []
    for day in sorted(by_day):
        row = {name: reading for name, reading in by_day[day].items() if reading.line not in bad}
        if row:
            values = {name: reading.value for name, reading in row.items()}
            days.append(Day(day=day, values=values, lines={name: row[name].line for name in row}))
    return days, sorted(bad.values())
