"""Where a day, an hour or a value stands in a drawing."""

import datetime as dt
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

PATH_WIDTH = 1000
NICE = (1.0, 2.0, 2.5, 5.0, 10.0)
HOURS = 24


class NothingToDraw(ValueError):
    """A scale without days or without a single known value."""


@dataclass(frozen=True)
class DayScale:
    """Days side by side, each as wide as the others; an hour is its share of the clock's 24."""

    days: tuple[dt.date, ...]

    def __post_init__(self) -> None:
        if not self.days:
            raise NothingToDraw("A drawing needs at least one day.")  # not said

    def at(self, index: int, hour: float = 0.0) -> float:
        """Return the place of an hour (0 to 24) of the day with that index, as percent of the width."""
        return 100 * (index + hour / HOURS) / len(self.days)

    @property
    def step(self) -> float:
        """Return the width of a day in percent."""
        return 100 / len(self.days)


@dataclass(frozen=True)
class ValueScale:
    """Values from the bottom up, or from the top down if `is_hanging`, in pixels below the panel's top."""

    low: float
    high: float
    height: float
    is_hanging: bool = False

    def at(self, value: float) -> float:
        """Return the place of a value; what lies outside stands at the edge."""
        share = (min(max(value, self.low), self.high) - self.low) / (self.high - self.low)
        return self.height * (share if self.is_hanging else 1 - share)


def number_said(value: float) -> str:
    """Return a number beside an axis, with all its digits from a million on."""
    return f"{value:g}" if abs(value) < 1e6 else f"{value:,.0f}"


def value_scale(
    values: Iterable[float], *, height: float, step: float, is_hanging: bool = False, low: float | None = None
) -> ValueScale:
    """Return a scale over all finite values, wide enough for one `step` and rounded out to whole steps.

    `low` sets the lower end (0 for rain). Raises NothingToDraw where no value is finite.
    """
    known = [value for value in values if math.isfinite(value)]
    if not known:
        raise NothingToDraw("A drawing needs at least one known value.")  # not said
    bottom = math.floor(min(known) / step + 1e-9) * step if low is None else low
    top = math.ceil(max(known) / step - 1e-9) * step
    return ValueScale(bottom, max(top, bottom + step), height, is_hanging)


def ticks(scale: ValueScale, *, most: int = 5) -> tuple[float, ...]:
    """Return round values inside a scale, at most `most` and at least two where there is room for them."""
    span = scale.high - scale.low
    power = 10.0 ** math.floor(math.log10(span / most))
    step = next(nice * power for nice in (*NICE, 20.0) if span / (nice * power) <= most - 1 + 1e-9)
    first = math.ceil(scale.low / step - 1e-9)
    last = math.floor(scale.high / step + 1e-9)
    return tuple(round(count * step, 10) for count in range(first, last + 1))


def path_points(points: Sequence[tuple[float, float]]) -> str:
    """Return points (percent, pixels) as the coordinates of a path in the stretched drawing."""
    return " ".join(f"{x * PATH_WIDTH / 100:.1f},{y:.1f}" for x, y in points)


def runs(values: Sequence[float]) -> list[range]:
    """Return the stretches of neighbors that are all finite."""
    found: list[range] = []
    start: int | None = None
    for index, value in enumerate([*values, math.nan]):
        if math.isfinite(value):
            start = index if start is None else start
        elif start is not None:
            found.append(range(start, index))
            start = None
    return found
