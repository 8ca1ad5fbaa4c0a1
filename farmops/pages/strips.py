"""Time drawn as a strip: open stretches outlined and filled to their chance, shut ones hatched, work on top.

Everything is numbers for an SVG of fixed coordinates, since the pages allow no inline style.
"""

import datetime as dt
from dataclasses import dataclass, field
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.html import conditional_escape
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from farmops.pages import words

FIRST_HOUR, LAST_HOUR = 4, 22
WIDTH, HEIGHT = 198, 34
TOUCH = 0.25
"""Stretches that touch can miss each other by a rounding."""
MINUTES = (LAST_HOUR - FIRST_HOUR) * 60
SHAPES = {"shut": ("14", "18"), "work": ("1", "10")}
"""From where down and how tall each kind is drawn."""


@dataclass(frozen=True)
class Piece:
    """One rectangle: where it stands, what it means and, for an open stretch, how high its chance fills it."""

    kind: str
    x: float
    width: float
    says: str
    fill_y: float = 0
    fill_height: float = 0


@dataclass
class DayStrip:
    """The strip of one day."""

    day: dt.date
    pieces: list[Piece] = field(default_factory=list)

    @property
    def told(self) -> list[str]:
        """Return what the pieces say, each that is the same as the one before it once."""
        said = [piece.says for piece in self.pieces if piece.says]
        return [says for number, says in enumerate(said) if not number or said[number - 1] != says]

    @property
    def ticks(self) -> list[tuple[float, str]]:
        """Return the hour marks with their words."""
        marks = ((6, "6 am"), (9, ""), (12, "noon"), (15, ""), (18, "6 pm"))
        return [((hour - FIRST_HOUR) * 60 * WIDTH / MINUTES, word) for hour, word in marks]


def drawn(strip: DayStrip) -> SafeString:
    """Return the drawing of a day's strip; a week has hundreds, and a template draws each in milliseconds."""
    told = "; ".join(conditional_escape(says) for says in strip.told)
    opened = [one for one in strip.pieces if one.kind == "open"]
    ticks = (_line(x) for x, _word in strip.ticks)
    hours = "".join(f"<span>{conditional_escape(word)}</span>" for word in (_("6 am"), _("noon"), _("6 pm")))
    lines = (
        f'<svg class="strip" viewBox="0 0 198 34" role="img" aria-label="{told}">',  # not said
        "".join(_shape(piece) for piece in strip.pieces),
        "".join(f"{_begun(one, '14', '18')}/>" for one in opened),
        "".join(ticks),
        "</svg>",
        f'<span class="scale" aria-hidden="true">{hours}</span>\n',  # not said
    )
    return mark_safe("\n".join(lines))


def _shape(piece: Piece) -> str:
    """Return a piece with what it says; what is open without a break says nothing and is drawn last."""
    if piece.kind == "chance":
        begun = _begun(piece, f"{piece.fill_y:.1f}", f"{piece.fill_height:.1f}")
    elif piece.kind in SHAPES:
        begun = _begun(piece, *SHAPES[piece.kind])
    else:
        return ""
    return f"{begun}><title>{conditional_escape(piece.says)}</title></rect>"


def _begun(piece: Piece, y: str, height: str) -> str:
    x, width = f"{piece.x:.1f}", f"{piece.width:.1f}"
    return f'<rect class="{piece.kind}" x="{x}" y="{y}" width="{width}" height="{height}"'  # not said


def _line(x: float) -> str:
    return f'<line class="tick" x1="{x:.1f}" x2="{x:.1f}" y1="11" y2="34"/>'  # not said


def place(day: dt.date, zone: str, start: dt.datetime, end: dt.datetime) -> tuple[float, float] | None:
    """Return x and width of a stretch of instants on a day's strip, or None when it does not touch it."""
    clock = ZoneInfo(zone)
    first = dt.datetime.combine(day, dt.time(FIRST_HOUR), clock)
    last = dt.datetime.combine(day, dt.time(LAST_HOUR), clock)
    left, right = max(start, first), min(end, last)
    if left >= right:
        return None
    x = (left - first).total_seconds() / 60 * WIDTH / MINUTES
    width = (right - left).total_seconds() / 60 * WIDTH / MINUTES
    return round(x, 1), round(width, 1)


def shut_says(stretch: dict[str, Any]) -> str:
    """Return why a stored stretch is shut, in the language that is on where it was stored in that too."""
    spanish = stretch.get("says_es", "") if words.speaking() == "es" else ""
    return str(spanish or stretch["says"])


def of_windows(
    windows: dict[str, Any], *, start: dt.datetime, zone: str, days: list[dt.date]
) -> dict[dt.date, DayStrip]:
    """Return the strips of one pass from its open and shut stretches in minutes from `start`."""
    strips = {day: DayStrip(day) for day in days}
    utc_start = start.astimezone(dt.UTC)
    for kind in ("open", "shut"):
        for stretch in windows.get(kind, []):
            begins = utc_start + dt.timedelta(minutes=stretch["from"])
            ends = utc_start + dt.timedelta(minutes=stretch["to"])
            for day in days:
                where = place(day, zone, begins, ends)
                if where is None:
                    continue
                if kind == "open":
                    share = float(stretch["chance"])
                    inside = HEIGHT - 16
                    piece = Piece(
                        "chance",
                        *where,
                        _("open, {share} in 100").format(share=round(share * 100)),
                        round(14 + inside * (1 - share), 1),
                        round(inside * share, 1),
                    )
                    _outline(strips[day], *where)
                else:
                    piece = Piece("shut", *where, _("shut: {why}").format(why=shut_says(stretch)))
                strips[day].pieces.append(piece)
    return strips


def _outline(strip: DayStrip, x: float, width: float) -> None:
    """Draw one outline round all that is open without a break, whatever its chances."""
    for number, before in enumerate(strip.pieces):
        if before.kind == "open" and abs(before.x + before.width - x) < TOUCH:
            strip.pieces[number] = Piece("open", before.x, round(x + width - before.x, 1), "")
            return
    strip.pieces.append(Piece("open", x, width, ""))


def with_work(strip: DayStrip, zone: str, start: dt.datetime, end: dt.datetime, says: str) -> None:
    """Lay a stretch of work over a day's strip."""
    where = place(strip.day, zone, start, end)
    if where is not None:
        strip.pieces.append(Piece("work", *where, says))
