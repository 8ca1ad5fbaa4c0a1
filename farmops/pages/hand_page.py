"""A hand: what the hand does today, may do, is licensed for, worked lately, and the days away.

What it is for: to know who somebody is to the week's work before sending them out. Its user decides there whether the
hand is away, and whether a link to sign in is owed.
"""

import datetime as dt
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from farmops.core.clock import local_date
from farmops.desk.days import first_instant
from farmops.farms.models import Farm, Hand, HandAway, HandLicense
from farmops.pages import words
from farmops.pages.board_facts import leaving_said
from farmops.pages.care_words import rule_said
from farmops.pages.field_page import said
from farmops.pages.fleet_page import days_away
from farmops.pages.plots.day_panels import bars_panel
from farmops.pages.trade_words import tool, work
from scheduling.models import PlannedCare, PlannedTask, WeekPlan, WorkRecord
from scheduling.selectors.hours import HandDay, hours_of_days
from scheduling.selectors.plans import (
    plan_of_day_at_hand,
    tasks_of_hand_in,
    touches_day,
    worked_by_day,
)
from scheduling.selectors.slip_ways import Ways

DAYS_BACK = 14
LAST_WORK = 10
NEWEST = 2 * LAST_WORK
"""Records that were corrected stand among the newest; only where that leaves too few are all of the hand's looked at."""
OF_PASS = ("operation", "turn", "part", "season__part", "season__field__name", "season__field__code")
OF_TOOLS = ("machine__name", "machine__name_es", "implement__name", "implement__name_es")
SOON_DAYS = 60
"""Farm judgement: a license that ends within two months is told of in time to renew it."""


def hand_facts(*, farm: Farm, hand: Hand, now: dt.datetime) -> dict[str, Any]:
    """Return a hand's facts, today, history and what may be said of the hand; a fixed number of queries."""
    today = local_date(first_instant(farm=farm, now=now), farm.zone)
    away = list(HandAway.objects.filter(farm=farm, hand=hand, last_on__gte=today).order_by("first_on", "id"))
    tasks = _today(farm, hand, today)
    days = _days(farm, hand, today)
    return {
        "hand": hand,
        "headline": _headline(hand, tasks, away, today),
        "today_said": words.long_date(today),
        "today": today,
        "tasks": tasks,
        "away": [(row.pk, days_away(row, today), row.why) for row in away],
        "works_on": [words.capital(work(row.operation)) for row in hand.skills.order_by("operation")],
        "licenses": [_license(row, today) for row in hand.licenses.all()],
        "shifts": _shifts(hand),
        "started": "" if hand.started_on is None else words.full_date(hand.started_on),
        "speaks": words.named(hand.get_language_display()),
        "days": [_day(one) for one in days],
        "worked": _drawn(days) if any(one.worked_min for one in days) else None,
        "last_work": [_record(row) for row in _last_work(farm, hand)],
    }


def _today(farm: Farm, hand: Hand, today: dt.date) -> list[dict[str, str]]:
    zone = ZoneInfo(farm.zone)
    plan = plan_of_day_at_hand(farm=farm, day=today)
    if plan is None:
        return []
    found: list[tuple[dt.datetime, dict[str, str]]] = []
    ways = Ways(farm=farm, plan=plan)
    for task in tasks_of_hand_in(plan=plan, hand=hand, day=today, of=_tasks(plan)):
        stretches = worked_by_day(plan=plan, task=task).get(today)
        starts, ends = (
            (stretches[0][0], stretches[-1][1])
            if stretches
            else (task.starts_at.astimezone(zone), task.ends_at.astimezone(zone))
        )
        way = ways.journey(task_key=task.task_key, day=today, begins_at=starts)
        things = [tool(one) for one in (task.machine, task.implement) if one is not None]
        found.append(
            (
                starts,
                {
                    "hours": _from_to(starts, ends),
                    "leaving": leaving_said(way),
                    "what": words.capital(said(task.field_pass)),
                    "where": task.field_pass.season.field.name,
                    "code": task.field_pass.season.field.code,
                    "with": ", ".join(things),
                },
            )
        )
    for stop in _stops(plan).filter(touches_day(plan=plan, day=today), hand=hand):
        starts, ends = stop.starts_at.astimezone(zone), stop.ends_at.astimezone(zone)
        way = ways.journey(task_key=stop.task_key, day=today, begins_at=starts)
        told = {"hours": _from_to(starts, ends), "leaving": leaving_said(way)}
        told |= {"what": words.capital(rule_said(stop.rule)), "where": "", "code": "", "with": ""}
        found.append((starts, told))
    return [row for _at, row in sorted(found, key=lambda one: one[0])]


def _tasks(plan: WeekPlan) -> QuerySet[PlannedTask]:
    """Return the tasks of a plan in the order of their starts, with as much as is told of them."""
    rows = PlannedTask.objects.filter(plan=plan).order_by("starts_at", "task_key")
    return rows.select_related("field_pass__season__field", "machine", "implement").only(
        "task_key", "starts_at", "ends_at", *(f"field_pass__{one}" for one in OF_PASS), *OF_TOOLS
    )


def _stops(plan: WeekPlan) -> QuerySet[PlannedCare]:
    """Return the service stops of a plan in the order of their starts, with as much as is told of them."""
    rows = PlannedCare.objects.filter(plan=plan).order_by("starts_at", "task_key")
    rows = rows.select_related("rule__machine", "rule__implement", "rule__pivot")
    of_rule = ("what", "what_es", *OF_TOOLS, "pivot__name")
    return rows.only("task_key", "starts_at", "ends_at", *(f"rule__{one}" for one in of_rule))


def _from_to(starts: dt.datetime, ends: dt.datetime) -> str:
    return _("{starts} to {ends}").format(starts=words.clock(starts), ends=words.clock(ends))


def _headline(hand: Hand, tasks: list[dict[str, str]], away: list[HandAway], today: dt.date) -> str:
    out = next((row for row in away if row.first_on <= today), None)
    if out is not None:
        return words.ended(_("{hand} is away {days}").format(hand=hand.name, days=days_away(out, today)))
    if not hand.works:
        return _("{hand} works here no more.").format(hand=hand.name)
    if not tasks:
        return _("Nothing is planned for {hand} on {day}.").format(hand=hand.name, day=words.long_date(today))
    first = tasks[0]
    where = _("{work}, {field}").format(work=first["what"], field=first["where"])
    goes = _("{hand} goes at {hours}: {what}").format(
        hand=hand.name, hours=first["hours"], what=where if first["where"] else first["what"]
    )
    return words.ended(f"{goes}; {first['leaving']}" if first["leaving"] else goes)


def _license(row: HandLicense, today: dt.date) -> dict[str, Any]:
    day = words.full_date(row.expires_on)
    is_over = row.expires_on < today
    is_soon = not is_over and (row.expires_on - today).days <= SOON_DAYS
    if is_over:
        until = _("ended on {day}").format(day=day)
    elif is_soon:
        until = _("ends soon, on {day}").format(day=day)
    else:
        until = _("good until {day}").format(day=day)
    return {"number": row.number, "category": row.category, "until": until, "is_urgent": is_over or is_soon}


def _shifts(hand: Hand) -> list[tuple[str, str]]:
    """Return each weekday with its hours; those paid as overtime say so."""
    found: dict[int, list[str]] = {}
    for row in hand.shifts.all():
        any_day = dt.date(2026, 1, 5)
        hours = _from_to(
            dt.datetime.combine(any_day, row.starts_at), dt.datetime.combine(any_day, row.ends_at)
        )
        told = _("{hours} (overtime)").format(hours=hours) if row.is_overtime else hours
        found.setdefault(row.weekday, []).append(told)
    monday = dt.date(2026, 1, 5)
    return [
        (words.capital(words.weekday(monday + dt.timedelta(days=at))), "; ".join(hours))
        for at, hours in sorted(found.items())
    ]


def _days(farm: Farm, hand: Hand, today: dt.date) -> list[HandDay]:
    first = today - dt.timedelta(days=DAYS_BACK - 1)
    found = hours_of_days(farm=farm, first_on=first, last_on=today, today=today, only=hand)
    return found[0].days if found else []


def _day(one: HandDay) -> dict[str, Any]:
    return {
        "day": words.short_date(one.day),
        "worked": _hours(one.worked_min),
        "offered": _hours(one.offered_min),
        "is_reported": one.is_reported,
        "why": one.why_fewer,
    }


def _drawn(days: list[HandDay]) -> Any:
    sum_min = sum(one.worked_min for one in days)
    return bars_panel(
        [one.day for one in days],
        [one.worked_min / 60 for one in days],
        key="worked",
        title=_("Hours worked, {first} to {last}").format(
            first=words.short_date(days[0].day), last=words.short_date(days[-1].day)
        ),
        desc=_("{hours} h in all; the table says each day.").format(hours=_hours(sum_min)),
        step=2.0,
        told=[not one.is_reported for one in days],
    )


def _hours(minutes: int) -> str:
    return f"{minutes / 60:.1f}"


def _last_work(farm: Farm, hand: Hand) -> list[WorkRecord]:
    newest_first = ("-work_on", "-id")
    of_hand = WorkRecord.objects.filter(farm=farm, hand=hand).order_by(*newest_first)
    rows = WorkRecord.objects.filter(superseded_by__isnull=True).select_related("field_pass__season__field")
    # A word that it is finished, or why it was not done, is no work of the hand.
    rows = rows.exclude(hand_min=0, done_ac=0)
    rows = rows.only("work_on", "done_ac", "hand_min", *(f"field_pass__{one}" for one in OF_PASS))
    # The newest are picked out first: else the database puts together what a hand did in five years, to sort it.
    for among in (of_hand[:NEWEST], of_hand):
        found = list(rows.filter(pk__in=among.values("pk")).order_by(*newest_first)[:LAST_WORK])
        if len(found) == LAST_WORK:
            break
    return found


def _record(row: WorkRecord) -> dict[str, str]:
    field = row.field_pass.season.field
    return {
        "day": words.table_date(row.work_on),
        "field": field.name,
        "code": field.code,
        "work": words.capital(said(row.field_pass)),
        "acres": f"{row.done_ac:.1f}",
        "hours": _hours(row.hand_min),
    }
