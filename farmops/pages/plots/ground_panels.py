"""The ground of one zone over some days, drawn: rain, topsoil between its limits, the root zone, the soil's warmth."""

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from farmops.pages import words
from farmops.pages.plots.panels import (
    Bar,
    Mark,
    Panel,
    Tick,
    band_paths,
    day_ticks,
    edges,
    level,
    line_paths,
    percent,
)
from farmops.pages.plots.scales import DayScale, ValueScale, ticks, value_scale

MORNING_H, EVENING_H, NOON_H = 8.0, 24.0, 12.0
RAIN_HEIGHT, WATER_HEIGHT, ROOT_HEIGHT, WARMTH_HEIGHT = 76, 150, 110, 130
TRACE_IN = 0.005
NUMBER_ROOM = 16
"""Pixels above the highest bar for its number."""
BAR_SHARE = 0.62
SOURCE_WORDS = {
    "gauge": gettext_noop("the field's gauge"),
    "station": gettext_noop("station"),
    "filled": gettext_noop("filled in"),
    "forecast": gettext_noop("forecast"),
    "usual": gettext_noop("the usual"),
}


@dataclass(frozen=True)
class DayNumbers:
    """One day of a zone in the units of the page; nan where nothing is known.

    Topsoil is m3 of water per m3, `low` and `high` hold eight of ten members at 8 am; the root zone is told in inches
    short of full.
    """

    day: dt.date
    rain_in: float
    rain_chance: float
    rain_from: str
    watered_in: float
    topsoil_8am: float
    topsoil_end: float
    topsoil_low: float
    topsoil_high: float
    workable_below: float
    dry_below: float
    root_short_in: float
    root_allowed_in: float
    root_total_in: float
    soil_f: float
    soil_low_f: float
    soil_high_f: float
    soil_8am_f: float


@dataclass(frozen=True)
class Reading:
    """A thermometer's reading: the day's index, the hour, and what it showed."""

    index: int
    hour: float
    temp_f: float


@dataclass(frozen=True)
class Span:
    """The days drawn; the index of today, and of the first day that no weather was read of (None: none)."""

    days: tuple[dt.date, ...]
    today: int | None
    first_ahead: int | None

    @property
    def scale(self) -> DayScale:
        """Return where the days stand."""
        return DayScale(self.days)

    @property
    def ahead_x(self) -> str:
        """Return where the days ahead begin, or nothing."""
        return "" if self.first_ahead is None else percent(self.scale.at(self.first_ahead))

    @property
    def says(self) -> str:
        """Return the first and the last day in words."""
        return _("{first} to {last}").format(first=_day(self.days[0]), last=_day(self.days[-1]))


def rain_panel(days: Sequence[DayNumbers], span: Span, *, key: str) -> Panel:
    """Return the rain of each day as bars: read ones full, told ones outlined."""
    scale = value_scale([one.rain_in for one in days], height=RAIN_HEIGHT - NUMBER_ROOM, step=0.5, low=0.0)
    xs = span.scale
    bars = []
    for index, one in enumerate(days):
        if not one.rain_in >= TRACE_IN:
            continue
        y = scale.at(one.rain_in) + NUMBER_ROOM
        kind = "read" if one.rain_from in ("gauge", "station", "filled") else "told"
        bars.append(
            Bar(
                x=percent(xs.at(index) + xs.step * (1 - BAR_SHARE) / 2),
                width=percent(xs.step * BAR_SHARE),
                y=f"{y:.1f}",
                height=f"{RAIN_HEIGHT - y:.1f}",
                middle=percent(xs.at(index, NOON_H)),
                label_y=f"{y - 4:.1f}",
                says=f"{one.rain_in:.1f}".removeprefix("0") if one.rain_in >= 0.05 else _("tr"),
                kind=f"gauge {kind}"  # not said
                if one.rain_from == "gauge"
                else kind,
            )
        )
    wet = [one for one in days if one.rain_in >= TRACE_IN]
    desc = "; ".join(
        _("{day} {rain} in ({source})").format(
            day=_day(one.day),
            rain=f"{one.rain_in:.2f}",
            source=words.named(SOURCE_WORDS.get(one.rain_from, one.rain_from)),
        )
        for one in wet
    )
    return Panel(
        key=key,
        title=_("Rain, {days}, inches a day").format(days=span.says),
        desc=desc or _("No rain in these days."),
        height=RAIN_HEIGHT,
        days=day_ticks(xs, today=span.today),
        values=(),
        edges=edges(xs),
        ahead_x=span.ahead_x,
        bars=tuple(bars),
    )


def topsoil_panel(days: Sequence[DayNumbers], span: Span, *, key: str, zone: str) -> Panel:
    """Return the topsoil's water through the days with its band, between the wet and the dry limit."""
    wet, dry = days[0].workable_below, days[0].dry_below
    shown = [value for one in days for value in (one.topsoil_8am, one.topsoil_end, one.topsoil_low)]
    shown += [one.topsoil_high for one in days]
    scale = value_scale([*shown, wet, dry], height=WATER_HEIGHT, step=0.02)
    xs, values = _through_the_day(days, span)
    mornings = [span.scale.at(index, MORNING_H) for index in range(len(days))]
    levels = []
    if math.isfinite(wet):
        levels.append(level(wet, scale, says=_("fit below {limit}").format(limit=f"{wet:.2f}"), kind="wet"))
    if math.isfinite(dry):
        says = _("dry below {limit}").format(limit=f"{dry:.2f}")
        levels.append(level(dry, scale, says=says, kind="dry", is_text_below=True))
    return Panel(
        key=key,
        title=_("Water in the topsoil of {zone}, {days}").format(zone=zone, days=span.says),
        desc=_topsoil_in_words(days, span),
        height=WATER_HEIGHT,
        days=day_ticks(span.scale, today=span.today),
        values=_value_ticks(scale, "{:.2f}"),
        edges=edges(span.scale),
        ahead_x=span.ahead_x,
        bands=band_paths(
            mornings, [one.topsoil_low for one in days], [one.topsoil_high for one in days], scale
        ),
        lines=line_paths(xs, values, scale),
        levels=tuple(levels),
    )


def root_panel(days: Sequence[DayNumbers], span: Span, *, key: str, zone: str) -> Panel | None:
    """Return how far the root zone is from full against what it may lose, or None where no crop stands."""
    if not any(math.isfinite(one.root_allowed_in) for one in days):
        return None
    short = [one.root_short_in if math.isfinite(one.root_allowed_in) else math.nan for one in days]
    allowed = [one.root_allowed_in for one in days]
    scale = value_scale([*short, *allowed], height=ROOT_HEIGHT, step=0.25, low=0.0, is_hanging=True)
    xs = [span.scale.at(index, EVENING_H) for index in range(len(days))]
    last = max(index for index, value in enumerate(allowed) if math.isfinite(value))
    return Panel(
        key=key,
        title=_("Root zone of {zone}, inches short of full, {days}").format(zone=zone, days=span.says),
        desc=_root_in_words(days, last),
        height=ROOT_HEIGHT,
        days=day_ticks(span.scale, today=span.today),
        values=_value_ticks(scale, "{:.2f}"),
        edges=edges(span.scale),
        ahead_x=span.ahead_x,
        lines=line_paths(xs, short, scale),
        limits=line_paths(xs, allowed, scale),
        levels=(
            level(
                allowed[last],
                scale,
                says=_("allowed {amount} in").format(amount=f"{allowed[last]:.2f}"),
                kind="unseen-line",
            ),
        ),
    )


def _root_in_words(days: Sequence[DayNumbers], last: int) -> str:
    first = next((one for one in days if one.root_short_in > one.root_allowed_in), None)
    if first is None:
        says = _("{short} in short of full on {day}, {allowed} in allowed; never more than allowed.")
    else:
        says = _(
            "{short} in short of full on {day}, {allowed} in allowed; more than allowed first on {first_day}."
        )
    at = days[last]
    return says.format(
        short=f"{at.root_short_in:.2f}",
        day=_day(at.day),
        allowed=f"{at.root_allowed_in:.2f}",
        first_day="" if first is None else _day(first.day),
    )


def warmth_panel(
    days: Sequence[DayNumbers],
    span: Span,
    *,
    key: str,
    zone: str,
    depth_in: float,
    threshold_f: float | None,
    wants: str,
    readings: Sequence[Reading] = (),
) -> Panel:
    """Return the soil's daily mean at a depth with its band, against what the crop wants."""
    shown = [value for one in days for value in (one.soil_f, one.soil_low_f, one.soil_high_f)]
    shown += [one.temp_f for one in readings]
    bound = [threshold_f] if threshold_f is not None else []
    scale = value_scale([*shown, *bound], height=WARMTH_HEIGHT, step=5.0)
    xs = [span.scale.at(index, NOON_H) for index in range(len(days))]
    means = [one.soil_f for one in days]
    levels = [level(bound_f, scale, says=f"{wants} {bound_f:.0f} °F", kind="warm") for bound_f in bound]
    known = [one for one in days if math.isfinite(one.soil_f)]
    told = _("Not known.") if not known else _warmth_in_words(known, span, depth_in, threshold_f, wants)
    return Panel(
        key=key,
        title=_("Soil of {zone} at {depth} in, mean of the day, °F, {days}").format(
            zone=zone, depth=f"{depth_in:g}", days=span.says
        ),
        desc=told,
        height=WARMTH_HEIGHT,
        days=day_ticks(span.scale, today=span.today),
        values=_value_ticks(scale, "{:.0f}"),
        edges=edges(span.scale),
        ahead_x=span.ahead_x,
        bands=band_paths(xs, [one.soil_low_f for one in days], [one.soil_high_f for one in days], scale),
        lines=line_paths(xs, means, scale),
        levels=tuple(levels),
        marks=tuple(
            Mark(
                percent(span.scale.at(one.index, one.hour)),
                f"{scale.at(one.temp_f):.1f}",
                _("thermometer: {temp} °F").format(temp=f"{one.temp_f:.0f}"),
            )
            for one in readings
        ),
    )


def _through_the_day(days: Sequence[DayNumbers], span: Span) -> tuple[list[float], list[float]]:
    xs: list[float] = []
    values: list[float] = []
    for index, one in enumerate(days):
        xs += [span.scale.at(index, MORNING_H), span.scale.at(index, EVENING_H)]
        values += [one.topsoil_8am, one.topsoil_end]
    return xs, values


def _value_ticks(scale: ValueScale, form: str) -> tuple[Tick, ...]:
    return tuple(Tick(at=f"{scale.at(value):.1f}", says=form.format(value)) for value in ticks(scale))


def _topsoil_in_words(days: Sequence[DayNumbers], span: Span) -> str:
    known = [one for one in days if math.isfinite(one.topsoil_8am)]
    if not known:
        return _("Not known.")
    at = days[span.today] if span.today is not None else known[-1]
    wettest = max(known, key=lambda one: one.topsoil_end)
    told = [
        _("{water} at 8 am on {day}").format(water=f"{at.topsoil_8am:.2f}", day=_day(at.day)),
        _("wettest {water} at the end of {day}").format(
            water=f"{wettest.topsoil_end:.2f}", day=_day(wettest.day)
        ),
    ]
    if math.isfinite(at.workable_below):
        told.append(_("fit for tillage below {limit}").format(limit=f"{at.workable_below:.2f}"))
    if math.isfinite(at.dry_below):
        told.append(_("too dry below {limit}").format(limit=f"{at.dry_below:.2f}"))
    return "; ".join(told) + "."


def _warmth_in_words(
    known: Sequence[DayNumbers], span: Span, depth_in: float, threshold_f: float | None, wants: str
) -> str:
    at = known[min(span.today or 0, len(known) - 1)]
    told = _("{temp} °F on {day} at {depth} in, from {low} to {high}").format(
        temp=f"{at.soil_f:.0f}",
        day=_day(at.day),
        depth=f"{depth_in:g}",
        low=f"{at.soil_low_f:.0f}",
        high=f"{at.soil_high_f:.0f}",
    )
    if threshold_f is None:
        return f"{told}."
    warm = next((one for one in known if one.day >= at.day and one.soil_f >= threshold_f), None)
    if warm is None:
        says = _("{told}; {wants} {temp} °F: reached not in these days.")
    else:
        says = _("{told}; {wants} {temp} °F: reached first on {day}.")
    day = "" if warm is None else _day(warm.day)
    return says.format(told=told, wants=wants, temp=f"{threshold_f:.0f}", day=day)


def _day(day: dt.date) -> str:
    return words.short_date(day)
