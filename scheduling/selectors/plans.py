"""Reading week plans: which one counts, what it has a hand do, and what it left and why."""

import datetime as dt
from collections import Counter
from collections.abc import Sequence
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from django.db.models import F, OuterRef, Q, QuerySet, Subquery
from django.utils.translation import ngettext

from farmops.farms.models import CarePlace, Farm, Field, Hand, Implement, Machine
from scheduling.models import FieldPass, PlannedCare, PlannedTask, PlanState, WeekPlan
from scheduling.selectors.horizon import Horizon
from scheduling.selectors.not_due import not_yet_due
from scheduling.selectors.plan_documents import DOCUMENTS, MADE, SENT, made_once, with_documents
from scheduling.selectors.plan_things import things_of_plan
from scheduling.selectors.worked_stretches import worked_of

LONGEST_DAYS = 21
ALL_REPORTED = "acres are reported: say that it is finished"
"""What stands in the reason of a pass that only waits to be called finished, and in no other."""


def sent_plan(*, farm: Farm) -> WeekPlan | None:
    """Return the plan that is sent, if there is one."""
    return WeekPlan.objects.filter(farm=farm, state=PlanState.SENT).first()


def sent_plan_in_short(*, farm: Farm) -> WeekPlan | None:
    """Return the plan that is sent, as `sent_plan` does, without its documents."""
    return next(iter(SENT.ask(farm.pk)), None)


def plan_of_day(*, farm: Farm, day: dt.date, at: dt.datetime | None = None) -> WeekPlan | None:
    """Return the plan that rules a day of the farm's clock: of the sent ones whose days hold it, the last sent.

    A week that is sent ahead leaves the days before it to the plan that was sent earlier. With an instant, it is the
    plan that ruled the day then.
    """
    return _ruling(_sent_by(farm, day, at), [day], farm)[day]


def plan_of_day_at_hand(*, farm: Farm, day: dt.date) -> WeekPlan | None:
    """Return the plan that `plan_of_day` finds with its documents at hand, for a page to tell of."""
    plan = plans_of_days(farm=farm, days=[day])[day]
    return None if plan is None else with_documents(plan=plan)


def plan_number_of_day(*, farm: Farm, day: dt.date, at: dt.datetime | None = None) -> int | None:
    """Return the number of the plan that `plan_of_day` finds, without its documents."""
    light = _sent_by(farm, day, at).only("farm_id", "number", "starts_at", "days")
    plan = _ruling(light, [day], farm)[day]
    return plan.number if plan is not None else None


def plans_of_days(*, farm: Farm, days: Sequence[dt.date]) -> dict[dt.date, WeekPlan | None]:
    """Return for each day the plan that rules it, as `plan_of_day` does: one query for all, without the documents."""
    if not days:
        return {}
    light = _sent_plans(farm, days).defer(*DOCUMENTS)
    return _ruling(light, days, farm)


def plan_numbers_of_day(*, farms: Sequence[Farm], day: dt.date) -> dict[int, int | None]:
    """Return the number of the plan that rules a day, by the id of each farm: one query, however many farms."""
    sent = SentPlans(farms=farms, day=day)
    return {one.pk: sent.number(farm=one) for one in farms}


def plans_of_farms(*, farms: Sequence[Farm], day: dt.date) -> dict[int, WeekPlan]:
    """Return the plan that `plan_of_day` finds by the id of each farm that has one: two queries, however many farms."""
    sent = SentPlans(farms=farms, day=day)
    ruling = {one.pk: found for one in farms if (found := sent.ruling(farm=one)) is not None}
    plans = WeekPlan.objects.in_bulk([one.pk for one in ruling.values()])
    of_farms = {one.pk: one for one in farms}
    for plan in plans.values():
        plan.farm = of_farms[plan.farm_id]  # at hand: who asks for it reads no row
    return {farm_id: plans[one.pk] for farm_id, one in ruling.items()}


class SentPlans:
    """The plans of some farms that were sent and may hold a day, read at once and without their documents."""

    def __init__(self, *, farms: Sequence[Farm], day: dt.date) -> None:
        self.day = day
        self._plans: dict[int, list[WeekPlan]] = {}
        near = _near([day], dt.UTC, slack=dt.timedelta(days=1)).filter(farm__in=[one.pk for one in farms])
        for plan in near.only("farm_id", "number", "starts_at", "days", "sent_at"):
            self._plans.setdefault(plan.farm_id, []).append(plan)

    def ruling(self, *, farm: Farm, at: dt.datetime | None = None) -> WeekPlan | None:
        """Return the plan that rules the day, or ruled it at an instant, as `plan_of_day` finds it."""
        zone = ZoneInfo(farm.zone)
        plans = (
            plan
            for plan in self._plans.get(farm.pk, ())
            if at is None or plan.sent_at is None or plan.sent_at <= at
        )
        return next((plan for plan in plans if _holds(plan, self.day, zone)), None)

    def number(self, *, farm: Farm, at: dt.datetime | None = None) -> int | None:
        """Return the number of that plan."""
        plan = self.ruling(farm=farm, at=at)
        return plan.number if plan is not None else None


def _sent_plans(farm: Farm, days: Sequence[dt.date]) -> QuerySet[WeekPlan]:
    return _near(days, ZoneInfo(farm.zone)).filter(farm=farm)


def _sent_by(farm: Farm, day: dt.date, at: dt.datetime | None) -> QuerySet[WeekPlan]:
    sent = _sent_plans(farm, [day])
    return sent if at is None else sent.filter(Q(sent_at__lte=at) | Q(sent_at__isnull=True))


def _near(
    days: Sequence[dt.date], zone: dt.tzinfo, *, slack: dt.timedelta = dt.timedelta()
) -> QuerySet[WeekPlan]:
    """Return the plans that were sent and may hold one of the days, the last sent first."""
    near = WeekPlan.objects.filter(
        state__in=(PlanState.SENT, PlanState.REPLACED),
        starts_at__gt=_noon(min(days), zone) - dt.timedelta(days=LONGEST_DAYS + 1) - slack,
        starts_at__lt=_noon(max(days), zone) + dt.timedelta(days=1) + slack,
    )
    return near.order_by(F("sent_at").desc(nulls_last=True), "-number")


def _ruling(sent: QuerySet[WeekPlan], days: Sequence[dt.date], farm: Farm) -> dict[dt.date, WeekPlan | None]:
    zone, plans = ZoneInfo(farm.zone), list(sent)
    for plan in plans:
        plan.farm = farm  # at hand: who asks for it reads no row
    return {day: next((one for one in plans if _holds(one, day, zone)), None) for day in days}


def _noon(day: dt.date, zone: dt.tzinfo) -> dt.datetime:
    return dt.datetime.combine(day, dt.time(12), tzinfo=zone)


def _holds(plan: WeekPlan, day: dt.date, zone: ZoneInfo) -> bool:
    first = plan.starts_at.astimezone(zone).date()
    return first <= day < first + dt.timedelta(days=plan.days)


def has_work_left(*, plan: WeekPlan, day: dt.date, now: dt.datetime) -> bool:
    """Whether a plan has anything to do on a day of the farm's clock that is not over at an instant."""
    over = dt.datetime.combine(day + dt.timedelta(days=1), dt.time(), tzinfo=ZoneInfo(plan.farm.zone))
    return PlannedTask.objects.filter(plan=plan, ends_at__gt=now, starts_at__lt=over).exists()


def plan_to_keep(*, farm: Farm, first_on: dt.date, days: int) -> WeekPlan | None:
    """Return the sent plan that a plan of these days has to hold on to: that of its first day, else the sent one that
    begins later in them.
    """
    ruling = plan_of_day(farm=farm, day=first_on)
    if ruling is not None:
        return ruling
    sent = sent_plan(farm=farm)
    if sent is None:
        return None
    begins = sent.starts_at.astimezone(ZoneInfo(farm.zone)).date()
    return sent if first_on < begins < first_on + dt.timedelta(days=days) else None


def current_plan(*, farm: Farm) -> WeekPlan | None:
    """Return the plan that counts: the sent one, else the newest made one."""
    plans = WeekPlan.objects.filter(farm=farm)
    sent = plans.filter(state=PlanState.SENT).first()
    return sent or plans.filter(state=PlanState.MADE).order_by("-number").first()


def current_plan_in_short(*, farm: Farm) -> WeekPlan | None:
    """Return the plan that counts without its documents, for who needs its days and its tasks."""
    return next(iter(SENT.ask(farm.pk) or MADE.ask(farm.pk)), None)


def current_plan_at_hand(*, farm: Farm) -> WeekPlan | None:
    """Return the plan that counts with its documents at hand, for a page to tell of."""
    plan = current_plan_in_short(farm=farm)
    return None if plan is None else with_documents(plan=plan)


def tasks_of_plan(*, plan: WeekPlan) -> QuerySet[PlannedTask]:
    """Return the tasks of a plan in the order of their starts, with what showing them needs."""
    return (
        PlannedTask.objects.filter(plan=plan)
        .select_related("field", "field_pass__season__field", "machine", "implement", "hand")
        .order_by("starts_at", "task_key")
    )


class TaskInShort(NamedTuple):
    """One task of a plan, as much of it as names the row of a list that it stands in."""

    pk: int
    task_key: str
    operation: str
    field_name: str
    machine: Machine | None
    implement: Implement | None
    hand: Hand | None


def tasks_in_short(*, plan: WeekPlan) -> list[TaskInShort]:
    """Return the tasks of a plan in the order of `tasks_of_plan`; machines, implements and hands are each read once."""
    things = things_of_plan(plan=plan)
    rows = PlannedTask.objects.filter(plan=plan).order_by("starts_at", "task_key")
    return [
        TaskInShort(
            pk,
            key,
            operation,
            field_name,
            things.machines.get(machine_id or 0),
            things.implements.get(implement_id or 0),
            things.hands.get(hand_id or 0),
        )
        for pk, key, operation, field_name, machine_id, implement_id, hand_id in rows.values_list(
            "pk", "task_key", "operation", "field__name", "machine_id", "implement_id", "hand_id"
        )
    ]


def listed_tasks(*, plan: WeekPlan, of: Sequence[TaskInShort] | None = None) -> list[PlannedTask]:
    """Return the tasks of a plan as `tasks_of_plan` does, for a list of many: all of them, or those of some in short.

    What several tasks share is read once, and of fields nothing but their names.
    """
    things = things_of_plan(plan=plan)
    rows = PlannedTask.objects.filter(plan=plan).order_by("starts_at", "task_key")
    tasks = list(rows if of is None else rows.filter(pk__in=[one.pk for one in of]))
    passes = (
        FieldPass.objects.select_related("season").order_by().in_bulk([one.field_pass_id for one in tasks])
    )
    names = Field.objects.only("farm_id", "code", "name").order_by()
    fields = names.in_bulk({one.field_id for one in tasks} | {one.season.field_id for one in passes.values()})
    for one in passes.values():
        one.season.field = fields[one.season.field_id]
    for task in tasks:
        task.machine = things.machines.get(task.machine_id or 0)
        task.implement = things.implements.get(task.implement_id or 0)
        task.hand = things.hands.get(task.hand_id or 0)
        task.field, task.field_pass = fields[task.field_id], passes[task.field_pass_id]
    return tasks


def care_of_plan(*, plan: WeekPlan) -> QuerySet[PlannedCare]:
    """Return the service stops of a plan in the order of their starts, each with the name of the field it is made on."""
    return care_stops().filter(plan=plan)


def care_stops() -> QuerySet[PlannedCare]:
    """Return all service stops, as `care_of_plan` gives those of a plan."""
    rows = PlannedCare.objects.select_related(
        "rule__machine", "rule__implement", "rule__pivot__field", "machine", "implement", "hand"
    )
    fields = Field.objects.filter(farm=OuterRef("farm"), code=OuterRef("place"))
    of_thing = Q(machine=OuterRef("rule__machine")) | Q(implement=OuterRef("rule__implement"))
    before = PlannedTask.objects.filter(of_thing, plan=OuterRef("plan"), ends_at__lte=OuterRef("starts_at"))
    return rows.annotate(
        stands_on=Subquery(fields.values("name")[:1]),
        comes_from=Subquery(before.order_by("-ends_at", "-id").values("field__code")[:1]),
    ).order_by("starts_at", "task_key")


def field_of_stop(stop: PlannedCare) -> str:
    """Return the name of the field that a service stop is made on, as `care_of_plan` gives it; empty at the yard."""
    name: str | None = getattr(stop, "stands_on", None)
    return "" if name is None or stop.rule.place == CarePlace.YARD else name


def care_of_hand(*, farm: Farm, hand: Hand, day: dt.date) -> list[PlannedCare]:
    """Return the service stops that the plan of a day has a hand make on that day of the farm's clock, in order."""
    plan = plans_of_days(farm=farm, days=[day])[day]
    return [] if plan is None else care_of_hand_in(plan=plan, hand=hand, day=day)


def care_of_hand_in(*, plan: WeekPlan, hand: Hand, day: dt.date) -> list[PlannedCare]:
    """Return the service stops that a plan has a hand make on a day, as `care_of_hand` does."""
    return list(care_of_plan(plan=plan).filter(touches_day(plan=plan, day=day), hand=hand))


def tasks_of_hand(*, farm: Farm, hand: Hand, day: dt.date) -> list[PlannedTask]:
    """Return what the plan of a day has a hand do on that day of the farm's clock, in order.

    A task that rests on that day, because the shift, the field or the hour is shut, is not among them.
    """
    plan = plan_of_day_at_hand(farm=farm, day=day)
    return [] if plan is None else tasks_of_hand_in(plan=plan, hand=hand, day=day)


def tasks_of_hand_in(
    *, plan: WeekPlan, hand: Hand, day: dt.date, of: QuerySet[PlannedTask] | None = None
) -> list[PlannedTask]:
    """Return what a plan has a hand do on a day, as `tasks_of_hand` does; with `of`, those of the plan's tasks as they
    are read there.
    """
    tasks = tasks_of_plan(plan=plan) if of is None else of
    begins, ends = _minutes_of_day(plan, day)
    return [
        task
        for task in tasks.filter(touches_day(plan=plan, day=day), hand=hand)
        if any(s.from_min < ends and s.to_min > begins for s in worked_of(plan).worked(task.task_key))
    ]


def touches_day(*, plan: WeekPlan, day: dt.date) -> Q:
    """Return what picks the tasks and stops of a plan of which some part lies on a day of the farm's clock."""
    horizon = Horizon(plan.starts_at, plan.farm.zone, plan.days)
    begins, ends = _minutes_of_day(plan, day)
    return Q(starts_at__lt=horizon.at(ends), ends_at__gt=horizon.at(begins))


def _minutes_of_day(plan: WeekPlan, day: dt.date) -> tuple[int, int]:
    horizon = Horizon(plan.starts_at, plan.farm.zone, plan.days)
    return horizon.midnight(day), horizon.midnight(day + dt.timedelta(days=1))


def worked_hours(*, plan: WeekPlan, task: PlannedTask) -> list[tuple[dt.datetime, dt.datetime]]:
    """Return the stretches in which a task is worked; between them its outfit stands in the field."""
    known, key = worked_of(plan), (plan.starts_at, task.task_key)
    hours = known.hours.get(key)
    if hours is None:
        horizon = Horizon(plan.starts_at, plan.farm.zone, plan.days)
        hours = tuple((horizon.at(s.from_min), horizon.at(s.to_min)) for s in known.worked(task.task_key))
        known.hours[key] = hours
    return list(hours)


def worked_by_day(
    *, plan: WeekPlan, task: PlannedTask
) -> dict[dt.date, list[tuple[dt.datetime, dt.datetime]]]:
    """Return the stretches in which a task is worked, on the farm's clock, by the day they begin on."""
    told: dict[str, dict[dt.date, list[tuple[dt.datetime, dt.datetime]]]]
    told = made_once(plan, "worked by day", dict, of=plan.farm.zone)
    if task.task_key not in told:
        told[task.task_key] = _by_day(plan, task)
    return dict(told[task.task_key])


def _by_day(plan: WeekPlan, task: PlannedTask) -> dict[dt.date, list[tuple[dt.datetime, dt.datetime]]]:
    zone = ZoneInfo(plan.farm.zone)
    found: dict[dt.date, list[tuple[dt.datetime, dt.datetime]]] = {}
    for begins, ends in worked_hours(plan=plan, task=task):
        local = begins.astimezone(zone)
        found.setdefault(local.date(), []).append((local, ends.astimezone(zone)))
    return found


def left_of_plan(*, plan: WeekPlan) -> list[tuple[str, str]]:
    """Return the passes that a plan left undone, or could not offer, each with its reason in a sentence.

    A pass stands once, by the first of its day parts that is left; if others are planned, it says how many are not.
    Where the field was shut all through, the windows say why.
    """
    shut = {row["pass"]: row for row in plan.windows.get("passes", []) if not row["open"]}
    whys: dict[str, list[str]] = {}
    for row in plan.plan.get("left", []):
        whys.setdefault(_pass_key(row["id"]), []).append(row["why"])
    parts = Counter(_pass_key(row["id"]) for row in plan.problem.get("tasks", []))
    left = {}
    for key, told in whys.items():
        some = f"{len(told)} of {parts[key]} parts left. " if len(told) < parts[key] else ""
        left[key] = some + (_shut_all_through(shut.get(key)) or told[0])
    left.update(dict(plan.not_offered))
    return sorted(left.items())


def not_yet_due_of(*, plan: WeekPlan) -> dict[str, dt.date | None]:
    """Return the passes whose time is after the days of a plan, each with its first day where a day is known."""
    first_on = plan.starts_at.astimezone(ZoneInfo(plan.farm.zone)).date() if plan.not_offered else dt.date.min
    return not_yet_due(not_offered=plan.not_offered, first_on=first_on)


def uncounted_in_words(*, plan: WeekPlan) -> str:
    """Return a sentence on what a plan's cost does not hold: what leaving the passes costs that were not offered; or ""."""
    later = not_yet_due_of(plan=plan)
    count = sum(ALL_REPORTED not in why and key not in later for key, why in plan.not_offered)
    if not count:
        return ""
    says = ngettext(
        "What it costs to leave {count} pass that cannot be planned in these days is not in this sum.",
        "What it costs to leave {count} passes that cannot be planned in these days is not in this sum.",
        count,
    )
    return says.format(count=count)


def _pass_key(task_id: str) -> str:
    return task_id.partition("#")[0]


def _shut_all_through(windows: dict[str, Any] | None) -> str | None:
    if windows is None or not windows["shut"]:
        return None
    longest = max(windows["shut"], key=lambda stretch: stretch["to"] - stretch["from"])
    return f"The field is shut in all these days: {longest['says']}"
