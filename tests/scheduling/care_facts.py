"""Small makers of service rules and of care that was done."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

from farmops.farms.models import CareRule, CareRuleHand, Hand, Implement, Machine
from scheduling.models import CareDone, FieldPass, HourReading, WorkRecord
from tests.scheduling.ground import SUNDAY_EVENING


def make_rule(thing: Machine | Implement, code: str = "oil", *hands: Hand, **facts: Any) -> CareRule:
    defaults: dict[str, Any] = {"what": "change engine oil and filter", "takes_min": 60, "source": "made up"}
    if not facts.keys() & {"every_h", "every_days", "every_ac"}:
        defaults["every_h"] = Decimal(250)
    whose = {"machine": thing} if isinstance(thing, Machine) else {"implement": thing}
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
