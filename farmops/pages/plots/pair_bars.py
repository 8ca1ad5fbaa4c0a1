"""What was spent beside what was meant to be, a row a category, all from zero on one scale."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from farmops.pages.plots.panels import percent
from farmops.pages.plots.scales import ValueScale, ticks

ROW, BAR_TOP, BAR_HEIGHT = 44, 19, 14
FOOT = 22
MOST_TICKS = 5
HAIR = 0.3
"""Percent of the width below which a bar would not be seen."""


@dataclass(frozen=True)
class Pair:
    """What one row compares, in the unit of the scale; `meant` is None where nobody said, `says` is the row in words."""

    spent: float
    meant: float | None
    says: str


@dataclass(frozen=True)
class PairBar:
    """One row: a filled bar for what was spent, an open one for what was meant, and a stroke at that one's end."""

    says: str
    text_y: str
    bar_y: str
    spent_x: str
    spent_width: str
    meant_x: str
    meant_width: str
    meant_at: str
    stroke_top: str
    stroke_foot: str


@dataclass(frozen=True)
class PairPanel:
    """One drawing of rows: `zero_x` is where all bars begin, `ticks` are places with their numbers."""

    height: int
    total: int
    label_y: int
    zero_x: str
    ticks: tuple[tuple[str, str], ...]
    rows: tuple[PairBar, ...]


@dataclass(frozen=True)
class PairScale:
    """From the lowest credit, or zero, to the highest number of all panels that share the scale."""

    low: float
    high: float

    def at(self, value: float) -> float:
        """Return the place of a value in percent of the width."""
        return 100 * (value - self.low) / (self.high - self.low)


def pair_scale(pairs: Iterable[Pair]) -> PairScale:
    """Return the scale that holds zero and every number; from 0 to 1 where nothing was spent or meant."""
    values = [0.0]
    for one in pairs:
        values += [one.spent] if one.meant is None else [one.spent, one.meant]
    low, high = min(values), max(values)
    return PairScale(low, high if high > low else low + 1.0)


def pair_panel(pairs: Sequence[Pair], *, scale: PairScale) -> PairPanel:
    """Return a drawing of the rows in their order, on a scale that several drawings may share."""
    height = ROW * len(pairs)
    marks = ticks(ValueScale(scale.low, scale.high, height), most=MOST_TICKS)
    return PairPanel(
        height=height,
        total=height + FOOT,
        label_y=height + FOOT - 5,
        zero_x=percent(scale.at(0.0)),
        ticks=tuple((percent(scale.at(value)), f"{value:,g}") for value in marks),
        rows=tuple(_row(one, ROW * index, scale) for index, one in enumerate(pairs)),
    )


def _row(one: Pair, top: int, scale: PairScale) -> PairBar:
    spent_x, spent_width = _stretch(one.spent, scale)
    meant_x, meant_width = _stretch(math.nan if one.meant is None else one.meant, scale)
    return PairBar(
        says=one.says,
        text_y=str(top + BAR_TOP - 5),
        bar_y=str(top + BAR_TOP),
        spent_x=spent_x,
        spent_width=spent_width,
        meant_x=meant_x,
        meant_width=meant_width,
        meant_at="" if one.meant is None else percent(scale.at(one.meant)),
        stroke_top=str(top + BAR_TOP - 3),
        stroke_foot=str(top + BAR_TOP + BAR_HEIGHT + 3),
    )


def _stretch(value: float, scale: PairScale) -> tuple[str, str]:
    """Return where a bar from zero begins and how wide it is; empty for nothing."""
    if not math.isfinite(value) or value == 0.0:
        return "", ""
    start, end = sorted((scale.at(0.0), scale.at(value)))
    return percent(start), percent(max(end - start, HAIR))
