"""Keeping the service that was done on machines and implements."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from farmops.core.keeping import holds, keep_once
from farmops.core.models import User
from farmops.farms.models import CareRule, Farm, Hand, Machine
from scheduling.models import CareDone
from scheduling.services.fact_rules import refuse_bad_correction, refuse_bad_instant, refuse_bad_text
from scheduling.services.meter_rules import refuse_bad_reading
from scheduling.services.record_rules import DAY_MIN, refuse_other_farms
from scheduling.services.refusals import BadRecord
from scheduling.services.work import record_hour_reading

LONGEST_PARTS = 200
MOST_CENTS = 10_000_000  # farm judgement: a hundred thousand dollars of parts come with a bill


def record_care(
    *,
    farm: Farm,
    client_id: uuid.UUID,
    rule: CareRule,
    done_at: dt.datetime,
    meter_h: Decimal | None = None,
    hand: Hand | None = None,
    hand_min: int = 0,
    parts: str = "",
    parts_cents: int | None = None,
    note: str = "",
    is_taken_back: bool = False,
    supersedes: CareDone | None = None,
    recorded_by: User | None,
    now: dt.datetime,
) -> tuple[CareDone, bool]:
    """Keep a service that was done; return the row and False if it was kept before. The rule counts anew from it.

    `parts` are what went in, `parts_cents` what they cost where no bill will say it. A correction names the row that it `supersedes`; with `is_taken_back` the service was not done after all. Raises
    BadRecord for an hour to come, a meter of what has none, odd minutes or cents; MeterRunsBackwards and MeterRunsTooFast for a
    meter that readings before and after do not allow; SupersededAlready; NotThisFarm.
    """
    refuse_other_farms(farm, rule, hand, supersedes)
    refuse_bad_instant("done_at", done_at, farm, now)
    refuse_bad_text("note", note)
    refuse_bad_text("parts", parts, most=LONGEST_PARTS)
    if parts_cents is not None and not 0 <= parts_cents <= MOST_CENTS:
        raise BadRecord(
            _("{name} is {value}; it is {least} to {most}.").format(
                name="parts_cents", value=parts_cents, least=0, most=MOST_CENTS
            ),
            fields={"parts_cents": f"not 0 to {MOST_CENTS}"},
        )
    if not 0 <= hand_min <= DAY_MIN:
        raise BadRecord(
            _("{name} is {value}; it is {least} to {most}.").format(
                name="hand_min", value=hand_min, least=0, most=DAY_MIN
            ),
            fields={"hand_min": "not minutes of a day"},
        )
    if supersedes is not None and supersedes.rule_id != rule.pk:
        raise BadRecord(
            _("The row that is corrected is of another service."), fields={"supersedes": "another"}
        )
    machine = rule.machine
    if meter_h is not None and machine is None:
        raise BadRecord(
            _("Only a machine has an hour meter; leave meter_h out."), fields={"meter_h": "no meter"}
        )
    facts: dict[str, Any] = {
        "rule": rule,
        "done_at": done_at,
        "meter_h": meter_h,
        "hand": hand,
        "hand_min": hand_min,
        "parts": parts,
        "parts_cents": parts_cents,
        "note": note,
        "is_taken_back": is_taken_back,
        "supersedes": supersedes,
    }

    def make() -> CareDone:
        if meter_h is not None and machine is not None:
            Machine.objects.select_for_update().get(pk=machine.pk)
            refuse_bad_reading(machine, meter_h, done_at, name="meter_h")
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


@transaction.atomic
def record_service(
    *,
    farm: Farm,
    client_id: uuid.UUID,
    rule: CareRule,
    done_at: dt.datetime,
    meter_h: Decimal | None,
    hand: Hand | None,
    hand_min: int,
    parts: str,
    parts_cents: int | None,
    note: str,
    recorded_by: User | None,
    now: dt.datetime,
) -> tuple[CareDone, bool]:
    """Keep a service with the meter that was read at it, which is a reading like another. Raises as `record_care` does."""
    done, is_new = record_care(
        farm=farm,
        client_id=client_id,
        rule=rule,
        done_at=done_at,
        meter_h=meter_h,
        hand=hand,
        hand_min=hand_min,
        parts=parts,
        parts_cents=parts_cents,
        note=note,
        recorded_by=recorded_by,
        now=now,
    )
    if meter_h is not None and rule.machine is not None:
        record_hour_reading(
            farm=farm,
            client_id=uuid.uuid5(client_id, "meter"),
            machine=rule.machine,
            reading_h=meter_h,
            read_at=done_at,
            read_by=hand,
            now=now,
        )
    return done, is_new


def take_back_care(*, done: CareDone, recorded_by: User | None, now: dt.datetime) -> tuple[CareDone, bool]:
    """Keep that a service was not done after all: its rule counts on as before. Doing it twice changes nothing.

    A meter that was read at it stays; where it was wrong, set the reading aside. Raises SupersededAlready for a row
    that was corrected.
    """
    return record_care(
        farm=done.farm,
        client_id=uuid.uuid5(done.client_id, "taken back"),
        rule=done.rule,
        done_at=done.done_at,
        is_taken_back=True,
        supersedes=done,
        recorded_by=recorded_by,
        now=now,
    )
