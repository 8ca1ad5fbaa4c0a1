"""The rows that the slips of a day are made from, read at once for several farms whose clocks run in one zone."""

import datetime as dt
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from django.db.models import Count, QuerySet

from farmops.core.ready import Among, Ready
from farmops.farms.models import CareRule, Field, Hand, HandAway, Implement, Machine, SoilZone
from scheduling.models import (
    CareDone,
    CheckTicked,
    PassState,
    PlannedCare,
    PlannedTask,
    SaySo,
    WeekPlan,
)
from scheduling.selectors.by_farm import rows_by_farm
from scheduling.selectors.care import rules_of_farms
from scheduling.selectors.plans import care_stops
from scheduling.selectors.slip_history import farms_with_looks
from scheduling.selectors.sprayed import LONGEST_REENTRY_DAYS, NOTHING_SPRAYED, SprayRows, spray_rows

ONE_DAY = dt.timedelta(days=1)
OVER = (PassState.CALLED_OFF,)
OWN = ("field", "field_pass__season", "hand")
"""What is read in a row with each task; machines and implements are shared by many, and read once."""
_IDS, _DAY = (-1,), dt.date(1, 1, 1)
_BEGINS, _ENDS = (dt.datetime(1, 1, day, tzinfo=dt.UTC) for day in (2, 3))


def _tasks_of(plans: Collection[int], ends: dt.datetime, begins: dt.datetime) -> QuerySet[PlannedTask]:
    rows = PlannedTask.objects.filter(Among("plan_id", plans), hand__isnull=False)
    rows = rows.filter(starts_at__lt=ends, ends_at__gt=begins).exclude(field_pass__state__in=OVER)
    return rows.select_related(*OWN).order_by("starts_at", "task_key")


TASKS = Ready(_tasks_of, _IDS, _ENDS, _BEGINS)
OF_HAND = Ready(
    lambda plans, ends, begins, hand_id: _tasks_of(plans, ends, begins).filter(hand=hand_id),
    _IDS,
    _ENDS,
    _BEGINS,
    -2,
)
MACHINES = Ready(lambda ids: Machine.objects.filter(Among("pk", ids)).order_by(), _IDS)
IMPLEMENTS = Ready(lambda ids: Implement.objects.filter(Among("pk", ids)).order_by(), _IDS)
STOPS = Ready(
    lambda plans, begins, ends: care_stops().filter(
        Among("plan_id", plans), starts_at__gte=begins, starts_at__lt=ends
    ),
    _IDS,
    _BEGINS,
    _ENDS,
)
PLACES = Ready(
    lambda farms: (
        Field.objects.filter(Among("farm_id", farms))
        .only("farm_id", "code", "name", "latitude_deg", "longitude_deg")
        .order_by()
    ),
    _IDS,
)
ZONES = Ready(lambda fields: SoilZone.objects.filter(Among("field_id", fields)).order_by("id"), _IDS)
SAID = Ready(
    lambda farms, day: (
        SaySo.objects.filter(Among("farm_id", farms), day=day, is_taken_back=False)
        .select_related("zone")
        .order_by("said_at", "id")
        .annotate(zone_count=Count("field__zones"))
    ),
    _IDS,
    _DAY,
)
AWAY = Ready(
    lambda farms, day, same_day: HandAway.objects.filter(
        Among("farm_id", farms), first_on__lte=day, last_on__gte=same_day
    ).order_by("id"),
    _IDS,
    _DAY,
    _DAY + ONE_DAY,
)
TICKED = Ready(
    lambda farms, day: (
        CheckTicked.objects.filter(Among("farm_id", farms), work_on=day)
        .select_related("machine", "implement")
        .order_by()
    ),
    _IDS,
    _DAY,
)


@dataclass(frozen=True)
class DayRows:
    """What is read of one farm for a day by its plan.

    `tasks` are those of hands that may fall on the day, but for those called off; `stops` the services that begin on
    it, `served` of these rules what was done since the plan began. `places` are the farm's fields, with what ways to
    them need; `zones` those of the fields that have tasks. `has_looks`: some work was reported with how it looked.
    `away` says which hands are away on the day.
    """

    plan: WeekPlan
    tasks: Sequence[PlannedTask]
    stops: Sequence[PlannedCare] = ()
    served: frozenset[int] = frozenset()
    places: Sequence[Field] = ()
    zones: Sequence[SoilZone] = ()
    words: Sequence[SaySo] = ()
    sprays: SprayRows = NOTHING_SPRAYED
    rules: Sequence[CareRule] = ()
    ticks: Sequence[CheckTicked] = ()
    has_looks: bool = False
    away: Sequence[HandAway] = ()


def day_rows(
    *, plans: Mapping[int, WeekPlan], day: dt.date, zone: str, hand: Hand | None = None
) -> dict[int, DayRows]:
    """Read a day of some farms by the plan of each (by the farm's row id): a fixed number of queries for all of them.

    With a hand, only that hand's tasks.
    """
    if not plans:
        return {}
    begins, ends = day_bounds(day=day, zone=zone)
    farms, of_plans = list(plans), list(plans.values())
    tasks = rows_by_farm(_tasks(of_plans, begins, ends, hand))
    stops = rows_by_farm(STOPS.ask([plan.pk for plan in of_plans], begins, ends))
    fields = rows_by_farm(PLACES.ask(farms))
    with_tasks = {task.field_id for of_farm in tasks.values() for task in of_farm}
    zones = rows_by_farm(ZONES.ask(with_tasks))
    words = rows_by_farm(SAID.ask(farms, day))
    sprays = spray_rows(farms=farms, zone=zone, first=day - LONGEST_REENTRY_DAYS * ONE_DAY, last=day)
    rules = rows_by_farm(rules_of_farms(farms=farms))
    ticks = rows_by_farm(TICKED.ask(farms, day))
    away = rows_by_farm(AWAY.ask(farms, day, day))
    looked = farms_with_looks(farms=farms, before=day)
    served = _served(stops, plans)
    return {
        pk: DayRows(
            plan=plan,
            tasks=tasks.get(pk, ()),
            stops=stops.get(pk, ()),
            served=served.get(pk, frozenset()),
            places=fields.get(pk, ()),
            zones=zones.get(pk, ()),
            words=words.get(pk, ()),
            sprays=sprays.get(pk, NOTHING_SPRAYED),
            rules=rules.get(pk, ()),
            ticks=ticks.get(pk, ()),
            has_looks=pk in looked,
            away=away.get(pk, ()),
        )
        for pk, plan in plans.items()
    }


def planned_rows(
    *, plans: Mapping[int, WeekPlan], day: dt.date, zone: str
) -> tuple[dict[int, list[PlannedTask]], dict[int, list[PlannedCare]]]:
    """Read the tasks of hands that may fall on a day, and the stops that begin on it and are still to be made, by farm."""
    begins, ends = day_bounds(day=day, zone=zone)
    of_plans = list(plans.values())
    tasks = PlannedTask.objects.filter(
        plan__in=of_plans, hand__isnull=False, starts_at__lt=ends, ends_at__gt=begins
    )
    found = rows_by_farm(tasks.exclude(field_pass__state__in=OVER).select_related("field_pass").order_by())
    stops = PlannedCare.objects.filter(plan__in=of_plans, starts_at__gte=begins, starts_at__lt=ends)
    care = rows_by_farm(stops.order_by())
    served = _served(care, plans)
    left = {
        pk: [stop for stop in rows if stop.rule_id not in served.get(pk, ())] for pk, rows in care.items()
    }
    return found, left


def day_bounds(*, day: dt.date, zone: str) -> tuple[dt.datetime, dt.datetime]:
    """Return the instants at which a day of a zone's clock begins and ends."""
    clock = ZoneInfo(zone)
    begins, ends = (dt.datetime.combine(one, dt.time(), tzinfo=clock) for one in (day, day + ONE_DAY))
    return begins.astimezone(dt.UTC), ends.astimezone(dt.UTC)


def _tasks(
    plans: Sequence[WeekPlan], begins: dt.datetime, ends: dt.datetime, hand: Hand | None
) -> list[PlannedTask]:
    ids = [plan.pk for plan in plans]
    tasks = TASKS.ask(ids, ends, begins) if hand is None else OF_HAND.ask(ids, ends, begins, hand.pk)
    machines = {one.pk: one for one in MACHINES.ask({task.machine_id for task in tasks if task.machine_id})}
    implements = {
        one.pk: one for one in IMPLEMENTS.ask({task.implement_id for task in tasks if task.implement_id})
    }
    for task in tasks:
        task.machine = machines.get(task.machine_id or 0)
        task.implement = implements.get(task.implement_id or 0)
        season = task.field_pass.season
        if season.field_id == task.field_id:
            season.field = task.field
    return tasks


def _served(
    stops: Mapping[int, Sequence[PlannedCare]], plans: Mapping[int, WeekPlan]
) -> dict[int, frozenset[int]]:
    """Return by farm the rules of its stops that were served since its plan began."""
    rules = {stop.rule_id for of_farm in stops.values() for stop in of_farm}
    if not rules:
        return {}
    standing = CareDone.objects.filter(rule__in=rules, superseded_by__isnull=True, is_taken_back=False)
    found: dict[int, set[int]] = {}
    for farm_id, rule_id, done_at in standing.order_by().values_list("farm_id", "rule_id", "done_at"):
        if farm_id in plans and done_at >= plans[farm_id].starts_at:
            found.setdefault(farm_id, set()).add(rule_id)
    return {farm_id: frozenset(served) for farm_id, served in found.items()}
