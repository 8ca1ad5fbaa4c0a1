"""Plain drawings of numbers a day, each with its table beside it: bars, or the band from the lowest to the highest."""

import datetime as dt
import math
from collections.abc import Sequence

from farmops.pages import words
from farmops.pages.plots.panels import Bar, Panel, Tick, band_paths, edges, line_paths, percent
from farmops.pages.plots.scales import DayScale, ValueScale, number_said, ticks, value_scale

HEIGHT, NUMBER_ROOM = 96, 16
BAR_SHARE = 0.7
MOST_LABELS = 14
"""Days beyond which only the Mondays are named."""
NOON_H = 12.0


def bars_panel(
    days: Sequence[dt.date],
    values: Sequence[float],
    *,
    key: str,
    title: str,
    desc: str,
    step: float,
    told: Sequence[bool],
) -> Panel:
    """Return a bar for each day with something; outlined where `told` says that it was not read itself. nan: nothing known."""
    xs = DayScale(tuple(days))
    scale = value_scale([0.0, *values], height=HEIGHT - NUMBER_ROOM, step=step, low=0.0)
    is_roomy = len(days) <= MOST_LABELS
    bars = []
    for index, value in enumerate(values):
        if not value > 0:
            continue
        y = scale.at(value) + NUMBER_ROOM
        bars.append(
            Bar(
                x=percent(xs.at(index) + xs.step * (1 - BAR_SHARE) / 2),
                width=percent(xs.step * BAR_SHARE),
                y=f"{y:.1f}",
                height=f"{HEIGHT - y:.1f}",
                middle=percent(xs.at(index, NOON_H)),
                label_y=f"{y - 4:.1f}",
                says="",
                kind="told" if told[index] else "read",
            )
        )
    values_said = tuple(
        Tick(at=f"{scale.at(value) + NUMBER_ROOM:.1f}", says=number_said(value))
        for value in ticks(scale, most=4)
    )
    return Panel(
        key=key,
        title=title,
        desc=desc,
        height=HEIGHT,
        days=_day_ticks(xs),
        values=values_said,
        edges=edges(xs) if is_roomy else (),
        ahead_x="",
        bars=tuple(bars),
    )


def range_panel(
    days: Sequence[dt.date],
    lows: Sequence[float],
    highs: Sequence[float],
    *,
    key: str,
    title: str,
    desc: str,
    step: float,
) -> Panel | None:
    """Return the band between each day's lowest and highest; None where no day has both."""
    if not any(math.isfinite(low + high) for low, high in zip(lows, highs, strict=True)):
        return None
    xs = DayScale(tuple(days))
    scale: ValueScale = value_scale([*lows, *highs], height=HEIGHT, step=step)
    at = [xs.at(index, NOON_H) for index in range(len(days))]
    return Panel(
        key=key,
        title=title,
        desc=desc,
        height=HEIGHT,
        days=_day_ticks(xs),
        values=tuple(Tick(at=f"{scale.at(value):.1f}", says=f"{value:.0f}") for value in ticks(scale)),
        edges=(),
        ahead_x="",
        bands=band_paths(at, lows, highs, scale),
        lines=line_paths(at, lows, scale) + line_paths(at, highs, scale),
    )


def _day_ticks(xs: DayScale) -> tuple[Tick, ...]:
    is_roomy = len(xs.days) <= MOST_LABELS
    return tuple(
        Tick(
            at=percent(xs.at(index, NOON_H)),
            says=words.tick_date(day) if not is_roomy else f"{words.short_weekday(day)} {day.day}",
            short=words.short_month(day) if not is_roomy else words.short_weekday(day)[:1].upper(),
            number=str(day.day),
        )
        for index, day in enumerate(xs.days)
        if is_roomy or day.weekday() == 0
    )
