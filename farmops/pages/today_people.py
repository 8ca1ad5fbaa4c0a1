"""Each hand of a morning: go, or hold until when, and where; who is away, and for whom nothing is planned.

What it is for: to tell everybody at the shop door what is first. Its user decides there whom to send, and whom to call.
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from farmops.farms.models import Farm, Hand, HandAway, Shift
from farmops.pages import words
from farmops.pages.board_facts import leaving_said
from farmops.pages.care_words import rule_said
from farmops.pages.field_page import said
from scheduling.models import PlannedCare, PlannedTask, WeekPlan
from scheduling.selectors.plan_documents import with_documents
from scheduling.selectors.plans import (
    care_of_plan,
    field_of_stop,
    plans_of_days,
    tasks_of_plan,
    worked_by_day,
)
from scheduling.selectors.slip_ways import Journey, Ways

HOLD_FROM_MIN = 30
"""Farm judgement: who leaves up to half an hour after the shift begins goes; later is a hold that has to be told."""


MANY_HANDS = 30
"""Farm judgement: of more hands than this, those for whom nothing is planned are counted and not named."""


@dataclass(frozen=True)
class GoesOut:
    """A hand's line: the word (go, hold, leave by, away, nothing), the hour, and the first work or service with its field.

    `besides` says when the work begins where the hour is that of leaving, or when the hand is there at the soonest.
    """

    hand: Hand
    word: str
    hour: str = ""
    work: str = ""
    field: str = ""
    code: str = ""
    besides: str = ""


def people_of(*, farm: Farm, day: dt.date) -> list[GoesOut]:
    """Return the hands of a day that a sent plan rules, by name; none without such a plan. A fixed number of queries."""
    plan = plans_of_days(farm=farm, days=[day])[day]
    if plan is None:
        return []
    first: dict[int, tuple[dt.datetime, PlannedTask | PlannedCare]] = {}
    for task in tasks_of_plan(plan=plan).filter(
        hand__isnull=False,
        starts_at__lt=_midnight(farm, day + dt.timedelta(days=1)),
        ends_at__gt=_midnight(farm, day),
    ):
        starts = _begins(plan, task, day)
        if task.hand_id is None or starts is None:
            continue
        if task.hand_id not in first or starts < first[task.hand_id][0]:
            first[task.hand_id] = starts, task
    for stop in care_of_plan(plan=plan).filter(
        hand__isnull=False,
        starts_at__lt=_midnight(farm, day + dt.timedelta(days=1)),
        starts_at__gte=_midnight(farm, day),
    ):
        starts = stop.starts_at.astimezone(ZoneInfo(farm.zone))
        if stop.hand_id is not None and (stop.hand_id not in first or starts < first[stop.hand_id][0]):
            first[stop.hand_id] = starts, stop
    shifts: dict[int, dt.time] = {}
    for shift in Shift.objects.filter(farm=farm, weekday=day.weekday()).order_by("-starts_at"):
        shifts[shift.hand_id] = shift.starts_at
    rows = HandAway.objects.filter(farm=farm, first_on__lte=day, last_on__gte=day)
    away = set(rows.values_list("hand_id", flat=True))
    hands = Hand.objects.filter(farm=farm, works=True).order_by("name", "id")
    ways: dict[int, Journey | None] = {}
    if first:
        of_plan = Ways(farm=farm, plan=with_documents(plan=plan))
        ways = {
            hand_id: of_plan.journey(task_key=row.task_key, day=day, begins_at=starts)
            for hand_id, (starts, row) in first.items()
        }
    return [
        _line(one, first.get(one.pk), ways.get(one.pk), shifts.get(one.pk), one.pk in away) for one in hands
    ]


def named_and_idle(people: Sequence[GoesOut]) -> tuple[list[GoesOut], int]:
    """Return the hands to name, and how many more have nothing planned where there are too many to name."""
    if len(people) <= MANY_HANDS:
        return list(people), 0
    idle = pgettext("a hand today", "nothing planned")
    named = [one for one in people if one.word != idle]
    return named, len(people) - len(named)


def _begins(plan: WeekPlan, task: PlannedTask, day: dt.date) -> dt.datetime | None:
    """Return when a task is first worked on a day, on the farm's clock; the hours of one that goes on are the plan's."""
    local = task.starts_at.astimezone(ZoneInfo(plan.farm.zone))
    if local.date() == day:
        return local
    if local.date() > day:
        return None
    stretches = worked_by_day(plan=plan, task=task).get(day)
    return stretches[0][0] if stretches else None


def _midnight(farm: Farm, day: dt.date) -> dt.datetime:
    return dt.datetime.combine(day, dt.time(), ZoneInfo(farm.zone))


def _line(
    hand: Hand,
    first: tuple[dt.datetime, PlannedTask | PlannedCare] | None,
    way: Journey | None,
    shift_at: dt.time | None,
    is_away: bool,
) -> GoesOut:
    if is_away:
        return GoesOut(hand, pgettext("a hand today", "away"))
    if first is None:
        return GoesOut(hand, pgettext("a hand today", "nothing planned"))
    starts, task = first
    job = _of_stop(task) if isinstance(task, PlannedCare) else _of_task(task)
    if way is not None and way.leave_at is not None:
        besides = _("from {hour}").format(hour=words.clock(starts))
        return GoesOut(hand, _("leave by"), words.clock(way.leave_at), *job, besides)
    if way is not None and way.there_at is not None:
        return GoesOut(hand, _("go at"), words.clock(starts), *job, leaving_said(way))
    way_min = way.minutes + way.hitch_min if way is not None else 0
    leaves = starts.hour * 60 + starts.minute - way_min
    is_held = shift_at is not None and leaves > shift_at.hour * 60 + shift_at.minute + HOLD_FROM_MIN
    return GoesOut(hand, _("hold until") if is_held else _("go at"), words.clock(starts), *job)


def _of_task(task: PlannedTask) -> tuple[str, str, str]:
    return said(task.field_pass), task.field.name, task.field.code


def _of_stop(stop: PlannedCare) -> tuple[str, str, str]:
    """Return the service with what it is done to, and where."""
    return rule_said(stop.rule), field_of_stop(stop) or words.named(stop.rule.get_place_display()), ""
