"""Read what hands are to do tomorrow, now and as it was at an earlier instant, and of which farms that may differ."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from django.db.models import F, Max

from farmops.digests.change_facts import PlannedStop
from farmops.digests.selectors.clocks import FarmClock
from farmops.digests.wording import say
from farmops.farms.models import Farm
from farmops.farms.operations import Operation
from scheduling.models import CareDone, FieldPass, PassState, PlannedCare, PlannedTask, PlanState, WeekPlan
from scheduling.selectors.care import standing_care, thing_name, what_is_done
from scheduling.selectors.plans import care_of_plan, plan_of_day, tasks_of_plan, worked_by_day
from scheduling.slips.words import Said, work_words

OVER = (PassState.FINISHED, PassState.CALLED_OFF)
ONE_DAY = dt.timedelta(days=1)


@dataclass(frozen=True)
class DayOfHands:
    """What each hand is to do on a day, by the hand's id, and the number of the plan that says so."""

    plan_no: int | None
    stops: Mapping[int, tuple[PlannedStop, ...]]

    def of(self, hand_id: int) -> tuple[PlannedStop, ...]:
        """Return what a hand is to do."""
        return self.stops.get(hand_id, ())


def day_of_hands(*, farm: Farm, day: dt.date, at: dt.datetime | None = None) -> DayOfHands:
    """Return what the hands of a farm are to do on a day, as it stands, or as it stood at an instant.

    What was finished, called off or served by then is left out.
    """
    plan = plan_of_day(farm=farm, day=day, at=at)
    if plan is None:
        return DayOfHands(None, {})
    found: dict[int, list[PlannedStop]] = defaultdict(list)
    tasks = list(tasks_of_plan(plan=plan).filter(hand__isnull=False, **_touches(farm, day)))
    over = over_since(field_passes={task.field_pass_id for task in tasks})
    for task in tasks:
        hours = worked_by_day(plan=plan, task=task).get(day)
        if hours and not _was_over(over.get(task.field_pass_id), task.field_pass_id in over, at):
            found[task.hand_id or 0].append(_task(task, hours[0][0], max(ends for _, ends in hours)))
    stops = care_of_plan(plan=plan).filter(hand__isnull=False, **_begins(farm, day))
    served = standing_care(farm=farm).filter(done_at__gte=plan.starts_at)
    done = dict(served.values_list("rule_id", "recorded_at"))
    for stop in stops:
        if not _was_over(done.get(stop.rule_id), stop.rule_id in done, at):
            found[stop.hand_id or 0].append(_service(stop, ZoneInfo(farm.zone)))
    return DayOfHands(plan.number, {hand_id: tuple(rows) for hand_id, rows in found.items()})


def first_told_at(*, farm: Farm, day: dt.date, began: dt.datetime) -> dt.datetime:
    """Return the instant against which a day is told as changed: `began`, or when its first plan was sent after that.

    A plan that is sent where there was none is no change: it comes with the morning sheet.
    """
    if plan_of_day(farm=farm, day=day, at=began) is not None:
        return began
    sent = WeekPlan.objects.filter(
        farm=farm, state__in=(PlanState.SENT, PlanState.REPLACED), sent_at__gt=began
    ).order_by("sent_at")
    for sent_at in sent.values_list("sent_at", flat=True):
        if sent_at is not None and plan_of_day(farm=farm, day=day, at=sent_at) is not None:
            return sent_at
    return began


def over_since(*, field_passes: Collection[int]) -> dict[int, dt.datetime | None]:
    """Return those of some passes that are finished or called off, with the instant since which (None: not known)."""
    rows = FieldPass.objects.filter(pk__in=field_passes, state__in=OVER)
    rows = rows.annotate(reported_at=Max("work_records__recorded_at"))
    return {
        one.pk: one.called_off_at if one.state == PassState.CALLED_OFF else one.reported_at for one in rows
    }


def farms_with_changes(*, clocks: Sequence[FarmClock]) -> set[int]:
    """Return the ids of the farms whose tomorrow may have changed since their day began: a few queries for all of them."""
    if not clocks:
        return set()
    began = {one.farm.pk: one.instant(dt.time()) for one in clocks}
    first, last = min(began.values()), max(began.values()) + 3 * ONE_DAY
    farms = list(began)
    sent = WeekPlan.objects.filter(
        farm__in=farms, state__in=(PlanState.SENT, PlanState.REPLACED), sent_at__gte=first
    )
    found = {
        farm_id
        for farm_id, at in sent.values_list("farm_id", "sent_at")
        if at is not None and at >= began[farm_id]
    }
    planned = PlannedTask.objects.filter(
        farm__in=farms,
        plan__state__in=(PlanState.SENT, PlanState.REPLACED),
        field_pass__state__in=OVER,
        starts_at__lt=last,
        ends_at__gt=first + ONE_DAY,
    ).annotate(over_at=Max("field_pass__work_records__recorded_at"), off_at=F("field_pass__called_off_at"))
    for farm_id, over_at, off_at in planned.order_by().values_list("farm_id", "over_at", "off_at"):
        if any(at is not None and at >= began[farm_id] for at in (over_at, off_at)):
            found.add(farm_id)
    served = CareDone.objects.filter(farm__in=farms, recorded_at__gte=first)
    found.update(
        farm_id for farm_id, at in served.values_list("farm_id", "recorded_at") if at >= began[farm_id]
    )
    return found


def _was_over(since: dt.datetime | None, is_over: bool, at: dt.datetime | None) -> bool:
    """Say whether what is over now was so at an instant; where nobody knows since when, it was."""
    return is_over and (at is None or since is None or since <= at)


def _touches(farm: Farm, day: dt.date) -> dict[str, dt.datetime]:
    begins, ends = day_bounds(farm, day)
    return {"starts_at__lt": ends, "ends_at__gt": begins}


def _begins(farm: Farm, day: dt.date) -> dict[str, dt.datetime]:
    begins, ends = day_bounds(farm, day)
    return {"starts_at__gte": begins, "starts_at__lt": ends}


def day_bounds(farm: Farm, day: dt.date) -> tuple[dt.datetime, dt.datetime]:
    """Return the instants at which a day of the farm's clock begins and ends."""
    zone = ZoneInfo(farm.zone)
    begins = dt.datetime.combine(day, dt.time(), tzinfo=zone)
    return begins.astimezone(dt.UTC), dt.datetime.combine(day + ONE_DAY, dt.time(), tzinfo=zone).astimezone(
        dt.UTC
    )


def _task(task: PlannedTask, starts_at: dt.datetime, ends_at: dt.datetime) -> PlannedStop:
    operation, field = Operation(task.operation), task.field.name
    return PlannedStop(
        key=f"pass {task.field_pass_id} {task.part_no}",
        title=Said(*(f"{field}: {work_words(operation, language)}" for language in ("en", "es"))),
        starts_at=starts_at,
        ends_at=ends_at,
        outfit=Said(*(_outfit(task, language) for language in ("en", "es"))),
    )


def _outfit(task: PlannedTask, language: str) -> str:
    names = [
        (language == "es" and one.name_es) or str(one)
        for one in (task.machine, task.implement)
        if one is not None
    ]
    if len(names) == 2:
        return say("with_both", language, machine=names[0], implement=names[1])
    return "".join(names)


def _service(stop: PlannedCare, zone: ZoneInfo) -> PlannedStop:
    rule = stop.rule
    return PlannedStop(
        key=f"care {rule.pk}",
        title=Said(
            *(f"{thing_name(rule, language)}: {what_is_done(rule, language)}" for language in ("en", "es"))
        ),
        starts_at=stop.starts_at.astimezone(zone),
        ends_at=stop.ends_at.astimezone(zone),
        outfit=Said("", ""),
    )
