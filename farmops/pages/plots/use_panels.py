"""What a machine ran day by day, and when its services are likely to fall due, drawn."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from farmops.pages import words
from farmops.pages.plots.panels import Bar, Panel, Tick, day_ticks, edges, percent
from farmops.pages.plots.scales import DayScale, number_said, ticks, value_scale

HEIGHT = 110
NUMBER_ROOM = 16
"""Pixels above the highest bar for its number."""
BAR_SHARE = 0.7
LEAST_H = 0.05
ROW_PX = 42
"""Pixels of one service on the time line: a line of words and its bar."""
FOOT_PX = 24
LONGEST_WHAT = 34
"""Letters of a service that a line has room for on a phone; the table beside has them all."""


@dataclass(frozen=True)
class DayHours:
    """The hours of one day; `is_planned` where they are still to come."""

    day: dt.date
    hours: float
    is_planned: bool


@dataclass(frozen=True)
class Service:
    """A service on the time line: what, the day on which it is likely to fall due, and that in words."""

    what: str
    expected_on: dt.date
    says: str
    is_over: bool


@dataclass(frozen=True)
class ServiceRow:
    """One line of the drawing: its words, and the bar from today to its day."""

    text_y: int
    y: int
    x: str
    says: str
    is_over: bool


@dataclass(frozen=True)
class TimeLine:
    """The next services on one axis of days, with all of it in words."""

    key: str
    title: str
    desc: str
    height: int
    total: int
    ticks: tuple[Tick, ...]
    rows: tuple[ServiceRow, ...]


def hours_panel(days: Sequence[DayHours], *, key: str, name: str, today: dt.date) -> Panel:
    """Return the hours of each day as bars: reported ones full, planned ones outlined. Takes at least one day."""
    xs = DayScale(tuple(one.day for one in days))
    scale = value_scale([one.hours for one in days], height=HEIGHT - NUMBER_ROOM, step=2.0, low=0.0)
    bars = []
    for index, one in enumerate(days):
        if one.hours < LEAST_H:
            continue
        y = scale.at(one.hours) + NUMBER_ROOM
        bars.append(
            Bar(
                x=percent(xs.at(index) + xs.step * (1 - BAR_SHARE) / 2),
                width=percent(xs.step * BAR_SHARE),
                y=f"{y:.1f}",
                height=f"{HEIGHT - y:.1f}",
                middle=percent(xs.at(index, 12.0)),
                label_y=f"{y - 4:.1f}",
                says=_short(one.hours),
                kind="told" if one.is_planned else "read",
            )
        )
    index_today = next((index for index, one in enumerate(days) if one.day == today), None)
    first_ahead = next((index for index, one in enumerate(days) if one.is_planned), None)
    desc = "; ".join(_hours_said(one) for one in days if one.hours >= LEAST_H)
    return Panel(
        key=key,
        title=_("{name}: hours a day, {first} to {last}").format(
            name=name, first=words.tick_date(days[0].day), last=words.tick_date(days[-1].day)
        ),
        desc=desc or _("It did not run in these days, and nothing is planned."),
        height=HEIGHT,
        days=day_ticks(xs, today=index_today),
        values=tuple(
            Tick(at=f"{scale.at(value) + NUMBER_ROOM:.1f}", says=number_said(value))
            for value in ticks(scale, most=4)
        ),
        edges=edges(xs),
        ahead_x="" if first_ahead is None else percent(xs.at(first_ahead)),
        bars=tuple(bars),
    )


def time_line(services: Sequence[Service], *, key: str, name: str, today: dt.date) -> TimeLine | None:
    """Return the services from today on, the soonest on top; None where there is none.

    The axis is as long as the last of them needs, at least four weeks, with a mark at the first of each month.
    """
    if not services:
        return None
    longest = max((one.expected_on - today).days for one in services)
    span = max(longest, 28) * 1.02
    rows = []
    for number, one in enumerate(sorted(services, key=lambda one: (one.expected_on, one.what))):
        at = 100 * max((one.expected_on - today).days, 0) / span
        rows.append(
            ServiceRow(
                text_y=number * ROW_PX + 16,
                y=number * ROW_PX + 27,
                x=percent(max(at, 0.4)),
                says=f"{_fitting(one.what)}: {one.says}",
                is_over=one.is_over,
            )
        )
    height = len(rows) * ROW_PX
    return TimeLine(
        key=key,
        title=_("Next services of {name}").format(name=name),
        desc="; ".join(f"{one.what}: {one.says}" for one in services),
        height=height,
        total=height + FOOT_PX,
        ticks=tuple(_months(today, span)),
        rows=tuple(rows),
    )


def _fitting(what: str) -> str:
    return what if len(what) <= LONGEST_WHAT else f"{what[: LONGEST_WHAT - 1].rstrip()}…"


def _months(today: dt.date, span: float) -> list[Tick]:
    """Return today and the first of each month that has room."""
    found = [Tick(at=percent(0), says=_("today"), is_strong=True)]
    every = 1 if span <= 120 else 2 if span <= 240 else 3
    first = today.replace(day=1)
    number = 0
    while True:
        first = (first + dt.timedelta(days=32)).replace(day=1)
        at = 100 * (first - today).days / span
        if at > 94:
            return found
        if number % every == 0 and at > 14:
            found.append(Tick(at=percent(at), says=words.tick_date(first)))
        number += 1


def _hours_said(one: DayHours) -> str:
    said = f"{words.tick_date(one.day)} {one.hours:.1f} h"
    return _("{day_and_hours} planned").format(day_and_hours=said) if one.is_planned else said


def _short(hours: float) -> str:
    """Return whole hours, since columns are narrow on a phone; the table beside has the tenths."""
    return f"{hours:.0f}" if hours >= 0.5 else "<1"
