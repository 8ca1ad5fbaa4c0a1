"""The windows of one pass as one strip of time: open stretches outlined and filled to their chance, shut ones hatched."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace
from html import escape

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from farmops.pages import words
from farmops.pages.plots.panels import Tick, day_ticks, edges, percent
from farmops.pages.plots.scales import DayScale

BAR_TOP, BAR_HEIGHT = 4, 40
LETTER_PX = 6.6
"""About how wide a letter of the drawing's text is."""
NARROW_PX = 310
ROOMS = (("roomy", 770), ("wide", 1080))
"""The narrowest drawing on a phone, and on screens that show `roomy` and `wide` words."""


@dataclass(frozen=True)
class Stretch:
    """Minutes from the strip's start; `chance` is that of an open stretch, `says` and `word` the reason of a shut one."""

    from_min: int
    to_min: int
    is_open: bool
    says: str
    chance: float = 0.0
    word: str = ""

    @property
    def short(self) -> str:
        """Return what stands in the stretch where there is room: its chance, or the reason in a word or two."""
        return odds(self.chance) if self.is_open else self.word


@dataclass(frozen=True)
class Piece:
    """One stretch as it is drawn; `word` stands in it, from the width on that `room` tells."""

    x: str
    width: str
    middle: str
    fill_y: str
    fill_height: str
    is_open: bool
    word: str
    room: str
    says: str


@dataclass(frozen=True)
class TimeStrip:
    """One strip with its words."""

    key: str
    title: str
    desc: str
    pieces: tuple[Piece, ...]
    days: tuple[Tick, ...]
    edges: tuple[str, ...]
    noons: tuple[str, ...]

    @property
    def drawn(self) -> SafeString:
        """Return the pieces as rectangles: a template takes ten times as long for them."""
        return mark_safe("".join(map(_drawn, self.pieces)))

    height = BAR_TOP + BAR_HEIGHT
    total = height + 36
    first_line = height + 15
    second_line = height + 29
    bar_top = BAR_TOP
    bar_height = BAR_HEIGHT
    text_y = BAR_TOP + BAR_HEIGHT / 2 + 4
    noon_y = BAR_TOP + BAR_HEIGHT - 7


def time_strip(
    stretches: Sequence[Stretch],
    *,
    start: dt.datetime,
    days: Sequence[dt.date],
    today: int | None,
    key: str,
    title: str,
) -> TimeStrip:
    """Return the strip of a pass over `days`, which begin at `start`.

    Neighbors that are open as surely, to the tenth, or shut for one reason are one piece.
    """
    scale = DayScale(tuple(days))
    pieces = tuple(_piece(one, start, scale) for one in _joined(stretches))
    return TimeStrip(
        key=key,
        title=title,
        desc=in_words(stretches, start=start),
        pieces=pieces,
        days=day_ticks(scale, today=today),
        edges=edges(scale),
        noons=tuple(percent(scale.at(index, 12)) for index in range(len(days))),
    )


def _drawn(piece: Piece) -> str:
    across = f'x="{piece.x}" width="{piece.width}"'  # not said
    chance = (
        f'<rect class="chance" {across} y="{piece.fill_y}" height="{piece.fill_height}"/>'  # not said
        if piece.is_open
        else ""
    )
    return (
        f'{chance}<rect class="{"open" if piece.is_open else "shut"}" {across} y="{BAR_TOP}"'  # not said
        f' height="{BAR_HEIGHT}"><title>{escape(piece.says)}</title></rect>'
    )


def in_words(stretches: Sequence[Stretch], *, start: dt.datetime) -> str:
    """Return when a pass may go, day by day, as one sentence."""
    told = [
        _("{begins} to {ends}").format(begins=_moment(start, one.from_min), ends=_moment(start, one.to_min))
        + f", {odds(one.chance)}"
        for one in stretches
        if one.is_open
    ]
    return _("Open {hours}.").format(hours="; ".join(told)) if told else _("Shut in all these days.")


def odds(chance: float) -> str:
    """Return a chance in tenths, rounded down, as the windows say it."""
    tenths = int(chance * 10 + 1e-9)
    return _("{tenths} in 10").format(tenths=tenths) if tenths else _("less than 1 in 10")


def place(instant: dt.datetime, scale: DayScale) -> float:
    """Return where an instant of the farm's clock stands, in percent; a day of 23 or 25 hours is as wide as others."""
    day = instant.date()
    if day < scale.days[0]:
        return 0.0
    if day > scale.days[-1]:
        return 100.0
    zone = instant.tzinfo
    midnight = dt.datetime.combine(day, dt.time(), zone).astimezone(dt.UTC)
    after = dt.datetime.combine(day + dt.timedelta(days=1), dt.time(), zone).astimezone(dt.UTC)
    share = (instant.astimezone(dt.UTC) - midnight) / (after - midnight)
    return scale.at((day - scale.days[0]).days, 24 * share)


def _piece(one: Stretch, start: dt.datetime, scale: DayScale) -> Piece:
    left, right = (place(instant(start, minute), scale) for minute in (one.from_min, one.to_min))
    width = right - left
    fill = BAR_HEIGHT * one.chance
    return Piece(
        x=percent(left),
        width=percent(width),
        middle=percent(left + width / 2),
        fill_y=f"{BAR_TOP + BAR_HEIGHT - fill:.1f}",
        fill_height=f"{fill:.1f}",
        is_open=one.is_open,
        word=one.short,
        room=_room(one.short, width),
        says=one.says or _("open, {odds}").format(odds=one.short),
    )


def _room(word: str, width_percent: float) -> str:
    """Return the class of a word in its piece: always shown, only where there is room, or never."""
    if not word:
        return ""
    needed = len(word) * LETTER_PX + 8
    if width_percent / 100 * NARROW_PX >= needed:
        return "always"
    return next((room for room, width_px in ROOMS if width_percent / 100 * width_px >= needed), "")


def _joined(stretches: Sequence[Stretch]) -> list[Stretch]:
    """Return the stretches in order, neighbors of one short word made into one.

    The chance of joined open stretches is their mean by length.
    """
    joined: list[Stretch] = []
    for one in sorted(stretches, key=lambda stretch: stretch.from_min):
        last = joined[-1] if joined else None
        if last and last.to_min == one.from_min and last.is_open == one.is_open and last.short == one.short:
            minutes = (last.to_min - last.from_min, one.to_min - one.from_min)
            chance = (last.chance * minutes[0] + one.chance * minutes[1]) / sum(minutes)
            joined[-1] = replace(last, to_min=one.to_min, chance=chance)
        else:
            joined.append(one)
    return joined


def instant(start: dt.datetime, minutes: int) -> dt.datetime:
    """Return the instant some elapsed minutes after a start, on the start's own clock."""
    return (start.astimezone(dt.UTC) + dt.timedelta(minutes=minutes)).astimezone(start.tzinfo)


def _moment(start: dt.datetime, minutes: int) -> str:
    at = instant(start, minutes)
    return f"{words.short_date(at.date())} {words.clock(at)}"
