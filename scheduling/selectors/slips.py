"""The job slips of a day: everything that a hand's passes ask for, read in a fixed number of queries for all hands."""

import datetime as dt
from collections.abc import Mapping
from decimal import Decimal
from zoneinfo import ZoneInfo

from farmops.farms.models import Farm, Hand, Implement, Machine, SoilZone
from farmops.farms.operations import Operation
from scheduling.models import PassState, PlannedTask, WeekPlan
from scheduling.selectors.passes import pass_key
from scheduling.selectors.plans import plan_of_day, tasks_of_plan, worked_hours
from scheduling.selectors.slip_ways import Ways
from scheduling.slips.facts import CallFor, FieldPlace, Hours, Tool, Zone
from scheduling.slips.known_windows import KnownWindows
from scheduling.slips.slip import JobSlip
from scheduling.slips.words import Said

TENTH = Decimal("0.1")
OVER = (PassState.CALLED_OFF,)


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
) -> dict[int, list[JobSlip]]:
    """Return the slips of a day by the id of the hand, of all hands or of one; see `slips_of_day`."""
    plan = plan_of_day(farm=farm, day=day)
    if plan is None:
        return {}
    tasks = _tasks(plan, day, hand)
    if not tasks:
        return {}
    known = KnownWindows(plan.windows) if windows is None else windows
    ways = Ways(farm=farm, plan=plan)
    zones = _zones(tasks)
    found: dict[int, list[JobSlip]] = {}
    for of_hand in tasks.values():
        for number, today in enumerate(of_hand, 1):
            slip = _slip(today, number, len(of_hand), farm, known, ways, zones)
            found.setdefault(today.task.hand_id or 0, []).append(slip)
    return found


class _Today:
    """A planned task with the hours and the share of its work that fall on the day."""

    def __init__(
        self, task: PlannedTask, worked: list[tuple[dt.datetime, dt.datetime]], all_s: float
    ) -> None:
        self.task = task
        self.starts_at, self.ends_at = worked[0][0], worked[-1][1]
        self.work_s = sum((end - start).total_seconds() for start, end in worked)
        self.share = Decimal(round(self.work_s)) / Decimal(round(all_s))


def _tasks(plan: WeekPlan, day: dt.date, hand: Hand | None) -> dict[int, list[_Today]]:
    zone = ZoneInfo(plan.farm.zone)
    begins = dt.datetime.combine(day, dt.time(), tzinfo=zone).astimezone(dt.UTC)
    ends = dt.datetime.combine(day + dt.timedelta(days=1), dt.time(), tzinfo=zone).astimezone(dt.UTC)
    rows = tasks_of_plan(plan=plan).filter(hand__isnull=False, starts_at__lt=ends, ends_at__gt=begins)
    if hand is not None:
        rows = rows.filter(hand=hand)
    found: dict[int, list[_Today]] = {}
    for task in rows.exclude(field_pass__state__in=OVER):
        worked = worked_hours(plan=plan, task=task)
        today = [(max(one, begins), min(two, ends)) for one, two in worked if one < ends and two > begins]
        if today:
            all_s = sum((two - one).total_seconds() for one, two in worked)
            local = [(one.astimezone(zone), two.astimezone(zone)) for one, two in today]
            found.setdefault(task.hand_id or 0, []).append(_Today(task, local, all_s))
    for of_hand in found.values():
        of_hand.sort(key=lambda one: (one.starts_at, one.task.task_key))
    return found


def _zones(tasks: Mapping[int, list[_Today]]) -> dict[int, tuple[Zone, ...]]:
    fields = {one.task.field_id for of_hand in tasks.values() for one in of_hand}
    found: dict[int, tuple[Zone, ...]] = {}
    for row in SoilZone.objects.filter(field__in=fields).order_by("field", "id"):
        zone = Zone(row.pk, row.name, row.texture, row.share_pct)
        found[row.field_id] = (*found.get(row.field_id, ()), zone)
    return found


def _slip(
    today: _Today,
    number: int,
    count: int,
    farm: Farm,
    known: KnownWindows,
    ways: Ways,
    zones: Mapping[int, tuple[Zone, ...]],
) -> JobSlip:
    task, field = today.task, today.task.field
    operation = Operation(task.operation)
    windows = known.pass_day(
        pass_key=pass_key(task.field_pass),
        starts_at=today.starts_at,
        ends_at=today.ends_at,
        zone=ZoneInfo(farm.zone),
    )
    return JobSlip(
        task_id=task.pk,
        pass_id=task.field_pass_id,
        operation=operation,
        number=number,
        count=count,
        field=FieldPlace(
            code=field.code,
            name=field.name,
            boundary=field.boundary,
            entrance=field.entrance,
            road_address=field.road_address,
            latitude_deg=field.latitude_deg,
            longitude_deg=field.longitude_deg,
            zones=zones.get(field.pk, ()),
        ),
        hours=Hours(
            starts_at=today.starts_at,
            ends_at=today.ends_at,
            work_min=round(today.work_s / 60),
            open_chance=windows.open_chance,
            shut=windows.shut,
            ground=known.ground(
                field_code=field.code,
                day=today.starts_at.date(),
                with_soil_temp=operation is Operation.PLANT,
            ),
            known_on=known.as_of,
        ),
        area_ac=(task.area_ac * today.share).quantize(TENTH),
        part_no=task.part_no,
        part_count=task.part_count,
        is_strip=task.field_pass.part == "strip",
        water_in=task.field_pass.depth_in,
        way=ways.to(task_key=task.task_key, day=today.starts_at.date()),
        machine=_tool(task.machine),
        implement=_tool(task.implement),
        wide_on_road=task.implement is not None and task.implement.wide_on_road,
        call=CallFor(
            emergency_number=farm.emergency_number,
            road_address=field.road_address or farm.road_address,
            latitude_deg=field.latitude_deg,
            longitude_deg=field.longitude_deg,
            boss_name=farm.boss_name,
            boss_phone=farm.boss_phone,
        ),
    )


def _tool(row: Machine | Implement | None) -> Tool | None:
    return None if row is None else Tool(row.code, Said(row.name, row.name_es or row.name))
