"""The job slips of a day: everything that a hand's passes ask for, read in a fixed number of queries for all hands."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from zoneinfo import ZoneInfo

from farmops.farms.models import Farm, Field, Hand, Implement, Machine, SoilZone
from farmops.farms.operations import TILLAGE, Operation
from scheduling.models import PlannedTask, WeekPlan
from scheduling.selectors.day_rows import DayRows, day_bounds, day_rows
from scheduling.selectors.gaps import reentry_min
from scheduling.selectors.out_now import OutNow, out_of
from scheduling.selectors.passes import pass_key
from scheduling.selectors.plans import plan_of_day_at_hand, worked_hours
from scheduling.selectors.slip_day import DayFacts, DayWeather, day_facts
from scheduling.selectors.slip_history import Work, last_times
from scheduling.selectors.slip_ways import Ways
from scheduling.slips.checks import RuleDue, checks_for_work, ticked
from scheduling.slips.effort import effort_of
from scheduling.slips.facts import (
    NOT_KNOWN,
    CallFor,
    Effort,
    FieldPlace,
    Hours,
    ImplementFacts,
    LastTime,
    SlipCheck,
    StayOut,
    Tool,
    Zone,
)
from scheduling.slips.kinds import PIVOT_VISITS
from scheduling.slips.known_windows import KnownWindows
from scheduling.slips.last_time import last_times_for
from scheduling.slips.settings import start_settings
from scheduling.slips.slip import JobSlip
from scheduling.slips.words import Said

TENTH = Decimal("0.1")


def slips_of_day(
    *, farm: Farm, hand: Hand, day: dt.date, now: dt.datetime, windows: KnownWindows | None = None
) -> list[JobSlip]:
    """Return the slips of a hand's passes on a day of the farm's clock, in the order of their hours.

    `windows` are those to read shut hours, chance and ground from; without them, those that the plan was made on.
    """
    return slips_of_farm(farm=farm, day=day, now=now, windows=windows, hand=hand).get(hand.pk, [])


def slips_of_farm(
    *,
    farm: Farm,
    day: dt.date,
    now: dt.datetime,
    windows: KnownWindows | None = None,
    hand: Hand | None = None,
    read: DayRows | None = None,
    weather: DayWeather | None = None,
) -> dict[int, list[JobSlip]]:
    """Return the slips of a day by the id of the hand, of all hands or of one; see `slips_of_day`.

    `read` and `weather` are what the caller has read of the day already.
    """
    if read is None:
        plan = plan_of_day_at_hand(farm=farm, day=day)
        plans = {} if plan is None else {farm.pk: plan}
        read = day_rows(plans=plans, day=day, zone=farm.zone, hand=hand).get(farm.pk)
    if read is None:
        return {}
    plan = read.plan
    tasks = _tasks(plan, day, read.tasks)
    if not tasks:
        return {}
    rows = [today.task for of_hand in tasks.values() for today in of_hand]
    works = {(row.field_id, row.operation) for row in rows if row.operation in TILLAGE}
    facts = _Facts(
        farm=farm,
        clock=ZoneInfo(farm.zone),
        known=KnownWindows(plan.windows) if windows is None else windows,
        ways=Ways(farm=farm, plan=plan, fields=read.places),
        zones=_zones(read.zones),
        day=day_facts(
            farm=farm,
            day=day,
            now=now,
            rows=read,
            weather=weather,
            hands={row.hand_id: row.hand for row in rows if row.hand is not None}.values(),
        ),
        times=last_times(farm=farm, works=works, before=day) if read.has_looks else {},
        out=out_of(read.away, zone=farm.zone),
    )
    return {
        hand_id: [_slip(facts, today, number, len(of_hand)) for number, today in enumerate(of_hand, 1)]
        for hand_id, of_hand in tasks.items()
    }


_Outfit = tuple[str, int | None, int | None, tuple[RuleDue, ...]]
_OutfitFacts = tuple[Tool | None, Tool | None, ImplementFacts | None, tuple[SlipCheck, ...]]


@dataclass(frozen=True)
class _Facts:
    """What all slips of a day are made from."""

    farm: Farm
    clock: ZoneInfo
    known: KnownWindows
    ways: Ways
    zones: Mapping[int, tuple[Zone, ...]]
    day: DayFacts
    times: Mapping[Work, Sequence[LastTime]]
    out: OutNow
    outfits: dict[_Outfit, _OutfitFacts] = field(default_factory=dict)
    """What many tasks share, put in order once."""

    def outfit_of(self, task: PlannedTask, rules: Sequence[RuleDue]) -> _OutfitFacts:
        """Return the facts of the machine and the implement of a task, and what to look at on them before its work."""
        key = (task.operation, task.machine_id, task.implement_id, tuple(rules))
        if key not in self.outfits:
            machine, pulled = _tool(task.machine), _tool(task.implement)
            implement = None if task.implement is None else implement_facts(task.implement)
            checks = checks_for_work(
                operation=Operation(task.operation),
                machine=machine,
                implement=pulled,
                facts=implement,
                rules=rules,
            )
            self.outfits[key] = machine, pulled, implement, checks
        return self.outfits[key]


class _Today:
    """A planned task with the hours and the share of its work that fall on the day."""

    def __init__(
        self, task: PlannedTask, worked: list[tuple[dt.datetime, dt.datetime]], all_s: float
    ) -> None:
        self.task = task
        self.starts_at, self.ends_at = worked[0][0], worked[-1][1]
        self.work_s = sum((end - start).total_seconds() for start, end in worked)
        self.share = Decimal(round(self.work_s)) / Decimal(round(all_s))


def _tasks(plan: WeekPlan, day: dt.date, rows: Iterable[PlannedTask]) -> dict[int, list[_Today]]:
    zone = ZoneInfo(plan.farm.zone)
    begins, ends = day_bounds(day=day, zone=plan.farm.zone)
    found: dict[int, list[_Today]] = {}
    for task in rows:
        worked = worked_hours(plan=plan, task=task)
        today = [(max(one, begins), min(two, ends)) for one, two in worked if one < ends and two > begins]
        if today:
            all_s = sum((two - one).total_seconds() for one, two in worked)
            local = [(one.astimezone(zone), two.astimezone(zone)) for one, two in today]
            found.setdefault(task.hand_id or 0, []).append(_Today(task, local, all_s))
    for of_hand in found.values():
        of_hand.sort(key=lambda one: (one.starts_at, one.task.task_key))
    return found


def _zones(rows: Iterable[SoilZone]) -> dict[int, tuple[Zone, ...]]:
    found: dict[int, list[Zone]] = {}
    for row in rows:
        found.setdefault(row.field_id, []).append(Zone(row.pk, row.name, row.texture, row.share_pct))
    return {field_id: tuple(zones) for field_id, zones in found.items()}


def _slip(facts: _Facts, today: _Today, number: int, count: int) -> JobSlip:
    task, place, farm, day = today.task, today.task.field, facts.farm, facts.day
    operation = Operation(task.operation)
    on = today.starts_at.date()
    windows = facts.known.pass_day(
        pass_key=pass_key(task.field_pass),
        starts_at=today.starts_at,
        ends_at=today.ends_at,
        zone=facts.clock,
    )
    ground = facts.known.ground(field_code=place.code, day=on, with_soil_temp=operation is Operation.PLANT)
    zones = facts.zones.get(place.pk, ())
    power_hp = None if task.machine is None else float(task.machine.power_hp)
    work_min = round(today.work_s / 60)
    area_ac = (task.area_ac * today.share).quantize(TENTH)
    rules = day.rules_of(
        machine_id=task.machine_id,
        implement_id=task.implement_id,
        pivot_of=place.pk if operation in PIVOT_VISITS else None,
        work_min=work_min,
        area_ac=area_ac,
    )
    machine, pulled, implement, checks = facts.outfit_of(task, rules)
    return JobSlip(
        task_id=task.pk,
        pass_id=task.field_pass_id,
        operation=operation,
        number=number,
        count=count,
        field=_place(place, zones),
        hours=Hours(
            starts_at=today.starts_at,
            ends_at=today.ends_at,
            work_min=work_min,
            open_chance=windows.open_chance,
            shut=windows.shut,
            boss_words=day.boss_words.get(place.pk, ()),
            ground=ground,
            known_on=facts.known.as_of,
        ),
        area_ac=area_ac,
        part_no=task.part_no,
        part_count=task.part_count,
        is_strip=task.field_pass.part == "strip",
        water_in=task.field_pass.depth_in,
        way=facts.ways.to(task_key=task.task_key, day=on, begins_at=today.starts_at),
        machine=machine,
        implement=pulled,
        wide_on_road=task.implement is not None and task.implement.wide_on_road,
        effort=_effort(operation, implement, power_hp, zones, work_min, area_ac),
        settings=start_settings(
            operation=operation,
            implement=implement,
            zones=zones,
            grounds=facts.known.grounds(field_code=place.code, day=on),
            power_hp=power_hp,
        ),
        last_times=last_times_for(facts.times.get((place.pk, task.operation), ()), ground),
        checks=ticked(checks, day.ticked.get(task.hand_id or 0, frozenset())),
        stay_out=day.stay_out(field_id=place.pk, pass_id=task.field_pass_id),
        nobody_in=_nobody_in(today),
        heat=day.weather.heat(starts_at=today.starts_at, ends_at=today.ends_at),
        temp_max_f=day.weather.temp_max_f,
        rain_chance=day.weather.rain_chance,
        new_hand=day.new_hands.get(task.hand_id or 0),
        lacks=facts.out.of(task, starts_at=today.starts_at, ends_at=today.ends_at),
        call=CallFor(
            emergency_number=farm.emergency_number,
            road_address=place.road_address or farm.road_address,
            latitude_deg=place.latitude_deg,
            longitude_deg=place.longitude_deg,
            boss_name=farm.boss_name,
            boss_phone=farm.boss_phone,
        ),
    )


def _effort(
    operation: Operation,
    implement: ImplementFacts | None,
    power_hp: float | None,
    zones: tuple[Zone, ...],
    work_min: int,
    area_ac: Decimal,
) -> Effort:
    """Return what the work takes; a walk has the pace that the planner gives it."""
    if operation is Operation.DEBRIS_WALK and work_min:
        return Effort(work_rate_ac_per_h=float(area_ac) / work_min * 60)
    if implement is None or power_hp is None:
        return NOT_KNOWN
    return effort_of(implement=implement, power_hp=power_hp, zones=zones, work_min=work_min)


def _nobody_in(today: _Today) -> StayOut | None:
    """Return until when the label of what is to be sprayed keeps people out, from the end of the day's work on."""
    minutes = reentry_min(today.task.field_pass)
    if not minutes:
        return None
    until_at = today.ends_at.astimezone(dt.UTC) + dt.timedelta(minutes=minutes)
    return StayOut(until_at.astimezone(today.ends_at.tzinfo), "", is_planned=True)


def _place(field: Field, zones: tuple[Zone, ...]) -> FieldPlace:
    return FieldPlace(
        code=field.code,
        name=field.name,
        boundary=field.boundary,
        entrance=field.entrance,
        road_address=field.road_address,
        latitude_deg=field.latitude_deg,
        longitude_deg=field.longitude_deg,
        zones=zones,
    )


def implement_facts(row: Implement) -> ImplementFacts:
    """Return what an implement is like, as the slips' arithmetic asks for it."""
    return ImplementFacts(
        width_ft=float(row.width_ft),
        speed_min_mph=float(row.speed_min_mph),
        speed_mph=float(row.speed_mph),
        speed_max_mph=float(row.speed_max_mph),
        efficiency_pct=float(row.efficiency_pct),
        draft_kind=row.draft_kind,
        depth_in=_float(row.depth_in),
        tool_count=row.tool_count,
        gang_angle_min_deg=_float(row.gang_angle_min_deg),
        gang_angle_max_deg=_float(row.gang_angle_max_deg),
        bearings_front=row.bearings_front,
        bearings_back=row.bearings_back,
    )


def _float(number: Decimal | None) -> float | None:
    return None if number is None else float(number)


def _tool(row: Machine | Implement | None) -> Tool | None:
    return None if row is None else Tool(row.code, Said(row.name, row.name_es or row.name))
