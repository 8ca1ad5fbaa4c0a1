"""What one drawing is made of, before a template prints it."""

from collections.abc import Sequence
from dataclasses import dataclass

from farmops.pages import words
from farmops.pages.plots.scales import DayScale, ValueScale, path_points, runs

TOP = 8
FOOT = 38
"""Pixels above the drawing, and below it for two lines of dates."""
TEXT_ROOM = 15
"""Pixels that a line of words takes up."""


@dataclass(frozen=True)
class Tick:
    """A mark on an axis with its words; `short` and `number` are the two lines of a narrow screen."""

    at: str
    says: str
    short: str = ""
    number: str = ""
    is_strong: bool = False


@dataclass(frozen=True)
class Level:
    """A horizontal line with its meaning beside it: a limit, a threshold, an allowance."""

    y: str
    text_y: str
    says: str
    kind: str


@dataclass(frozen=True)
class Bar:
    """A bar with its number on top; `kind` tells what it rests on."""

    x: str
    width: str
    y: str
    height: str
    middle: str
    label_y: str
    says: str
    kind: str


@dataclass(frozen=True)
class Mark:
    """A single reading, drawn as a ring."""

    x: str
    y: str
    says: str


@dataclass(frozen=True)
class Panel:
    """One drawing with its words: `title` names it, `desc` says what it shows."""

    key: str
    title: str
    desc: str
    height: int
    days: tuple[Tick, ...]
    values: tuple[Tick, ...]
    edges: tuple[str, ...]
    ahead_x: str
    bands: tuple[str, ...] = ()
    lines: tuple[str, ...] = ()
    limits: tuple[str, ...] = ()
    levels: tuple[Level, ...] = ()
    bars: tuple[Bar, ...] = ()
    marks: tuple[Mark, ...] = ()

    @property
    def total(self) -> int:
        """Return the height with both axes, in pixels."""
        return TOP + self.height + FOOT

    @property
    def first_line(self) -> int:
        """Return where the first line of dates stands."""
        return self.height + 15

    @property
    def second_line(self) -> int:
        """Return where the second line of dates stands."""
        return self.height + 29


def percent(value: float) -> str:
    """Return a place on the width for an SVG attribute."""
    return f"{value:.2f}%"


def day_ticks(scale: DayScale, *, today: int | None) -> tuple[Tick, ...]:
    """Return a label for each day, in its middle; the day with the index `today` stands out."""
    return tuple(
        Tick(
            at=percent(scale.at(index, 12)),
            says=f"{words.short_weekday(day)} {day.day}",
            short=words.short_weekday(day)[:1].upper(),
            number=str(day.day),
            is_strong=index == today,
        )
        for index, day in enumerate(scale.days)
    )


def edges(scale: DayScale) -> tuple[str, ...]:
    """Return the places of the midnights between the days."""
    return tuple(percent(scale.at(index)) for index in range(1, len(scale.days)))


def line_paths(xs: Sequence[float], values: Sequence[float], scale: ValueScale) -> tuple[str, ...]:
    """Return the polylines through all known values; where one is missing the line breaks off."""
    return tuple(
        path_points([(xs[index], scale.at(values[index])) for index in run])
        for run in runs(values)
        if len(run) > 1
    )


def band_paths(
    xs: Sequence[float], lows: Sequence[float], highs: Sequence[float], scale: ValueScale
) -> tuple[str, ...]:
    """Return the polygons between two lines, forth along the upper one and back along the lower one."""
    paths = []
    for run in runs([low + high for low, high in zip(lows, highs, strict=True)]):
        if len(run) > 1:
            upper = [(xs[index], scale.at(highs[index])) for index in run]
            lower = [(xs[index], scale.at(lows[index])) for index in reversed(run)]
            paths.append(path_points(upper + lower))
    return tuple(paths)


def level(value: float, scale: ValueScale, *, says: str, kind: str, is_text_below: bool = False) -> Level:
    """Return a limit's line with its words above it; below it where asked, or where that side has more room."""
    y = scale.at(value)
    is_below = y < TEXT_ROOM or (is_text_below and y < scale.height - TEXT_ROOM)
    text_y = y + 13 if is_below else y - 4
    return Level(f"{y:.1f}", f"{text_y:.1f}", says, kind)
