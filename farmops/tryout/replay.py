"""A week of work played day by day: what the plan of the day has the hands do, under the weather that really came."""

import datetime as dt
import random
import uuid
from collections import defaultdict
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal
from zoneinfo import ZoneInfo

from farmops.farms.models import Farm, Hand, Machine, Shift
from farmops.farms.operations import PIVOT_MOVES, Operation
from farmops.tryout.scenario import Puncture, Scenario
from scheduling.models import (
    FieldPass,
    HourReading,
    Incident,
    IncidentKind,
    Mending,
    PassLink,
    PassState,
    PlacedBy,
    PlannedCare,
    PlannedTask,
    WeekPlan,
)
from scheduling.selectors.passes import pass_key
from scheduling.selectors.plans import care_of_plan, plan_of_day, tasks_of_plan, worked_hours
from scheduling.services.care import record_care
from scheduling.services.incidents import mend_incident, place_incident
from scheduling.services.reporting import Setting, keep_how_it_went
from scheduling.services.work import record_hour_reading, record_incident, record_work

Hours = tuple[dt.datetime, dt.datetime]
HUNDREDTH = Decimal("0.01")
TENTH = Decimal("0.1")
ROUNDING_AC = Decimal("0.05")
PACE_SPREAD = 0.06  # how far a day's pace strays from the plan's, either way
OVER = (PassState.FINISHED, PassState.CALLED_OFF)


@dataclass
class DayReport:
    """What came of a day."""

    on: dt.date
    records: int = 0
    machine_min: int = 0
    hand_min: int = 0
    done_ac: Decimal = Decimal(0)
    stopped: list[str] = field(default_factory=list)
    puncture: Incident | None = None
    noticed: list[str] = field(default_factory=list)
    care: list[str] = field(default_factory=list)


def play_day(*, farm: Farm, scenario: Scenario, day: dt.date, now: dt.datetime) -> DayReport:
    """Record what the hands did on a day: hours, acres, inputs, meters at the end, and the puncture on its day."""
    report = DayReport(on=day)
    plan = plan_of_day(farm=farm, day=day)
    if plan is None:
        return report
    zone = ZoneInfo(farm.zone)
    rain = _rain(scenario, day, zone)
    engine_min: dict[Machine, int] = defaultdict(int)
    last_hand: dict[Machine, Hand] = {}
    for task in _in_order(plan):
        hours = _of_day(worked_hours(plan=plan, task=task), day, zone)
        if not hours:
            continue
        field_pass = FieldPass.objects.select_related("season__field").get(pk=task.field_pass_id)
        if field_pass.state in OVER or not _may_begin(field_pass):
            continue
        dry = hours if task.operation in PIVOT_MOVES else _until(hours, rain)
        if not dry:
            report.stopped.append(f"{pass_key(field_pass)} did not start: {_says(scenario, day)}")
            continue
        lost = scenario.puncture if _is_punctured(scenario, task, day, report) else None
        done = _record(farm, scenario, plan, task, field_pass, day, hours, dry, lost, now)
        if done is None:
            continue
        report.records += 1
        report.hand_min += done.hand_min
        report.machine_min += done.engine_min
        report.done_ac += done.area_ac
        if task.machine is not None and task.hand is not None:
            engine_min[task.machine] += done.engine_min
            last_hand[task.machine] = task.hand
        if _minutes(dry) < _minutes(hours):
            report.stopped.append(f"{pass_key(field_pass)} stopped: {_says(scenario, day)}")
        if lost is not None:
            report.puncture = _puncture(farm, task, field_pass, lost, dry[-1][1], now)
    for machine, minutes in engine_min.items():
        _read_meter(farm, machine, last_hand[machine], minutes, day, now)
    report.care = [_serve(farm, stop, now) for stop in care_of_plan(plan=plan) if _is_on(stop, day, zone)]
    return report


@dataclass(frozen=True)
class _Done:
    hand_min: int
    engine_min: int
    area_ac: Decimal


def _record(
    farm: Farm,
    scenario: Scenario,
    plan: WeekPlan,
    task: PlannedTask,
    field_pass: FieldPass,
    day: dt.date,
    hours: list[Hours],
    worked: list[Hours],
    lost: Puncture | None,
    now: dt.datetime,
) -> _Done | None:
    """Record a task's work of a day; None where it was recorded before."""
    zone = ZoneInfo(farm.zone)
    name = f"{farm.code}/{pass_key(field_pass)}/{plan.number}/{task.part_no}/{day}"
    pace = random.Random(name).uniform(1 - PACE_SPREAD, 1 + PACE_SPREAD)
    whole_min = sum(_minutes([stretch]) for stretch in worked_hours(plan=plan, task=task))
    minutes = _minutes(worked)
    left_ac = max(field_pass.area_ac - field_pass.done_ac, Decimal(0))
    share_ac = (task.area_ac * minutes / whole_min).quantize(HUNDREDTH, ROUND_HALF_UP)
    is_end = minutes == _minutes(hours) and task.ends_at <= hours[-1][1]
    area_ac = min(left_ac, share_ac)
    is_finished = not task.area_ac and is_end
    if task.area_ac and is_end and left_ac - area_ac <= ROUNDING_AC:
        area_ac = left_ac
        is_finished = True
    hand = task.hand or _who_watches(plan, task)
    hand_min = round(minutes * pace) if task.hand is not None else 0
    overtime_min = min(_overtime(task.hand, worked, zone), hand_min) if task.hand is not None else 0
    lost_min = lost.lost_min if lost is not None else 0
    engine_min = hand_min if task.machine is not None else 0
    row, is_new = record_work(
        farm=farm,
        client_id=uuid.uuid5(uuid.NAMESPACE_URL, name),
        field_pass=field_pass,
        hand=hand,
        machine=task.machine,
        implement=task.implement,
        work_on=day,
        starts_at=worked[0][0],
        hand_min=hand_min + lost_min,
        machine_min=engine_min,
        done_ac=area_ac,
        overtime_min=overtime_min,
        is_finished=is_finished,
        not_done_why="" if minutes == _minutes(hours) else _says(scenario, day),
        note=f"lost {lost_min} min with a flat tire" if lost_min else "",
        inputs=_inputs(scenario, field_pass, area_ac),
        recorded_by=None,
        now=now,
    )
    if not is_new:
        return None
    look = next((one for one in scenario.looks if (one.on, one.operation) == (day, task.operation)), None)
    if look is not None:
        settings = [Setting(key, number, "") for key, number in look.numbers.items()]
        level = Setting("level", None, look.level)
        keep_how_it_went(row, stops=(), look=look.looks, settings=[*settings, level])
    return _Done(hand_min + lost_min, engine_min, area_ac)


def _is_on(stop: PlannedCare, day: dt.date, zone: ZoneInfo) -> bool:
    return stop.starts_at.astimezone(zone).date() == day


def _serve(farm: Farm, stop: PlannedCare, now: dt.datetime) -> str:
    """Record a service stop as it was planned, rain or shine."""
    record_care(
        farm=farm,
        client_id=uuid.uuid5(uuid.NAMESPACE_URL, f"{farm.code}/{stop.task_key}/{stop.plan.number}"),
        rule=stop.rule,
        done_at=stop.ends_at,
        hand=stop.hand,
        hand_min=stop.work_min,
        recorded_by=None,
        now=now,
    )
    return str(stop.rule)


def _in_order(plan: WeekPlan) -> list[PlannedTask]:
    return list(tasks_of_plan(plan=plan))


def _of_day(stretches: list[Hours], day: dt.date, zone: ZoneInfo) -> list[Hours]:
    first = dt.datetime.combine(day, dt.time(), zone)
    last = dt.datetime.combine(day + dt.timedelta(days=1), dt.time(), zone)
    cut = [(max(begins, first), min(ends, last)) for begins, ends in stretches]
    return [(begins, ends) for begins, ends in cut if begins < ends]


def _rain(scenario: Scenario, day: dt.date, zone: ZoneInfo) -> list[Hours]:
    return [
        (dt.datetime.combine(day, one.starts_at, zone), dt.datetime.combine(day, one.ends_at, zone))
        for one in scenario.rain
        if one.on == day
    ]


def _until(hours: list[Hours], rain: list[Hours]) -> list[Hours]:
    """Return the hours before the first rain that falls into them: nobody goes back into a wet field that day."""
    if not hours:
        return []
    meets = [begins for begins, ends in rain if ends > hours[0][0] and begins < hours[-1][1]]
    if not meets:
        return hours
    cut = [(begins, min(ends, min(meets))) for begins, ends in hours]
    return [(begins, ends) for begins, ends in cut if begins < ends]


def _says(scenario: Scenario, day: dt.date) -> str:
    return next((one.says for one in scenario.rain if one.on == day), "")


def _minutes(hours: list[Hours]) -> int:
    return sum(int((ends - begins).total_seconds()) // 60 for begins, ends in hours)


def _may_begin(field_pass: FieldPass) -> bool:
    """Return whether everything the pass waits for is over."""
    waits = PassLink.objects.filter(after=field_pass)
    return not waits.exclude(before__state__in=OVER).exists()


def _is_punctured(scenario: Scenario, task: PlannedTask, day: dt.date, report: DayReport) -> bool:
    puncture = scenario.puncture
    return report.puncture is None and puncture.on == day and task.operation == puncture.operation


def _puncture(
    farm: Farm,
    task: PlannedTask,
    field_pass: FieldPass,
    puncture: Puncture,
    happened_at: dt.datetime,
    now: dt.datetime,
) -> Incident:
    incident, _is_new = record_incident(
        farm=farm,
        client_id=uuid.uuid5(uuid.NAMESPACE_URL, f"{farm.code}/puncture/{puncture.on}"),
        kind=IncidentKind.PUNCTURE,
        happened_at=happened_at,
        field=field_pass.season.field,
        season=field_pass.season,
        machine=task.machine,
        implement=task.implement,
        hand=task.hand,
        wheel=puncture.wheel,
        met=puncture.met,
        lost_min=puncture.lost_min,
        now=now,
    )
    place_incident(
        farm=farm,
        client_id=uuid.uuid5(incident.client_id, "place"),
        incident=incident,
        latitude_deg=field_pass.season.field.latitude_deg,
        longitude_deg=field_pass.season.field.longitude_deg,
        placed_by=PlacedBy.PHONE,
        now=now,
    )
    mend_incident(
        farm=farm,
        client_id=uuid.uuid5(incident.client_id, "mended"),
        incident=incident,
        mending=Mending.REPAIR,
        lost_min=puncture.lost_min,
        now=now,
    )
    return incident


def _read_meter(
    farm: Farm, machine: Machine, hand: Hand, minutes: int, day: dt.date, now: dt.datetime
) -> None:
    """Read the hour meter in the evening: what it showed before and the hours of the day, in tenths."""
    before = HourReading.objects.filter(machine=machine).order_by("-read_at", "-id").first()
    shows = before.reading_h if before is not None else machine.meter_start_h
    record_hour_reading(
        farm=farm,
        client_id=uuid.uuid5(uuid.NAMESPACE_URL, f"{farm.code}/{machine.code}/meter/{day}"),
        machine=machine,
        reading_h=(shows + Decimal(minutes) / 60).quantize(TENTH, ROUND_HALF_UP),
        read_at=now,
        read_by=hand,
        now=now,
    )


def _who_watches(plan: WeekPlan, walk: PlannedTask) -> Hand:
    """Return the hand who started the pivot that walks by itself."""
    starts = tasks_of_plan(plan=plan).filter(field=walk.field, operation=Operation.PIVOT_START)
    start = starts.filter(starts_at__lte=walk.starts_at).last()
    if start is not None and start.hand is not None:
        return start.hand
    return Hand.objects.filter(farm_id=plan.farm_id, is_owner=True).order_by("code")[0]


def _overtime(hand: Hand | None, hours: list[Hours], zone: ZoneInfo) -> int:
    minutes = 0
    for shift in Shift.objects.filter(hand=hand, is_overtime=True):
        for begins, ends in hours:
            day = begins.astimezone(zone).date()
            if day.weekday() != shift.weekday:
                continue
            first = max(begins, dt.datetime.combine(day, shift.starts_at, zone))
            last = min(ends, dt.datetime.combine(day, shift.ends_at, zone))
            minutes += max(0, int((last - first).total_seconds()) // 60)
    return minutes


def _inputs(scenario: Scenario, field_pass: FieldPass, area_ac: Decimal) -> list[tuple[str, Decimal, str]]:
    season = field_pass.season
    return [
        (one.code, (one.per_ac * area_ac).quantize(Decimal("0.001")), one.unit)
        for one in scenario.inputs
        if area_ac and (one.crop, one.operation) == (season.crop, field_pass.operation)
    ]
