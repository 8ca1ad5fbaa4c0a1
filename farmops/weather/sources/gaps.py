"""Short gaps, made from the days around them."""

import datetime as dt
import itertools
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from farmops.weather.sources.days import PAIRS
from farmops.weather.sources.rows import QUANTITIES, REQUIRED

LONGEST_DAYS = 3


@dataclass(frozen=True)
class Gap:
    """Days on which something that every day needs was not read, too many in a row to be made up."""

    first: dt.date
    last: dt.date
    quantity: str

    @property
    def days(self) -> int:
        return (self.last - self.first).days + 1


def fill(
    read: Mapping[dt.date, Mapping[str, float]],
) -> tuple[dict[dt.date, dict[str, float]], list[Gap]]:
    """Return made values by day for gaps of at most three days, and the longer gaps of what every day needs.

    Each quantity runs on a straight line between the readings on both sides (rain too: leaving it out would
    call the gap dry). A made low above a high that was read is not made. Farm judgement.
    """
    made: dict[dt.date, dict[str, float]] = {}
    gaps: list[Gap] = []
    for quantity in QUANTITIES:
        known = sorted(day for day, values in read.items() if quantity in values)
        for before, after in itertools.pairwise(known):
            missing = (after - before).days - 1
            if 0 < missing <= LONGEST_DAYS:
                start, end = read[before][quantity], read[after][quantity]
                for step in range(1, missing + 1):
                    day = before + dt.timedelta(days=step)
                    made.setdefault(day, {})[quantity] = start + (end - start) * step / (missing + 1)
            elif missing > LONGEST_DAYS and quantity in REQUIRED:
                one = dt.timedelta(days=1)
                gaps.append(Gap(first=before + one, last=after - one, quantity=quantity))
    for day, values in made.items():
        _drop_crossed(values, read.get(day, {}))
    return {day: made[day] for day in sorted(made) if made[day]}, gaps


def _drop_crossed(made: dict[str, float], read: Mapping[str, float]) -> None:
    for low, high in PAIRS:
        both = {**made, **read}
        if low in both and high in both and both[low] > both[high]:
            made.pop(low, None)
            made.pop(high, None)


def spans(gaps: Iterable[Gap]) -> list[str]:
    """Return the long gaps as sentences, one for each stretch of days."""
    by_days: dict[tuple[dt.date, dt.date], list[str]] = {}
    for gap in gaps:
        by_days.setdefault((gap.first, gap.last), []).append(gap.quantity)
    return [
        f"{first} to {last} ({(last - first).days + 1} days): no {', '.join(names)}; too long to be made up."
        for (first, last), names in sorted(by_days.items())
    ]
