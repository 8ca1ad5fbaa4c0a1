"""What machines, implements and pivots run: each day that was, and each day that the plan holds."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping
from decimal import Decimal
from zoneinfo import ZoneInfo

from farmops.core.clock import local_date
from farmops.farms.models import Farm, Pivot
from farmops.farms.operations import Operation
from scheduling.care import Use
from scheduling.models import PlannedTask
from scheduling.selectors.pivot_runs import Stretch, pivot_runs
from scheduling.selectors.plans import current_plan_in_short
from scheduling.selectors.work_of_things import Thing, standing_work, work_by_thing

UseByDay = Mapping[dt.date, Use]


def use_by_day(
    *, farm: Farm, since: dt.date, at: dt.datetime, only: Thing | None = None
) -> Mapping[Thing, UseByDay]:
    """Return hours, acres and outings of things by days from `since` up to an instant, as they were reported.

    Of every thing of the farm, or at least of the only one that is asked for.
    """
    zone = ZoneInfo(farm.zone)
    found: dict[Thing, dict[dt.date, Use]] = defaultdict(dict)
    records = standing_work(farm=farm).filter(work_on__gte=since).order_by("work_on", "id")
    pivots = Pivot.objects.filter(farm=farm)
    if only is not None:
        kind, pk = only
        records = records.filter(**{kind.lower(): pk}) if kind != "Pivot" else records.none()
        pivots = pivots.filter(pk=pk) if kind == "Pivot" else pivots.none()
    for thing, worked in work_by_thing(records, zone).items():
        for one in worked:
            if one.began_at < at and one.is_outing:
                day = one.began_at.astimezone(zone).date()
                hours = Decimal(one.engine_min) / 60
                _add(found[thing], day, Use(hours, one.done_ac), starts=Decimal(1))
    rows = list(pivots.select_related("field", "pump").defer("field__boundary"))
    for pivot_id, stretches in pivot_runs(farm=farm, pivots=rows, at=at).items() if rows else ():
        for day, use in _pivot_days(stretches, zone):
            if day >= since:
                _add(found["Pivot", pivot_id], day, use, starts=None)
    return found


def planned_use(*, farm: Farm, now: dt.datetime) -> tuple[list[dt.date], Mapping[Thing, UseByDay]]:
    """Return the days from today on that the plan which counts covers, and what it has each thing run on them.

    What was planned for before now is left out. Without a plan that reaches today there are no days.
    """
    plan = current_plan_in_short(farm=farm)
    today = local_date(now, farm.zone)
    if plan is None:
        return [], {}
    zone = ZoneInfo(farm.zone)
    first = plan.starts_at.astimezone(zone).date()
    days = [first + dt.timedelta(days=number) for number in range(plan.days)]
    days = [day for day in days if day >= today]
    if not days or first > today:
        return [], {}
    pivots = dict(Pivot.objects.filter(farm=farm).values_list("field_id", "pk"))
    found: dict[Thing, dict[dt.date, Use]] = defaultdict(dict)
    for task in PlannedTask.objects.filter(plan=plan, ends_at__gt=now).order_by("starts_at", "task_key"):
        for thing in _things(task, pivots):
            for day, use in _shares(task, zone):
                _add(found[thing], day, use, starts=None if thing[0] == "Pivot" else Decimal(1))
    return days, found


def pace_of(used: UseByDay, *, days: int) -> Use:
    """Return what a thing ran on an average day of so many."""
    return Use(
        hours=sum((one.hours for one in used.values()), Decimal(0)) / days,
        acres=sum((one.acres for one in used.values()), Decimal(0)) / days,
        starts=sum((one.starts for one in used.values()), Decimal(0)) / days,
    )


def _add(days: dict[dt.date, Use], day: dt.date, use: Use, *, starts: Decimal | None) -> None:
    """Add what was run on a day; `starts` of the whole day where they do not add up."""
    before = days.get(day, Use())
    days[day] = Use(
        before.hours + use.hours,
        before.acres + use.acres,
        before.starts + use.starts if starts is None else starts,
    )


def _pivot_days(stretches: Iterable[Stretch], zone: ZoneInfo) -> Iterable[tuple[dt.date, Use]]:
    for begins, ends in stretches:
        for number, (day, minutes) in enumerate(_minutes_by_day(begins, ends, zone)):
            yield day, Use(Decimal(minutes) / 60, Decimal(0), Decimal(number == 0))


def _things(task: PlannedTask, pivots: Mapping[int, int]) -> list[Thing]:
    if task.operation == Operation.IRRIGATE:
        return [("Pivot", pivots[task.field_id])] if task.field_id in pivots else []
    found: list[Thing] = []
    if task.machine_id is not None:
        found.append(("Machine", task.machine_id))
    if task.implement_id is not None:
        found.append(("Implement", task.implement_id))
    return found


def _shares(task: PlannedTask, zone: ZoneInfo) -> Iterable[tuple[dt.date, Use]]:
    """Share the minutes and acres of a task to the days it runs over, by the time it has on each."""
    parts = _minutes_by_day(task.starts_at, task.ends_at, zone)
    whole = sum(minutes for _day, minutes in parts)
    for number, (day, minutes) in enumerate(parts):
        share = Decimal(minutes) / whole
        yield day, Use(task.work_min * share / 60, task.area_ac * share, Decimal(number == 0))


def _minutes_by_day(begins: dt.datetime, ends: dt.datetime, zone: ZoneInfo) -> list[tuple[dt.date, int]]:
    """Return the minutes of a stretch on each day of the clock that it touches."""
    found = []
    day = begins.astimezone(zone).date()
    while begins < ends:
        midnight = dt.datetime.combine(day + dt.timedelta(days=1), dt.time(), tzinfo=zone).astimezone(dt.UTC)
        until = min(midnight, ends)
        found.append((day, (until - begins) // dt.timedelta(minutes=1)))
        begins, day = until, day + dt.timedelta(days=1)
    return [(on, minutes) for on, minutes in found if minutes > 0]
