"""What the page of hours shows: each hand's days of a week, offered and worked, and why fewer."""

import csv
import datetime as dt
import io
import uuid
from collections.abc import Iterable, Iterator, Mapping, Sequence
from html import escape
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.farms.models import Farm, Hand
from farmops.pages import words
from farmops.pages.fleet_page import Refused
from ledger.exports.cells import text_cell
from scheduling.selectors.hours import HandDay, HandHours, Offer, hours_of_days

DAYS = 7
COLUMNS = (
    "hand",
    "name",
    "day",
    "starts",
    "ends",
    "break_h",
    "offered_h",
    "offered_by",
    "worked_h",
    "on_work_h",
    "fewer_h",
    "why_fewer",
    "reported",
    "reports_waiting",
)


NONE_REFUSED = Refused()


class Labels(NamedTuple):
    """Words that stand at each hand and in the row of each day, and where its form goes; `days` are the week's.

    All are escaped but those from `fewer` on, which are escaped with what is put into them.
    """

    offered: str
    worked: str
    by_shift: str
    why: str
    keep: str
    address: str
    week: str
    hours_of: str
    nothing: str
    head: str
    days: Mapping[dt.date, str]
    fewer: str
    why_fewer: str
    keep_why: str
    of_work: str
    adds_up: str


def week_of(day: dt.date) -> dt.date:
    """Return the Monday of a day's week."""
    return day - dt.timedelta(days=day.weekday())


def reason_key(hand_id: int, day: dt.date) -> str:
    """Return the key of the form that asks why a hand's day had fewer hours."""
    return f"{hand_id}-{day}"


def hours_facts(
    *, farm: Farm, first_on: dt.date, today: dt.date, refused: Refused | None = None
) -> dict[str, Any]:
    """Return the week that begins on a Monday: every hand's days, their sums and what somebody should look at.

    `refused` is a reason that was refused; its form stands at its day, whatever else is said of that day.
    """
    refused = refused or NONE_REFUSED
    last_on = first_on + dt.timedelta(days=DAYS - 1)
    hands = hours_of_days(farm=farm, first_on=first_on, last_on=last_on, today=today)
    zone = ZoneInfo(farm.zone)
    of_week = [first_on + dt.timedelta(days=at) for at in range(DAYS)]
    labels = Labels(
        offered=escape(_("offered")),
        worked=escape(_("worked")),
        by_shift=escape(_("by the shift")),
        why=escape(_("Why")),
        keep=escape(_("Keep")),
        address=escape(reverse("pages:say_why_fewer", args=[farm.code])),
        week=escape(_("Week")),
        hours_of=_("Hours of %(name)s"),
        nothing=_("No hours offered, and none worked."),
        head=render_to_string("pages/hours_head.html"),
        fewer=_("%(hours)s fewer, and nobody says why"),
        why_fewer=_("Why fewer: %(name)s, %(day)s"),
        keep_why=_("Keep why: %(name)s, %(day)s"),
        of_work=_("from the work reported; no report of the day"),
        adds_up=_("the work reported adds up to {hours}"),
        days={day: escape(words.short_date(day)) for day in of_week},
    )
    return {
        "headline": _headline(hands, first_on, today),
        "first_on": first_on,
        "week": _("{first} to {last}, {year}").format(
            first=words.long_date(first_on), last=words.long_date(last_on), year=last_on.year
        ),
        "before": first_on - dt.timedelta(days=DAYS),
        "after": first_on + dt.timedelta(days=DAYS) if last_on < today else None,
        "parts": _between_secrets(piece for one in hands for piece in _hand(one, zone, refused, labels)),
        "shows_refused": any(_is_of(refused, one.hand, day) for one in hands for day in one.days),
        "waiting": sum(one.waiting for one in hands),
    }


def hours_csv(*, farm: Farm, first_on: dt.date, last_on: dt.date, today: dt.date) -> str:
    """Return one line for each hand and day that has anything to say; hours are decimal, to the hundredth."""
    zone = ZoneInfo(farm.zone)
    text = io.StringIO()
    write = csv.writer(text)
    write.writerow(COLUMNS)
    for one in hours_of_days(farm=farm, first_on=first_on, last_on=last_on, today=today):
        for day in one.days:
            if not day.is_empty:
                write.writerow(_cells(one, day, zone))
    return text.getvalue()


def _cells(one: HandHours, day: HandDay, zone: ZoneInfo) -> Iterable[str]:
    stated = {Offer.STATED: "stated", Offer.SHIFT: "shift", Offer.NONE: ""}[day.offer]
    return (
        one.hand.code,
        text_cell(one.hand.name),
        day.day.isoformat(),
        f"{day.starts_at.astimezone(zone):%H:%M}" if day.starts_at is not None else "",
        f"{day.ends_at.astimezone(zone):%H:%M}" if day.ends_at is not None else "",
        _decimal(day.break_min),
        _decimal(day.offered_min),
        stated,
        _decimal(day.worked_min),
        _decimal(day.on_work_min),
        _decimal(day.fewer_min),
        text_cell(day.why_fewer),
        "yes" if day.is_reported else "no",
        str(day.waiting),
    )


def _headline(hands: Sequence[HandHours], first_on: dt.date, today: dt.date) -> str:
    worked_min, offered_min = (sum(one.worked_min for one in hands), sum(one.offered_min for one in hands))
    unoffered_min = sum(day.worked_min for one in hands for day in one.days if not day.offered_min)
    if not worked_min:
        return _("Nobody has reported hours of this week yet.")
    says = _worked_said(
        _hours(worked_min - unoffered_min),
        _hours(offered_min),
        _hours(unoffered_min) if unoffered_min else "",
        is_going_on=first_on + dt.timedelta(days=DAYS) > today,
    )
    lacking = sum(day.lacks_reason for one in hands for day in one.days)
    if not lacking:
        return f"{says}."
    without = ngettext(
        "{count} day with fewer has no reason", "{count} days with fewer have no reason", lacking
    ).format(count=words.count_word(lacking))
    return f"{says}; {without}."


def _worked_said(worked: str, offered: str, unoffered: str, *, is_going_on: bool) -> str:
    """Return how much of what was offered was worked, and what was worked beside it."""
    if is_going_on and unoffered:
        said = _("{worked} of {offered} offered were worked so far, and {unoffered} that nobody offered")
    elif is_going_on:
        said = _("{worked} of {offered} offered were worked so far")
    elif unoffered:
        said = _("{worked} of {offered} offered were worked, and {unoffered} that nobody offered")
    else:
        said = _("{worked} of {offered} offered were worked")
    return said.format(worked=worked, offered=offered, unoffered=unoffered)


def _is_of(refused: Refused, hand: Hand, day: HandDay) -> bool:
    return bool(refused.key) and reason_key(hand.pk, day.day) == refused.key


def _between_secrets(pieces: Iterable[str | None]) -> list[SafeString]:
    """Return the pieces in parts: between any two of them goes the secret of a form, where a piece is None."""
    parts: list[list[str]] = [[]]
    for piece in pieces:
        if piece is None:
            parts.append([])
        else:
            parts[-1].append(piece)
    return [mark_safe("".join(part)) for part in parts]  # each piece of them is escaped


def _hand(one: HandHours, zone: ZoneInfo, refused: Refused, labels: Labels) -> Iterator[str | None]:
    """Draw a hand's days and their sums.

    They are written without a template, since a farm of a hundred hands has seven hundred days of them.
    """
    name = escape(one.hand.name)
    yield f"<section><h2>{name}</h2>\n"
    shown = [day for day in one.days if not day.is_empty or _is_of(refused, one.hand, day)]
    if not shown:
        yield f"<p>{labels.nothing}</p></section>"
        return
    caption = labels.hours_of % {"name": name}
    yield f'<table class="stacks labeled"><caption class="unseen">{caption}</caption>{labels.head}<tbody>\n'  # not said
    for day in shown:
        yield from _row(one.hand, day, zone, refused, labels)
    yield (
        f'\n</tbody><tfoot><tr><th scope="row">{labels.week}</th><td></td>'  # not said
        f"{_cell(_hours(one.offered_min), labels.offered)}{_cell(_hours(one.worked_min), labels.worked)}"
        "<td></td></tr></tfoot></table>\n</section>"
    )


def _row(hand: Hand, day: HandDay, zone: ZoneInfo, refused: Refused, labels: Labels) -> Iterator[str | None]:
    of_day = refused if _is_of(refused, hand, day) else NONE_REFUSED
    yield _row_begins(day, zone, labels)
    if of_day.wrong.get("why") or day.lacks_reason:
        yield _form_begins(day, labels)
        yield None
        yield _form_goes_on(hand, day, of_day, labels)
    yield _row_ends(day, labels)


def _row_begins(day: HandDay, zone: ZoneInfo, labels: Labels) -> str:
    offered = _hours(day.offered_min) if day.offered_min else ""
    worked = _hours(day.worked_min) if day.worked_min or day.is_reported else ""
    by_shift = f"<small>{labels.by_shift}</small>" if day.offer == Offer.SHIFT else ""
    return (
        f'<tr><th scope="row">{labels.days[day.day]}</th><td>{escape(_span(day, zone))}</td>'  # not said
        f"{_cell(offered, labels.offered, by_shift)}{_cell(worked, labels.worked)}<td>{escape(day.why_fewer)}"
    )


def _cell(figure: str, label: str, more: str = "") -> str:
    told = f' class="n fig" data-label="{label}"' if figure else ""  # not said
    return f"<td{told}>{figure}{more}</td>"


def _form_begins(day: HandDay, labels: Labels) -> str:
    """Return that a reason is missing, where it is, and the form that asks for it up to its secret."""
    told = ""
    if day.lacks_reason:
        says = labels.fewer % {"hours": _hours(day.fewer_min)}
        told = f'<span class="caution">{escape(says)}</span>'  # not said
    return f'{told}<form method="post" action="{labels.address}" class="line">'  # not said


def _form_goes_on(hand: Hand, day: HandDay, refused: Refused, labels: Labels) -> str:
    """Return the form that asks for a reason from behind its secret on."""
    key, named = reason_key(hand.pk, day.day), {"name": hand.name, "day": words.short_date(day.day)}
    wrong = refused.wrong.get("why", "")
    told = "\n"
    typed = ""
    if wrong:
        told = render_to_string("pages/wrong.html", {"says": wrong, "box": key})
        typed = (
            f' value="{escape(str(refused.typed.get("why", "")))}" aria-invalid="true"'  # not said
            f' aria-describedby="wrong-{key}" autofocus'  # not said
        )
    why, keep = labels.why_fewer % named, labels.keep_why % named
    return (
        f'<input type="hidden" name="client_id" value="{uuid.uuid4()}">'  # not said
        f'<input type="hidden" name="hand" value="{hand.pk}">'  # not said
        f'<input type="hidden" name="day" value="{day.day.isoformat()}">'  # not said
        f'<label>{labels.why}<input name="why" maxlength="200" autocomplete="off" size="14"'  # not said
        f' aria-label="{escape(why)}" required{typed}></label>'  # not said
        f'{told} <button class="plain" aria-label="{escape(keep)}">{labels.keep}</button></form>'  # not said
    )


def _row_ends(day: HandDay, labels: Labels) -> str:
    told = "".join(f"<small>{escape(note)}</small>" for note in _notes(day, labels))
    return f"{told}</td></tr>"


def _notes(day: HandDay, labels: Labels) -> list[str]:
    notes = []
    if not day.is_reported and day.worked_min:
        notes.append(labels.of_work)
    elif day.is_reported and day.on_work_min and abs(day.worked_min - day.on_work_min) >= 30:
        notes.append(labels.adds_up.format(hours=_hours(day.on_work_min)))
    if day.waiting:
        notes.append(
            ngettext("a report waits for you", "{count} reports wait for you", day.waiting).format(
                count=day.waiting
            )
        )
    return notes


def _span(day: HandDay, zone: ZoneInfo) -> str:
    if day.starts_at is None:
        return ""
    starts = words.clock(day.starts_at.astimezone(zone))
    if day.ends_at is None:
        return _("since {start}").format(start=starts)
    ends = words.clock(day.ends_at.astimezone(zone))
    if day.break_min:
        return _("{start} to {end}, {minutes} min break").format(
            start=starts, end=ends, minutes=day.break_min
        )
    return _("{start} to {end}").format(start=starts, end=ends)


def _hours(minutes: int) -> str:
    return f"{minutes // 60} h" + (f" {minutes % 60:02d}" if minutes % 60 else "")


def _decimal(minutes: int) -> str:
    return f"{minutes / 60:.2f}"
