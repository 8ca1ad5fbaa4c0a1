"""A farm with a plan that was sent, in the shape that the planning services store."""

import datetime as dt
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from farmops.farms.models import Farm, Hand
from scheduling.models import FieldPass, PlannedTask, PlanState, WeekPlan
from scheduling.selectors import plan_documents
from scheduling.selectors.passes import pass_key
from tests.factories import (
    make_farm,
    make_field,
    make_hand,
    make_implement,
    make_machine,
    make_pass,
    make_season,
)

MONDAY = dt.date(2026, 4, 20)


def at(day: dt.date, hour: int, minute: int = 0, zone: str = "America/New_York") -> dt.datetime:
    return dt.datetime.combine(day, dt.time(hour, minute), tzinfo=ZoneInfo(zone))


def make_plan(farm: Farm, *, day: dt.date = MONDAY, **facts: Any) -> WeekPlan:
    """Store a plan that was sent, over the seven days from `day`."""
    starts_at = at(day, 0, zone=farm.zone)
    defaults: dict[str, Any] = {
        "number": 1 + WeekPlan.objects.filter(farm=farm).count(),
        "state": PlanState.SENT,
        "starts_at": starts_at,
        "days": 7,
        "made_at": starts_at - dt.timedelta(hours=8),
        "problem": {},
        "problem_hash": "0" * 64,
        "plan": {},
        "windows": windows_document(starts_at),
        "status": "feasible",
        "seed": 1,
        "limits": {},
    }
    return WeekPlan.objects.create(farm=farm, **{**defaults, **facts})


def windows_document(starts_at: dt.datetime, **parts: Any) -> dict[str, Any]:
    """Return a `windows/1` document without passes."""
    as_of = (starts_at - dt.timedelta(days=1)).date().isoformat()
    base = {"format": "windows/1", "start": starts_at.isoformat(), "days": 7, "as_of": as_of}
    return {**base, "passes": [], "ground": [], **parts}


def make_task(
    plan: WeekPlan,
    hand: Hand | None,
    field_pass: FieldPass,
    *,
    day: dt.date = MONDAY,
    hours: tuple[int, int] = (7, 12),
    **facts: Any,
) -> PlannedTask:
    farm = plan.farm
    number = 1 + plan.tasks.filter(field_pass=field_pass).count()
    defaults: dict[str, Any] = {
        "task_key": f"{pass_key(field_pass)}#{number}",
        "field": field_pass.season.field,
        "operation": field_pass.operation,
        "area_ac": field_pass.area_ac,
        "mode": "tractor-1+disk-1",
        "starts_at": at(day, hours[0], zone=farm.zone),
        "ends_at": at(day, hours[1], zone=farm.zone),
        "work_min": 60 * (hours[1] - hours[0]),
    }
    task = PlannedTask.objects.create(
        farm=farm, plan=plan, hand=hand, field_pass=field_pass, **{**defaults, **facts}
    )
    add_to_documents(plan, task)
    return task


def add_to_documents(
    plan: WeekPlan, task: PlannedTask, *, worked: list[tuple[int, int]] | None = None
) -> None:
    """Say in the plan's own documents when a task is worked: all the time, unless `worked` names minutes."""
    first, last = (
        int((instant - plan.starts_at).total_seconds() // 60) for instant in (task.starts_at, task.ends_at)
    )
    stretches = [{"from": a, "to": b} for a, b in worked or [(first, last)]]
    plan.problem.setdefault("resources", [])
    others = [row for row in plan.problem.setdefault("tasks", []) if row["id"] != task.task_key]
    modes = [{"id": task.mode, "resources": []}]
    plan.problem["tasks"] = [*others, {"id": task.task_key, "modes": modes, "open": stretches}]
    planned = [row for row in plan.plan.setdefault("tasks", []) if row["id"] != task.task_key]
    row = {"id": task.task_key, "mode": task.mode, "from": first, "to": last}
    plan.plan["tasks"] = [*planned, row]
    plan.save()
    plan_documents.forget()  # written with a plan and never changed after, but here


def farm_with_hands(*names: str, code: str = "heron-slough", day: dt.date = MONDAY, **facts: Any) -> Farm:
    """Make a farm whose hands (each with an address) all have a disking on `day`."""
    farm = make_farm(code, boss_name="Marlene", boss_phone="555-0142", **facts)
    plan = make_plan(farm, day=day)
    machine, implement = make_machine(farm, name="Tractor 1"), make_implement(farm, name="Disk 1")
    for name in names:
        hand = make_hand(farm, name, email=f"{name}@farm.example")
        field = make_field(
            farm,
            f"pond-{name}",
            entrance="north road, gate 3",
            road_address="2140 Cane Branch Road",
            planted_ac=Decimal("38.50"),
        )
        make_task(plan, hand, make_pass(make_season(field)), day=day, machine=machine, implement=implement)
    return farm
