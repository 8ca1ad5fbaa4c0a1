"""What the pages of fields show, as plain data."""

import datetime as dt
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from farmops.core.problems import DomainError
from farmops.desk.days import observed_to, weather_as_of, working_day
from farmops.farms.models import Farm, Field
from farmops.farms.operations import PIVOT_WORK, Operation
from farmops.pages import words
from farmops.pages.field_ground import Wanted, drawn_ground
from farmops.pages.field_notes import (
    MORNING,
    blank_forms,
    known_of,
    readings_by_zone,
    remark_choices,
    say_so_said,
)
from farmops.pages.limit_words import limit_words
from farmops.pages.limits_page import ruling_choices
from farmops.pages.plots.time_strip import Stretch, instant, odds, time_strip
from farmops.pages.walks import walks_to_call_off
from scheduling.models import FieldPass, PassLink, PassState, SaySoWord
from scheduling.selectors.field_ahead import field_ahead
from scheduling.selectors.ground import NoSoil
from scheduling.selectors.kept_words import kept_said
from scheduling.selectors.limits import limits_of
from scheduling.selectors.passes import open_passes, pass_key, spoken_key
from scheduling.selectors.waiting import is_all_reported
from scheduling.windows import Limit
from scheduling.windows.limits import Effect, Quantity

DAYS_AHEAD = 10
DAYS_BACK = 7
SAYS = {"en": "says", "es": "says_es"}
"""Where a reason of `windows/1` stands, by language."""
MIDNIGHT = dt.time()


def field_facts(*, farm: Farm, field: Field, now: dt.datetime, hour: str = "") -> dict[str, Any]:
    """Return a field's facts, its ground of the last seven days, and the windows of the next ten.

    They begin today, or on the day after the weather ends where that is an old record. `hour` stands in the boxes of the
    forms; empty: the hour that it is.
    """
    here = now.astimezone(ZoneInfo(farm.zone))
    today, known_to = here.date(), observed_to(farm=farm)
    waiting = list(open_passes(farm=farm).filter(season__field=field))
    facts: dict[str, Any] = {
        "field": field,
        "zones": list(field.zones.all()),
        "known_to": known_to,
        "known_to_said": "" if known_to is None else _day_and_year(known_to),
        "words": [
            (value, say_so_said(value) if value != SaySoWord.AFTER else _("not before"))
            for value in SaySoWord.values
        ],
        "pivot": getattr(field, "pivot", None),
        "today": today,
        "blank": blank_forms(today=today, hour=hour or f"{here:%H:%M}", operation=_next_work(waiting)),
        **remark_choices(),
    }
    if known_to is None:
        return {
            **facts,
            "headline": _("No weather is known yet, so nothing can be said of the ground."),
            "notes_known": known_of(farm=farm, field=field, until=None, ground=[]),
        }
    first, as_of = working_day(farm=farm, today=today), weather_as_of(farm=farm, today=today)
    facts |= {"first_said": words.long_date(first), "is_past": first < today}
    if first < today:
        facts["blank"] = blank_forms(today=first, hour=MORNING, operation=_next_work(waiting))
    try:
        return {**facts, **_ground_and_windows(farm, field, waiting, first, as_of)}
    except NoSoil as error:
        return {
            **facts,
            "headline": _(
                "The soil of {field} is not described, so nothing can be said of its ground."
            ).format(field=field.name),
            "no_soil": error.says,
            "notes_known": known_of(farm=farm, field=field, until=first, ground=[]),
        }
    except DomainError as error:
        return {
            **facts,
            "headline": _("Nothing can be said of the ground of {field}.").format(field=field.name),
            "trouble": words.dates_said(error.says),
            "notes_known": known_of(farm=farm, field=field, until=first, ground=[]),
        }


def _next_work(waiting: Sequence[FieldPass]) -> str:
    """Return the operation that a remark is most likely about: the first that waits on the ground."""
    return next((one.operation for one in waiting if one.operation not in PIVOT_WORK), "")


def _ground_and_windows(
    farm: Farm, field: Field, waiting: Sequence[FieldPass], first: dt.date, as_of: dt.date
) -> dict[str, Any]:
    start = dt.datetime.combine(first, dt.time(), ZoneInfo(farm.zone))
    ahead = field_ahead(
        farm=farm,
        field=field,
        passes=waiting,
        first=first,
        days=DAYS_AHEAD,
        days_back=DAYS_BACK,
        as_of=as_of,
    )
    days = [dt.date.fromisoformat(day["day"]) for day in ahead.ground[0]["days"]]
    found = limits_of(farm=farm)
    limits = found.of(field.pk)
    rows = _pass_rows(farm, waiting, ahead.passes, start, limit_words(limits))
    return {
        "headline": _headline(field, rows),
        "passes": rows,
        "notes": [words.dates_said(kept_said(note)) for note in ahead.notes],
        "drawn": drawn_ground(
            ahead.ground,
            today=first,
            wanted=_wanted(waiting, limits),
            readings=readings_by_zone(
                farm=farm,
                field=field,
                days=days,
                depth_in={zone["zone"]: zone["soil_depth_in"] for zone in ahead.ground},
            ),
        ),
        "notes_known": known_of(farm=farm, field=field, until=first, ground=ahead.ground),
        "ruling": ruling_choices(farm=farm, field=field, found=found),
    }


def _pass_rows(
    farm: Farm,
    waiting: Sequence[FieldPass],
    judged: Sequence[Mapping[str, Any]],
    start: dt.datetime,
    short: Mapping[str, str],
) -> list[dict[str, Any]]:
    before, walks = waits_for(waiting), walks_to_call_off(farm=farm, passes=waiting)
    by_key = {one["pass"]: one for one in judged}
    days = [start.date() + dt.timedelta(days=count) for count in range(DAYS_AHEAD)]
    language, rows = words.speaking(), []
    for number, one in enumerate(waiting):
        found = by_key.get(pass_key(one), {"open": [], "shut": []})
        stretches = [
            Stretch(row["from"], row["to"], True, "", float(row["chance"])) for row in found["open"]
        ] + [
            Stretch(row["from"], row["to"], False, row[SAYS[language]], word=short.get(row["limit"], ""))
            for row in found["shut"]
        ]
        rows.append(
            {
                "said": said(one),
                "state": _("all {all} ac reported, not called done yet").format(all=f"{one.area_ac:.1f}")
                if is_all_reported(one)
                else words.named(one.get_state_display()),
                "asks_done": is_all_reported(one),
                "acres": max(one.area_ac - one.done_ac, Decimal(0)),
                "after": before.get(one.pk, ""),
                "walk": walks.get(one.pk),
                "due": "" if one.due_on is None else words.month_and_day(one.due_on),
                "strip": time_strip(
                    stretches,
                    start=start,
                    days=days,
                    today=0,
                    key=f"windows-{number}",
                    title=_("When to {work}, {first} to {last}").format(
                        work=said(one), first=words.short_date(days[0]), last=words.short_date(days[-1])
                    ),
                ),
                "hours": _hours(stretches, start),
                "why": found["shut"][0][SAYS[language]] if found["shut"] else "",
                "advice": _first_advice(found.get("advice", []), start),
                "advised": _reasons(found.get("advice", []), start),
                "first_open": _first_open(found["open"], start),
            }
        )
    return rows


def _wanted(waiting: Sequence[FieldPass], limits: Sequence[Limit]) -> Wanted | None:
    """Return what the first crop that waits for planting wants of the soil's daily mean."""
    for one in waiting:
        for limit in limits:
            if (
                one.operation == Operation.PLANT
                and limit.crop == one.season.crop
                and limit.quantity is Quantity.SOIL_MEAN
                and limit.is_used
                and limit.effect is Effect.SHUTS
                and Operation.PLANT in limit.operations
            ):
                crop = words.named(one.season.get_crop_display()).lower()
                return Wanted(limit.number, _("{crop} wants").format(crop=crop))
    return None


def said(field_pass: FieldPass) -> str:
    """Return a pass as people say it, without its field."""
    return spoken_key(pass_key(field_pass), names={}, language=words.speaking())[1]


def waits_for(passes: Sequence[FieldPass] | QuerySet[FieldPass]) -> dict[int, str]:
    """Return, by pass, what must be finished on the ground before it; all acres reported count as done, as in a plan."""
    found: dict[int, list[str]] = {}
    links = PassLink.objects.filter(after__in=passes).select_related("before__season__field")
    links = links.exclude(before__state__in=(PassState.FINISHED, PassState.CALLED_OFF))
    for link in links.defer("before__season__field__boundary"):
        if not is_all_reported(link.before):
            found.setdefault(link.after_id, []).append(said(link.before))
    return {key: _and(told) for key, told in found.items()}


def _and(told: Sequence[str]) -> str:
    joined = told[0]
    for one in told[1:]:
        joined = _("{some} and {last}").format(some=joined, last=one)
    return joined


def _headline(field: Field, rows: list[dict[str, Any]]) -> str:
    if not rows:
        return _("Nothing waits on {field}.").format(field=field.name)
    ready = [row for row in rows if not row["after"]] or rows
    for row in ready:
        if row["first_open"]:
            told = _("{field}: {work} may go {when}.")
            return told.format(field=field.name, work=row["said"], when=row["first_open"])
    return _("{field} is shut for the next ten days.").format(field=field.name)


def _first_open(stretches: Sequence[Mapping[str, Any]], start: dt.datetime) -> str:
    """Return from when on a pass may go; an opening at midnight is the day itself, a sure one needs no odds."""
    if not stretches:
        return ""
    first = stretches[0]
    begins = instant(start, first["from"])
    day = words.long_date(begins.date())
    if begins.time() == MIDNIGHT:
        told = _("on {day}").format(day=day)
    else:
        told = _("from {hour} on {day}").format(hour=words.clock(begins), day=day)
    chance = float(first["chance"])
    return told if chance >= 0.95 else f"{told}, {odds(chance)}"


def _hours(stretches: Sequence[Stretch], start: dt.datetime) -> list[dict[str, Any]]:
    """Return the strip as rows of a table: when, and how sure or why not."""
    return [
        {
            "when": _span(start, one.from_min, one.to_min),
            "is_open": one.is_open,
            "says": _("open, {chance}").format(chance=odds(one.chance)) if one.is_open else one.says,
        }
        for one in _joined(stretches)
    ]


def _joined(stretches: Sequence[Stretch]) -> list[Stretch]:
    """Return the stretches in order, neighbors that would read the same made into one."""
    joined: list[Stretch] = []
    for one in sorted(stretches, key=lambda stretch: stretch.from_min):
        last = joined[-1] if joined else None
        if last and last.to_min == one.from_min and _reads(last) == _reads(one):
            joined[-1] = Stretch(last.from_min, one.to_min, one.is_open, one.says, one.chance)
        else:
            joined.append(one)
    return joined


def _reads(one: Stretch) -> tuple[bool, str]:
    return one.is_open, odds(one.chance) if one.is_open else one.says


def _reasons(stretches: Sequence[Mapping[str, Any]], start: dt.datetime) -> list[dict[str, str]]:
    """Return when and why, each reason once for stretches that follow on each other."""
    said_in = SAYS[words.speaking()]
    rows = _joined([Stretch(row["from"], row["to"], False, row[said_in]) for row in stretches])
    return [{"when": _span(start, row.from_min, row.to_min), "says": row.says} for row in rows]


def _first_advice(stretches: Sequence[Mapping[str, Any]], start: dt.datetime) -> list[dict[str, str]]:
    """Return each kind of advice once: over which days it speaks, and what it says first."""
    found: dict[str, list[Mapping[str, Any]]] = {}
    for row in stretches:
        found.setdefault(row["limit"], []).append(row)
    return [
        {
            "when": _span(start, rows[0]["from"], rows[-1]["to"])
            if len(rows) == 1
            else _("{when}, on and off").format(when=_span(start, rows[0]["from"], rows[-1]["to"])),
            "says": rows[0][SAYS[words.speaking()]],
        }
        for rows in found.values()
    ]


def _span(start: dt.datetime, from_min: int, to_min: int) -> str:
    """Return a stretch in words; whole days are named without a clock."""
    begins, ends = instant(start, from_min), instant(start, to_min)
    if begins.time() == ends.time() == MIDNIGHT:
        last = ends.date() - dt.timedelta(days=1)
        if last == begins.date():
            return _("all {day}").format(day=_day(last))
        return _("{first} to {last}").format(first=_day(begins.date()), last=_day(last))
    return _("{first} {begins} to {last} {ends}").format(
        first=_day(begins.date()), begins=words.clock(begins), last=_day(ends.date()), ends=words.clock(ends)
    )


def _day(day: dt.date) -> str:
    return f"{words.short_weekday(day)} {day.day}"


def _day_and_year(day: dt.date) -> str:
    return _("{weekday}, {date}").format(weekday=words.weekday(day), date=words.full_date(day))
