"""Small makers of service rules and of care that was done."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

from farmops.farms.models import CareRule, CareRuleHand, Field, Hand, Implement, Machine, Pivot, Pump
from scheduling.models import (
    CareDone,
    FieldPass,
    HourReading,
    MeterReplaced,
    PivotPlace,
    PlannedCare,
    PlanState,
    WeekPlan,
    WorkRecord,
)
from tests.scheduling.ground import MONDAY, SUNDAY_EVENING


def make_pivot(field: Field, **facts: Any) -> Pivot:
    """A pivot whose dry turn takes 2 pi 1000 / 6 = 1,048 minutes, on a well of 900 gal/min."""
    pump, _created = Pump.objects.get_or_create(
        farm=field.farm, code="well-1", defaults={"name": "well 1", "flow_gpm": Decimal(900)}
    )
    defaults: dict[str, Any] = {
        "name": f"pivot of {field.code}",
        "last_tower_radius_ft": Decimal(1000),
        "walk_ft_per_min": Decimal(6),
        "tower_count": 6,
        "parking_angle_deg": Decimal(0),
    }
    return Pivot.objects.create(farm=field.farm, field=field, pump=pump, **{**defaults, **facts})


def make_seen(pivot: Pivot, seen_at: dt.datetime, *, is_running: bool) -> PivotPlace:
    return PivotPlace.objects.create(
        farm=pivot.farm,
        client_id=uuid.uuid4(),
        pivot=pivot,
        seen_at=seen_at,
        is_running=is_running,
        recorded_at=seen_at,
    )


def make_rule(thing: Machine | Implement | Pivot, code: str = "oil", *hands: Hand, **facts: Any) -> CareRule:
    defaults: dict[str, Any] = {"what": "change engine oil and filter", "takes_min": 60, "source": "made up"}
    if not facts.keys() & {"every_h", "every_days", "every_ac", "every_starts"}:
        defaults["every_h"] = Decimal(250)
    whose = {type(thing).__name__.lower(): thing}
    rule = CareRule.objects.create(farm=thing.farm, code=code, **whose, **{**defaults, **facts})
    for hand in hands:
        CareRuleHand.objects.create(farm=thing.farm, rule=rule, hand=hand)
    return rule


def make_reading(machine: Machine, reading_h: str, read_at: dt.datetime = SUNDAY_EVENING) -> HourReading:
    return HourReading.objects.create(
        farm=machine.farm,
        client_id=uuid.uuid4(),
        machine=machine,
        reading_h=Decimal(reading_h),
        read_at=read_at,
        recorded_at=read_at,
    )


def make_done(rule: CareRule, done_at: dt.datetime, **facts: Any) -> CareDone:
    return CareDone.objects.create(
        farm=rule.farm, client_id=uuid.uuid4(), rule=rule, done_at=done_at, recorded_at=done_at, **facts
    )


def make_work(field_pass: FieldPass, hand: Hand, work_on: dt.date, **facts: Any) -> WorkRecord:
    defaults: dict[str, Any] = {"hand_min": 60, "machine_min": 60, "done_ac": Decimal(0)}
    return WorkRecord.objects.create(
        farm=field_pass.farm,
        client_id=uuid.uuid4(),
        field_pass=field_pass,
        hand=hand,
        work_on=work_on,
        recorded_at=SUNDAY_EVENING,
        **{**defaults, **facts},
    )


def make_replaced(
    machine: Machine, replaced_at: dt.datetime, old_h: str, new_h: str = "0.0"
) -> MeterReplaced:
    return MeterReplaced.objects.create(
        farm=machine.farm,
        client_id=uuid.uuid4(),
        machine=machine,
        replaced_at=replaced_at,
        old_reading_h=Decimal(old_h),
        new_reading_h=Decimal(new_h),
        recorded_at=replaced_at,
    )


def make_stop(rule: CareRule, starts_at: dt.datetime, *, hand: Hand | None = None) -> PlannedCare:
    """A sent plan of a week from Monday that holds a stop of an hour."""
    plan, _is_new = WeekPlan.objects.get_or_create(
        farm=rule.farm,
        number=1,
        defaults={
            "state": PlanState.SENT,
            "starts_at": MONDAY,
            "days": 7,
            "made_at": SUNDAY_EVENING,
            "sent_at": SUNDAY_EVENING,
            "problem": {"resources": [], "tasks": []},
            "problem_hash": "0" * 64,
            "plan": {"tasks": [], "left": []},
            "windows": {"passes": [], "ground": []},
            "status": "feasible",
            "seed": 1,
            "limits": {},
        },
    )
    return PlannedCare.objects.create(
        farm=rule.farm,
        plan=plan,
        task_key=f"care:{rule.code}",
        rule=rule,
        mode="-",
        place="yard",
        hand=hand,
        starts_at=starts_at,
        ends_at=starts_at + dt.timedelta(hours=1),
        work_min=60,
    )
