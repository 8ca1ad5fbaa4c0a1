"""Keeping the service that was done on machines and implements."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

from farmops.core.keeping import holds, keep_once
from farmops.core.models import User
from farmops.farms.models import CareRule, Farm, Hand
from scheduling.models import CareDone
from scheduling.services.fact_rules import (
    refuse_bad_correction,
    refuse_bad_instant,
    refuse_bad_number,
    refuse_bad_text,
)
from scheduling.services.record_rules import DAY_MIN, METER_SLACK_H, MOST_H, refuse_other_farms
from scheduling.services.refusals import BadRecord, MeterRunsBackwards, MeterRunsTooFast


def record_care(
    *,
    farm: Farm,
    client_id: uuid.UUID,
    rule: CareRule,
    done_at: dt.datetime,
    meter_h: Decimal | None = None,
    hand: Hand | None = None,
    hand_min: int = 0,
    note: str = "",
    is_taken_back: bool = False,
    supersedes: CareDone | None = None,
    recorded_by: User | None,
    now: dt.datetime,
) -> tuple[CareDone, bool]:
    """Keep a service that was done; return the row and False if it was kept before. The rule counts anew from it.

    A correction names the row that it `supersedes`; with `is_taken_back` the service was not done after all. Raises
    BadRecord for an hour to come, a meter of an implement, odd minutes; MeterRunsBackwards and MeterRunsTooFast for a
    meter that readings before and after do not allow; SupersededAlready; NotThisFarm.
    """
    refuse_other_farms(farm, rule, hand, supersedes)
    refuse_bad_instant("done_at", done_at, farm, now)
    refuse_bad_text("note", note)
    if not 0 <= hand_min <= DAY_MIN:
        raise BadRecord(
            f"hand_min is {hand_min}; it is 0 to {DAY_MIN}.", fields={"hand_min": "not minutes of a day"}
        )
    if supersedes is not None and supersedes.rule_id != rule.pk:
        raise BadRecord("The row that is corrected is of another service.", fields={"supersedes": "another"})
    if meter_h is not None:
        _refuse_odd_meter(rule, meter_h, done_at)
    facts: dict[str, Any] = {
        "rule": rule,
        "done_at": done_at,
        "meter_h": meter_h,
        "hand": hand,
        "hand_min": hand_min,
        "note": note,
        "is_taken_back": is_taken_back,
        "supersedes": supersedes,
    }

    def make() -> CareDone:
        CareRule.objects.select_for_update().get(pk=rule.pk)  # two rows of one rule wait for each other
        refuse_bad_correction(supersedes, is_taken_back=is_taken_back)
        return CareDone.objects.create(
            farm=farm, client_id=client_id, recorded_by=recorded_by, recorded_at=now, **facts
        )

    return keep_once(
        CareDone.objects.filter(farm=farm, client_id=client_id),
        client_id,
        make,
        lambda kept: holds(kept, facts),
    )


def _refuse_odd_meter(rule: CareRule, meter_h: Decimal, done_at: dt.datetime) -> None:
    machine = rule.machine
    if machine is None:
        raise BadRecord("An implement has no hour meter; leave meter_h out.", fields={"meter_h": "no meter"})
    refuse_bad_number("meter_h", meter_h, least=Decimal(0), most=Decimal(MOST_H), decimals=1)
    readings = machine.hour_readings.order_by("read_at", "id")
    before = readings.filter(read_at__lte=done_at).last()
    least_h = before.reading_h if before is not None else machine.meter_start_h
    after = readings.filter(read_at__gt=done_at).first()
    if meter_h < least_h or (after is not None and meter_h > after.reading_h):
        raise MeterRunsBackwards(
            f"The meter of {machine.name} cannot show {meter_h} h then: it showed {least_h} h before"
            + (f" and {after.reading_h} h after." if after is not None else "."),
            fields={"meter_h": "another reading does not allow it"},
        )
    if (
        before is not None
        and meter_h - before.reading_h > _hours_since(before.read_at, done_at) + METER_SLACK_H
    ):
        raise MeterRunsTooFast(
            f"The meter of {machine.name} would gain more than the clock: {meter_h} h after {least_h} h.",
            fields={"meter_h": "gains more than the clock"},
        )


def _hours_since(since: dt.datetime, until: dt.datetime) -> int:
    return (until - since) // dt.timedelta(hours=1)
