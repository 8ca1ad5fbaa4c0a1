"""What the page that lays an order of work out on fields shows: the fields to choose, then each one's passes with dates.

What it is for: to see, before anything is written, which passes an order makes on which field and when, and why it
does not fit one. Its manager decides there on which fields it is laid out, and between which days each is planted.
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Count, Q
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from farmops.farms.models import Farm, Season
from farmops.pages import words
from scheduling.models import FieldPass, OrderLaying, PassState
from scheduling.orders import Order
from scheduling.orders.checks import planting_window
from scheduling.selectors.order_words import crop_said, work_said
from scheduling.selectors.orders import layings_of, order_of
from scheduling.services.order_preview import FieldPreview, Preview, Standing, StepLine, Window

MOST_LAYINGS = 20
LINE_CLASS = {
    Standing.NEW: "ahead",
    Standing.CHANGES: "next",
    Standing.STANDS: "stands",
    Standing.DONE: "done",
}


@dataclass(frozen=True)
class SeasonChoice:
    """A season that an order could be laid out on."""

    id: int
    name: str
    acres: str
    stands: str
    is_chosen: bool


@dataclass(frozen=True)
class FieldLine:
    """A field of the preview."""

    id: int
    name: str
    acres: str
    first_on: str
    last_on: str
    steps: list[tuple[str, str, str]]
    reasons: list[str]
    also: str


def season_choices(*, farm: Farm, order: Order, crop_year: int, chosen: Sequence[int]) -> list[SeasonChoice]:
    """Return the seasons of an order's crop in a year, with how many passes stand on each."""
    waiting = Count("passes", filter=~Q(passes__state=PassState.CALLED_OFF))
    rows = (
        Season.objects.filter(farm=farm, crop=order.crop, crop_year=crop_year)
        .select_related("field")
        .annotate(stands=waiting)
        .order_by("field__name", "part")
    )
    return [
        SeasonChoice(
            id=one.pk,
            name=_ground(one),
            acres=f"{one.area_ac:.1f}",
            stands=words.passes(one.stands) if one.stands else "",
            is_chosen=one.pk in chosen,
        )
        for one in rows
    ]


def crop_years(*, farm: Farm, order: Order) -> list[int]:
    """Return the crop years in which the farm grows an order's crop, the newest first."""
    years = Season.objects.filter(farm=farm, crop=order.crop).values_list("crop_year", flat=True)
    return sorted(set(years.order_by().distinct()), reverse=True)


def usual_window(order: Order, crop_year: int) -> Window:
    """Return the window of an order in a crop year."""
    return Window(*planting_window(order, crop_year))


def year_says(order: Order, crop_year: int, today: dt.date) -> str:
    """Return which crop year the days are of, and whether that is the year that runs: in the fall it is the next one."""
    window = usual_window(order, crop_year)
    says = (
        _("These days are of crop year {year}, the coming one: planted {first} to {last}.")
        if crop_year > today.year
        else _("These days are of crop year {year}: planted {first} to {last}.")
    )
    return says.format(
        year=crop_year, first=words.full_date(window.first_on), last=words.full_date(window.last_on)
    )


def preview_facts(preview: Preview, crop_year: int) -> dict[str, Any]:
    """Return what a preview shows, field by field, and its headline."""
    misfits = [one for one in preview.fields if not one.is_fit]
    new = sum(one.new_count for one in preview.fields)
    fields = ngettext("{count} field", "{count} fields", len(preview.fields)).format(
        count=words.count_word(len(preview.fields))
    )
    if misfits:
        headline = ngettext(
            "It does not fit {count} field, so nothing can be laid out yet.",
            "It does not fit {count} fields, so nothing can be laid out yet.",
            len(misfits),
        ).format(count=words.count_word(len(misfits)))
    elif not new:
        headline = _("Nothing new on {fields}: all of it stands already.").format(fields=fields)
    else:
        headline = _("{passes} on {fields} for crop year {year}, not laid out yet.").format(
            passes=words.capital(words.passes(new)), fields=fields, year=crop_year
        )
    return {
        "headline_of_preview": headline,
        "lines": [_field_line(one, crop_year) for one in preview.fields],
        "is_fit": preview.is_fit,
        "seen": preview.seen,
    }


def _field_line(one: FieldPreview, crop_year: int) -> FieldLine:
    moves = sum(p.step is None or p.part != "" for p in one.planned)
    also = (
        ngettext(
            "and {count} pass of the pivot and its strip",
            "and {count} passes of the pivot and its strip",
            moves,
        ).format(count=words.count_word(moves))
        if moves
        else ""
    )
    return FieldLine(
        id=one.season.pk,
        name=_ground(one.season),
        acres=f"{one.season.area_ac:.1f}",
        first_on=one.window.first_on.isoformat(),
        last_on=one.window.last_on.isoformat(),
        steps=[
            (LINE_CLASS.get(line.standing, "off"), work_said(line.operation), _says(line, crop_year))
            for line in one.lines
        ],
        reasons=one.reasons,
        also=also,
    )


def _says(line: StepLine, crop_year: int) -> str:
    days = _days(line.earliest_on, line.due_on, crop_year)
    match line.standing:
        case Standing.NEW:
            return days
        case Standing.CHANGES:
            return _("stands, its days change: {days}").format(days=days)
        case Standing.STANDS:
            return _("stands already: {days}").format(days=days) if days else _("stands already")
        case Standing.DONE:
            if line.done_on is None:
                return _("done already")
            return _("done {day}").format(day=_day(line.done_on, crop_year))
        case Standing.CALLED_OFF:
            return _("was called off, stays so")
        case Standing.PASSED:
            return _("left out: later work is done")
    return _("left out: no pivot here")


def _days(first: dt.date | None, last: dt.date | None, crop_year: int) -> str:
    if first is not None and last is not None:
        return _("{first} to {last}").format(first=_day(first, crop_year), last=_day(last, crop_year))
    if last is not None:
        return _("from now to {last}").format(last=_day(last, crop_year))
    return (
        _("from {first} on").format(first=_day(first, crop_year)) if first is not None else _("from now on")
    )


def _day(day: dt.date, crop_year: int) -> str:
    """Return a day of a crop year; one of another year with its year, as the fall before."""
    return words.tick_date(day) if day.year == crop_year else words.table_date(day)


def _ground(season: Season) -> str:
    return f"{season.field.name}{f' ({season.part})' if season.part else ''}"


def laying_rows(*, farm: Farm) -> list[dict[str, Any]]:
    """Return the last times that orders were laid out, for the list of orders."""
    rows = layings_of(farm=farm).annotate(count=Count("fields"))[:MOST_LAYINGS]
    return [
        {"id": one.pk, "name": words.named(one.version.name), "says": _laid_says(farm, one, one.count)}
        for one in rows
    ]


def _laid_says(farm: Farm, laying: OrderLaying, count: int) -> str:
    local = laying.laid_at.astimezone(ZoneInfo(farm.zone))
    fields = ngettext("{count} field", "{count} fields", count).format(count=words.count_word(count))
    says = _("version {number}, {day}, {fields}").format(
        number=laying.version.number, day=words.table_date(local.date()), fields=fields
    )
    return _("{says}, taken back").format(says=says) if hasattr(laying, "taken_back") else says


def laid_facts(*, farm: Farm, laying: OrderLaying) -> dict[str, Any]:
    """Return what one laying did, with what has become of its passes since."""
    fields = list(
        laying.fields.select_related("season__field").order_by("season__field__name", "season__part")
    )
    ids = [row["id"] for one in fields for row in one.passes]
    passes: Mapping[int, FieldPass] = FieldPass.objects.in_bulk(ids)
    lines = []
    for one in fields:
        made = [passes[row["id"]] for row in one.passes if row["is_new"] and row["id"] in passes]
        crop_year = one.season.crop_year
        window = _days(one.plant_from_on, one.plant_to_on, crop_year)
        steps = [
            (
                "done" if each.state == PassState.FINISHED else "ahead",
                work_said(each.operation),
                f"{words.named(each.get_state_display())}, {_days(each.earliest_on, each.due_on, crop_year)}",
            )
            for each in made
            if each.area_ac and not each.part
        ]
        lines.append(
            {
                "name": _ground(one.season),
                "code": one.season.field.code,
                "window": window,
                "steps": steps,
                "count": len(made),
            }
        )
    order = order_of(laying.version)
    return {
        "name": words.named(order.name),
        "code": laying.version.order.code,
        "crop": crop_said(order.crop),
        "says": _laid_says(farm, laying, len(fields)),
        "is_taken_back": hasattr(laying, "taken_back"),
        "crop_year": fields[0].season.crop_year if fields else None,
        "lines": lines,
        "laying_id": laying.pk,
        "by": str(laying.laid_by.get_full_name() or laying.laid_by.username)
        if laying.laid_by
        else pgettext("who did it", "nobody named"),
    }
