"""Read what the sheets of one farm and day need, once for all its hands."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from zoneinfo import ZoneInfo

import numpy as np
from django.db.models import Count

from farmops.core.problems import DomainError
from farmops.digests.facts import BossWord, SheetDay, SheetService, SheetTask
from farmops.farms.models import CarePlace, Farm, Hand
from farmops.farms.operations import Operation
from farmops.science.units import fahrenheit_from_celsius
from farmops.weather.selectors import NoWeather, daily_series
from scheduling.models import PassState, PlannedCare, PlannedTask, SaySo, WeekPlan
from scheduling.selectors.care import standing_care
from scheduling.selectors.passes import pass_key
from scheduling.selectors.plans import care_of_plan, plan_of_day, tasks_of_plan, worked_hours
from scheduling.selectors.windows import pass_windows
from scheduling.slips.known_windows import KnownWindows

TENTH = Decimal("0.1")
OVER = (PassState.FINISHED, PassState.CALLED_OFF)


@dataclass(frozen=True)
class DayWeather:
    """What the day may bring, as known the evening before; None where nothing is known."""

    temp_max_f: float | None = None
    rain_chance: float | None = None


@dataclass(frozen=True)
class TaskToday:
    """A planned task with the hours and the share of its work that fall on the day."""

    task: PlannedTask
    starts_at: dt.datetime
    ends_at: dt.datetime
    work_min: int
    share: Decimal


@dataclass(frozen=True)
class FarmDay:
    """One farm's day: the tasks and service stops of each hand, the windows behind the plan, the grower's words, the weather."""

    farm: Farm
    day: dt.date
    zone: ZoneInfo
    plan_number: int | None
    tasks: Mapping[int, Sequence[TaskToday]]
    services: Mapping[int, Sequence[PlannedCare]]
    windows: KnownWindows
    boss_words: Mapping[int, tuple[BossWord, ...]]
    weather: DayWeather

    @property
    def busy(self) -> set[int]:
        """Return the ids of the hands that have something to do."""
        return {*self.tasks, *self.services}


def sheet_instant(*, farm: Farm, day: dt.date) -> dt.datetime:
    """Return the instant at which the sheets of a day go out; an hour the clock skips counts as it would have run."""
    return dt.datetime.combine(day, farm.sheet_at, tzinfo=ZoneInfo(farm.zone)).astimezone(dt.UTC)


def hands_with_tasks(*, farm: Farm, day: dt.date) -> set[int]:
    """Return the ids of the hands that have something to do that day by the plan of that day."""
    plan = plan_of_day(farm=farm, day=day)
    if plan is None:
        return set()
    return {*_tasks_by_hand(plan, farm=farm, day=day), *_services_by_hand(plan, farm=farm, day=day)}


def farm_day(*, farm: Farm, day: dt.date) -> FarmDay:
    """Return a farm's day by the plan of that day."""
    plan = plan_of_day(farm=farm, day=day)
    tasks = _tasks_by_hand(plan, farm=farm, day=day) if plan else {}
    return FarmDay(
        farm=farm,
        day=day,
        zone=ZoneInfo(farm.zone),
        plan_number=plan.number if plan else None,
        tasks=tasks,
        services=_services_by_hand(plan, farm=farm, day=day) if plan else {},
        windows=_windows(plan, tasks, farm=farm, day=day) if plan else KnownWindows({}),
        boss_words=_boss_words(farm=farm, day=day),
        weather=_weather(farm=farm, day=day),
    )


def _tasks_by_hand(plan: WeekPlan, *, farm: Farm, day: dt.date) -> dict[int, list[TaskToday]]:
    """Return each hand's tasks of a day in the order of the clock, without those that are over.

    A task that runs over several days shows the hours in which it is worked on this one.
    """
    begins, ends = _bounds(farm, day)
    rows = tasks_of_plan(plan=plan).filter(hand__isnull=False, starts_at__lt=ends, ends_at__gt=begins)
    tasks: dict[int, list[TaskToday]] = {}
    for task in rows.exclude(field_pass__state__in=OVER):
        worked = worked_hours(plan=plan, task=task)
        today = [
            (max(start, begins), min(end, ends)) for start, end in worked if start < ends and end > begins
        ]
        if today and task.hand_id is not None:
            all_min = sum(((end - start) for start, end in worked), dt.timedelta())
            today_min = sum(((end - start) for start, end in today), dt.timedelta())
            tasks.setdefault(task.hand_id, []).append(
                TaskToday(
                    task=task,
                    starts_at=today[0][0],
                    ends_at=today[-1][1],
                    work_min=round(today_min.total_seconds() / 60),
                    share=Decimal(round(today_min.total_seconds())) / Decimal(round(all_min.total_seconds())),
                )
            )
    return tasks


def _services_by_hand(plan: WeekPlan, *, farm: Farm, day: dt.date) -> dict[int, list[PlannedCare]]:
    """Return each hand's service stops that begin on a day, without those that were done since the plan began."""
    begins, ends = _bounds(farm, day)
    stops = care_of_plan(plan=plan).filter(hand__isnull=False, starts_at__gte=begins, starts_at__lt=ends)
    done = standing_care(farm=farm).filter(done_at__gte=plan.starts_at)
    found: dict[int, list[PlannedCare]] = {}
    for stop in stops.exclude(rule__in=done.values("rule")):
        found.setdefault(stop.hand_id or 0, []).append(stop)
    return found


def _bounds(farm: Farm, day: dt.date) -> tuple[dt.datetime, dt.datetime]:
    zone = ZoneInfo(farm.zone)
    begins = dt.datetime.combine(day, dt.time(), tzinfo=zone)
    ends = dt.datetime.combine(day + dt.timedelta(days=1), dt.time(), tzinfo=zone)
    return begins.astimezone(dt.UTC), ends.astimezone(dt.UTC)


def _windows(
    plan: WeekPlan, tasks: Mapping[int, Sequence[TaskToday]], *, farm: Farm, day: dt.date
) -> KnownWindows:
    """Return the windows of the day's passes as known last evening; without weather, those the plan was made on."""
    passes = {one.task.field_pass_id: one.task.field_pass for of_hand in tasks.values() for one in of_hand}
    if not passes:
        return KnownWindows({})
    yesterday = day - dt.timedelta(days=1)
    try:
        report = pass_windows(
            farm=farm,
            passes=list(passes.values()),
            starts_at=_bounds(farm, yesterday)[0],
            days=2,
            as_of=yesterday,
            fields=list({one.season.field_id: one.season.field for one in passes.values()}.values()),
        )
    except DomainError:
        return KnownWindows(plan.windows)
    return KnownWindows(report.to_json())


def sheet_day(*, facts: FarmDay, hand: Hand, language: str, is_late: bool = False) -> SheetDay:
    """Return a hand's part of a farm's day."""
    farm = facts.farm
    tasks = facts.tasks.get(hand.pk, ())
    return SheetDay(
        farm_name=farm.name,
        hand_name=hand.name,
        day=facts.day,
        tasks=tuple(_sheet_task(facts, task) for task in tasks),
        services=tuple(_sheet_service(facts, one, language) for one in facts.services.get(hand.pk, ())),
        boss_name=farm.boss_name,
        boss_phone=farm.boss_phone,
        emergency_number=farm.emergency_number,
        farm_address=farm.road_address,
        temp_max_f=facts.weather.temp_max_f,
        rain_chance=facts.weather.rain_chance,
        known_on=facts.windows.as_of,
        is_late=is_late,
    )


def _sheet_service(facts: FarmDay, stop: PlannedCare, language: str) -> SheetService:
    rule = stop.rule
    return SheetService(
        what=rule.what_es if language == "es" and rule.what_es else rule.what,
        tool_name=str(stop.machine or stop.implement or ""),
        is_at_yard=rule.place == CarePlace.YARD,
        starts_at=stop.starts_at.astimezone(facts.zone),
        ends_at=stop.ends_at.astimezone(facts.zone),
        work_min=stop.work_min,
    )


def _sheet_task(facts: FarmDay, today: TaskToday) -> SheetTask:
    task = today.task
    operation = Operation(task.operation)
    field = task.field
    known = facts.windows.pass_day(
        pass_key=pass_key(task.field_pass),
        starts_at=today.starts_at,
        ends_at=today.ends_at,
        zone=facts.zone,
    )
    return SheetTask(
        operation=operation,
        field_name=field.name,
        entrance=field.entrance,
        road_address=field.road_address,
        latitude_deg=field.latitude_deg,
        longitude_deg=field.longitude_deg,
        starts_at=today.starts_at.astimezone(facts.zone),
        ends_at=today.ends_at.astimezone(facts.zone),
        work_min=today.work_min,
        area_ac=(task.area_ac * today.share).quantize(TENTH),
        part_no=task.part_no,
        part_count=task.part_count,
        is_strip=task.field_pass.part == "strip",
        water_in=task.field_pass.depth_in,
        machine_name=task.machine.name if task.machine else "",
        implement_name=task.implement.name if task.implement else "",
        wide_on_road=bool(task.implement and task.implement.wide_on_road),
        ground=facts.windows.ground(
            field_code=field.code, day=facts.day, with_soil_temp=operation is Operation.PLANT
        ),
        open_chance=known.open_chance,
        shut=known.shut,
        boss_words=facts.boss_words.get(field.pk, ()),
    )


def _boss_words(*, farm: Farm, day: dt.date) -> dict[int, tuple[BossWord, ...]]:
    """Return what stands of the grower's words on each field; a word on a field is said of its zones too."""
    rows = SaySo.objects.filter(farm=farm, day=day).select_related("zone").order_by("said_at", "id")
    found: dict[int, dict[int | None, BossWord]] = {}
    zones: dict[int, int] = {}
    for row in rows.annotate(zone_count=Count("field__zones")):
        zones[row.field_id] = row.zone_count
        if row.zone is None:
            found[row.field_id] = {}
        said = BossWord(row.word, row.after_at, row.zone.name if row.zone else "")
        found.setdefault(row.field_id, {})[row.zone_id] = said
    told: dict[int, tuple[BossWord, ...]] = {}
    for field_id, words in found.items():
        whole = {replace(one, zone="") for one in words.values()}
        is_one_word = len(whole) == 1 and (None in words or len(words) == zones[field_id])
        told[field_id] = tuple(whole if is_one_word else words.values())
    return told


def _weather(*, farm: Farm, day: dt.date) -> DayWeather:
    try:
        series = daily_series(farm=farm, first=day, last=day, as_of=day - dt.timedelta(days=1))
    except NoWeather:
        return DayWeather()
    high, chance = series.temp_max_c[0], series.rain_chance[0]
    return DayWeather(
        temp_max_f=None if np.isnan(high) else float(fahrenheit_from_celsius(high)),
        rain_chance=None if np.isnan(chance) else float(chance),
    )
