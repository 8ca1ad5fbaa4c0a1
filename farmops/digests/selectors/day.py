"""Read what the sheets of one farm and day need, once for all its hands."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

import numpy as np

from farmops.digests.facts import BossWord, SheetDay, SheetTask
from farmops.digests.known_windows import KnownWindows, fahrenheit
from farmops.farms.models import Farm, Hand
from farmops.farms.operations import Operation
from farmops.weather.selectors import NoWeather, daily_series
from scheduling.models import PassState, PlannedTask, PlanState, SaySo, WeekPlan
from scheduling.selectors.passes import pass_key

OVER = (PassState.FINISHED, PassState.CALLED_OFF)


@dataclass(frozen=True)
class DayWeather:
    """What the day may bring, as known the evening before; None where nothing is known."""

    temp_max_f: float | None = None
    rain_chance: float | None = None


@dataclass(frozen=True)
class FarmDay:
    """One farm's day: the tasks of each hand, the windows behind the plan, the grower's words, the weather."""

    farm: Farm
    day: dt.date
    zone: ZoneInfo
    plan_number: int | None
    tasks: Mapping[int, Sequence[PlannedTask]]
    windows: KnownWindows
    say_sos: Mapping[int, SaySo]
    weather: DayWeather


def sheet_instant(*, farm: Farm, day: dt.date) -> dt.datetime:
    """Return the instant at which the sheets of a day go out; an hour the clock skips counts as it would have run."""
    return dt.datetime.combine(day, farm.sheet_at, tzinfo=ZoneInfo(farm.zone)).astimezone(dt.UTC)


def hands_with_tasks(*, farm: Farm, day: dt.date) -> set[int]:
    """Return the ids of the hands that have something to do that day by the plan that was sent."""
    return set(sent_tasks(farm=farm, day=day))


def sent_tasks(*, farm: Farm, day: dt.date) -> dict[int, list[PlannedTask]]:
    """Return each hand's tasks of a day in the order of the clock, without those that are over."""
    zone = ZoneInfo(farm.zone)
    begins = dt.datetime.combine(day, dt.time(), tzinfo=zone)
    ends = dt.datetime.combine(day + dt.timedelta(days=1), dt.time(), tzinfo=zone)
    rows = (
        PlannedTask.objects.filter(
            farm=farm,
            plan__state=PlanState.SENT,
            hand__isnull=False,
            starts_at__gte=begins,
            starts_at__lt=ends,
        )
        .exclude(field_pass__state__in=OVER)
        .select_related("field", "machine", "implement", "field_pass__season__field")
        .order_by("starts_at", "task_key")
    )
    tasks: dict[int, list[PlannedTask]] = {}
    for task in rows:
        tasks.setdefault(task.hand_id or 0, []).append(task)
    return tasks


def farm_day(*, farm: Farm, day: dt.date) -> FarmDay:
    """Return a farm's day."""
    tasks = sent_tasks(farm=farm, day=day)
    plan = _plan_of(tasks)
    return FarmDay(
        farm=farm,
        day=day,
        zone=ZoneInfo(farm.zone),
        plan_number=plan.number if plan else None,
        tasks=tasks,
        windows=KnownWindows(plan.windows if plan else {}),
        say_sos=_newest_say_sos(farm=farm, day=day),
        weather=_weather(farm=farm, day=day),
    )


def sheet_day(*, facts: FarmDay, hand: Hand, language: str, is_late: bool = False) -> SheetDay:
    """Return a hand's part of a farm's day."""
    farm = facts.farm
    tasks = facts.tasks.get(hand.pk, ())
    return SheetDay(
        farm_name=farm.name,
        hand_name=hand.name,
        day=facts.day,
        tasks=tuple(_sheet_task(facts, task, language) for task in tasks),
        boss_name=farm.boss_name,
        boss_phone=farm.boss_phone,
        emergency_number=farm.emergency_number,
        farm_address=farm.road_address,
        temp_max_f=facts.weather.temp_max_f,
        rain_chance=facts.weather.rain_chance,
        known_on=facts.windows.as_of,
        is_late=is_late,
    )


def _sheet_task(facts: FarmDay, task: PlannedTask, language: str) -> SheetTask:
    operation = Operation(task.operation)
    field = task.field
    known = facts.windows.pass_day(
        pass_key=pass_key(task.field_pass),
        starts_at=task.starts_at,
        ends_at=task.ends_at,
        zone=facts.zone,
        language=language,
    )
    say_so = facts.say_sos.get(field.pk)
    return SheetTask(
        operation=operation,
        field_name=field.name,
        entrance=field.entrance,
        road_address=field.road_address,
        latitude_deg=field.latitude_deg,
        longitude_deg=field.longitude_deg,
        starts_at=task.starts_at.astimezone(facts.zone),
        ends_at=task.ends_at.astimezone(facts.zone),
        work_min=task.work_min,
        area_ac=task.area_ac,
        part_no=task.part_no,
        part_count=task.part_count,
        is_strip=task.field_pass.part == "strip",
        machine_name=task.machine.name if task.machine else "",
        implement_name=task.implement.name if task.implement else "",
        wide_on_road=bool(task.implement and task.implement.wide_on_road),
        ground=facts.windows.ground(
            field_code=field.code, day=facts.day, with_soil_temp=operation is Operation.PLANT
        ),
        open_chance=known.open_chance,
        shut=known.shut,
        boss_word=BossWord(say_so.word, say_so.after_at) if say_so else None,
    )


def _plan_of(tasks: Mapping[int, Sequence[PlannedTask]]) -> WeekPlan | None:
    """Return the newest plan among the tasks of a day."""
    numbers = {task.plan_id for of_hand in tasks.values() for task in of_hand}
    return WeekPlan.objects.filter(pk__in=numbers).order_by("-number").first()


def _newest_say_sos(*, farm: Farm, day: dt.date) -> dict[int, SaySo]:
    rows = SaySo.objects.filter(farm=farm, day=day).order_by("said_at", "id")
    return {row.field_id: row for row in rows}


def _weather(*, farm: Farm, day: dt.date) -> DayWeather:
    try:
        series = daily_series(farm=farm, first=day, last=day, as_of=day - dt.timedelta(days=1))
    except NoWeather:
        return DayWeather()
    high, chance = series.temp_max_c[0], series.rain_chance[0]
    return DayWeather(
        temp_max_f=None if np.isnan(high) else fahrenheit(float(high)),
        rain_chance=None if np.isnan(chance) else float(chance),
    )
