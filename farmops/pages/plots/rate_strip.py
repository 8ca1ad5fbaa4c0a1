"""Punctures per 1,000 acres as a bar from low to high with the middle on it, all fields on one scale."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

STEPS = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0)
MOST_TICKS = 5


@dataclass(frozen=True)
class RateStrip:
    """One field's bar, x in percent of the width; `raw` is empty where the counted rate is not known or off the scale."""

    low: str
    width: str
    mean: str
    raw: str
    says: str


@dataclass(frozen=True)
class RateScale:
    """The scale that all strips share: its end, and ticks as (percent, number)."""

    high: float
    ticks: tuple[tuple[str, str], ...]

    def strip(self, *, low: float, mean: float, high: float, raw: float | None, says: str) -> RateStrip:
        """Return the bar of a field."""
        start, end = self._at(low), self._at(high)
        shows_raw = raw is not None and raw <= self.high
        return RateStrip(
            low=f"{start:.2f}%",
            width=f"{max(end - start, 0.5):.2f}%",
            mean=f"{self._at(mean):.2f}%",
            raw=f"{self._at(raw):.2f}%" if shows_raw and raw is not None else "",
            says=says,
        )

    def _at(self, value: float) -> float:
        return 100 * min(value / self.high, 1.0)


def rate_scale(highs: Sequence[float]) -> RateScale:
    """Return a scale from 0 that holds all upper ends, in whole steps; at least one end, each above 0."""
    top = max(highs)
    step = next(one for one in (*STEPS, math.inf) if top / one <= MOST_TICKS)
    count = max(1, math.ceil(top / step - 1e-9))
    high = step * count
    ticks = tuple((f"{100 * at / count:.2f}%", f"{at * step:g}") for at in range(count + 1))
    return RateScale(high, ticks)
