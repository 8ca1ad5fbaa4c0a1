"""Read what the sheets of one farm and day need, once for all its hands."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from zoneinfo import ZoneInfo

from farmops.core.problems import DomainError
from farmops.digests.facts import SheetDay, SheetService
from farmops.farms.models import CarePlace, Farm, Hand
from farmops.weather.selectors import farms_with_weather
from scheduling.models import PassState, PlannedCare, PlannedTask, WeekPlan
from scheduling.selectors.care import thing_name, what_is_done
from scheduling.selectors.care_places import is_brought
from scheduling.selectors.day_rows import DayRows, day_bounds, day_rows, planned_rows
from scheduling.selectors.plans import (
    field_of_stop,
    plans_of_farms,
    worked_hours,
)
from scheduling.selectors.slip_day import DayWeather, day_weather
from scheduling.selectors.slips import slips_of_farm
from scheduling.selectors.windows import pass_windows
from scheduling.slips.known_windows import KnownWindows
from scheduling.slips.slip import JobSlip

OVER = (PassState.FINISHED, PassState.CALLED_OFF)


@dataclass(frozen=True)
class FarmDay:
    """One farm's day: the slips and service stops of each hand, when what they say was known, and the weather."""

    farm: Farm
    day: dt.date
    zone: ZoneInfo
    plan_number: int | None
    slips: Mapping[int, Sequence[JobSlip]]
    services: Mapping[int, Sequence[PlannedCare]]
    known_on: dt.date | None
    weather: DayWeather

    @property
    def busy(self) -> set[int]:
        """Return the ids of the hands that have something to do."""
        return {*self.slips, *self.services}


def sheet_instant(*, farm: Farm, day: dt.date) -> dt.datetime:
    """Return the instant at which the sheets of a day go out; an hour the clock skips counts as it would have run."""
    return dt.datetime.combine(day, farm.sheet_at, tzinfo=ZoneInfo(farm.zone)).astimezone(dt.UTC)


@dataclass(frozen=True)
class Busy:
    """The plan that rules a farm's day, by its number, and the ids of the hands that have something to do by it."""

    plan_no: int | None = None
    hands: frozenset[int] = frozenset()


def hands_with_tasks(*, farm: Farm, day: dt.date) -> frozenset[int]:
    """Return the ids of the hands that have something to do that day by the plan of that day."""
    return busy_of_farms(farms=[farm], day=day)[farm.pk].hands


def busy_of_farms(*, farms: Sequence[Farm], day: dt.date) -> dict[int, Busy]:
    """Return who has something to do on a day by each farm's row id: few queries for those with clocks of one zone."""
    found: dict[int, Busy] = {}
    for zone in sorted({one.zone for one in farms}):
        of_zone = [one for one in farms if one.zone == zone]
        found |= {one.pk: Busy() for one in of_zone}
        plans = plans_of_farms(farms=of_zone, day=day)
        tasks, stops = planned_rows(plans=plans, day=day, zone=zone)
        for farm in of_zone:
            if farm.pk not in plans:
                continue
            plan = plans[farm.pk]
            worked = _worked(plan, tasks.get(farm.pk, ()), farm=farm, day=day)
            busy = {task.hand_id for task in worked} | {stop.hand_id for stop in stops.get(farm.pk, ())}
            found[farm.pk] = Busy(plan.number, frozenset(one for one in busy if one is not None))
    return found


@dataclass(frozen=True)
class ReadFarm:
    """What is read of a farm for a day: the rows of its plan, none where no plan rules the day, and if it has weather."""

    rows: DayRows | None
    has_weather: bool


def read_farms(*, farms: Sequence[Farm], day: dt.date) -> dict[int, ReadFarm]:
    """Read a day of some farms by their row ids: a fixed number of queries for those whose clocks run in one zone."""
    found: dict[int, ReadFarm] = {}
    for zone in sorted({one.zone for one in farms}):
        of_zone = [one for one in farms if one.zone == zone]
        rows = day_rows(plans=plans_of_farms(farms=of_zone, day=day), day=day, zone=zone)
        with_weather = farms_with_weather(farms=[one.pk for one in of_zone])
        found |= {one.pk: ReadFarm(rows.get(one.pk), one.pk in with_weather) for one in of_zone}
    return found


def farm_day(*, farm: Farm, day: dt.date, read: ReadFarm | None = None) -> FarmDay:
    """Return a farm's day by the plan of that day, as it is at the hour of the sheets: asked again, it is the same.

    `read` is what `read_farms` gave of it.
    """
    read = read_farms(farms=[farm], day=day)[farm.pk] if read is None else read
    weather = DayWeather()
    if read.has_weather:
        weather = day_weather(farm=farm, day=day, as_of=day - dt.timedelta(days=1))
    nothing = FarmDay(farm, day, ZoneInfo(farm.zone), None, {}, {}, None, weather)
    if read.rows is None:
        return nothing
    plan = read.rows.plan
    tasks = _worked(plan, read.rows.tasks, farm=farm, day=day)
    windows = _windows(plan, tasks, farm=farm, day=day, has_weather=read.has_weather)
    return replace(
        nothing,
        plan_number=plan.number,
        slips=_slips(tasks, windows, read.rows, weather, farm=farm, day=day),
        services=_services_by_hand(read.rows),
        known_on=windows.as_of,
    )


def _worked(plan: WeekPlan, rows: Sequence[PlannedTask], *, farm: Farm, day: dt.date) -> list[PlannedTask]:
    """Return the tasks of a plan that somebody works at on a day, without those that are over."""
    begins, ends = day_bounds(day=day, zone=farm.zone)
    return [
        task
        for task in rows
        if task.field_pass.state not in OVER
        and any(start < ends and end > begins for start, end in worked_hours(plan=plan, task=task))
    ]


def _slips(
    tasks: Sequence[PlannedTask],
    windows: KnownWindows,
    read: DayRows,
    weather: DayWeather,
    *,
    farm: Farm,
    day: dt.date,
) -> dict[int, list[JobSlip]]:
    """Return the slips of each hand, counted without the passes that are over."""
    if not tasks:
        return {}
    still = {task.pk for task in tasks}
    now = sheet_instant(farm=farm, day=day)
    of_farm = slips_of_farm(farm=farm, day=day, now=now, windows=windows, read=read, weather=weather)
    found: dict[int, list[JobSlip]] = {}
    for hand_id, slips in of_farm.items():
        mine = [slip for slip in slips if slip.task_id in still]
        if len(mine) == len(slips):
            found[hand_id] = mine
        elif mine:
            found[hand_id] = [
                replace(slip, number=number, count=len(mine)) for number, slip in enumerate(mine, 1)
            ]
    return found


def _services_by_hand(read: DayRows) -> dict[int, list[PlannedCare]]:
    """Return each hand's service stops that begin on a day, without those that were done since the plan began."""
    found: dict[int, list[PlannedCare]] = {}
    for stop in read.stops:
        if stop.hand_id is not None and stop.rule_id not in read.served:
            found.setdefault(stop.hand_id, []).append(stop)
    return found


def _windows(
    plan: WeekPlan, tasks: Sequence[PlannedTask], *, farm: Farm, day: dt.date, has_weather: bool
) -> KnownWindows:
    """Return the windows of the day's passes as known last evening; without weather, those the plan was made on."""
    passes = {task.field_pass_id: task.field_pass for task in tasks}
    if not passes:
        return KnownWindows({})
    if not has_weather:
        return KnownWindows(plan.windows)
    yesterday = day - dt.timedelta(days=1)
    try:
        report = pass_windows(
            farm=farm,
            passes=list(passes.values()),
            starts_at=day_bounds(day=yesterday, zone=farm.zone)[0],
            days=2,
            as_of=yesterday,
            fields=list({one.season.field_id: one.season.field for one in passes.values()}.values()),
        )
    except DomainError:
        return KnownWindows(plan.windows)
    return KnownWindows(report.to_json())


def sheet_day(
    *,
    facts: FarmDay,
    hand: Hand,
    language: str,
    is_late: bool = False,
    report_at: str = "",
    is_own_link: bool = False,
    is_metric: bool = False,
    has_changed: bool = False,
) -> SheetDay:
    """Return a hand's part of a farm's day."""
    farm = facts.farm
    return SheetDay(
        farm_name=farm.name,
        hand_name=hand.name,
        day=facts.day,
        slips=tuple(facts.slips.get(hand.pk, ())),
        services=tuple(sheet_service(facts, one, language) for one in facts.services.get(hand.pk, ())),
        boss_name=farm.boss_name,
        boss_phone=farm.boss_phone,
        emergency_number=farm.emergency_number,
        farm_address=farm.road_address,
        temp_max_f=facts.weather.temp_max_f,
        rain_chance=facts.weather.rain_chance,
        known_on=facts.known_on,
        is_late=is_late,
        report_at=report_at,
        is_own_link=is_own_link,
        is_metric=is_metric,
        has_changed=has_changed,
    )


def sheet_service(facts: FarmDay, stop: PlannedCare, language: str) -> SheetService:
    """Return a service stop as a sheet tells it."""
    rule = stop.rule
    return SheetService(
        what=what_is_done(rule, language),
        tool_name=thing_name(rule, language),
        is_at_yard=rule.place == CarePlace.YARD,
        field_name=field_of_stop(stop),
        is_brought=is_brought(stop),
        is_of_pivot=rule.pivot_id is not None,
        starts_at=stop.starts_at.astimezone(facts.zone),
        ends_at=stop.ends_at.astimezone(facts.zone),
        work_min=stop.work_min,
    )
