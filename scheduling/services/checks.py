"""Keeping the checks before going out that a hand ticked."""

import datetime as dt
import uuid
from typing import Any

from farmops.core.keeping import holds, keep_once
from farmops.farms.models import Farm, Hand, Implement, Machine
from scheduling.models import CheckTicked
from scheduling.services.fact_rules import refuse_bad_day, refuse_bad_text
from scheduling.services.record_rules import refuse_other_farms

LONGEST = 200


def record_check(
    *,
    farm: Farm,
    client_id: uuid.UUID,
    hand: Hand,
    work_on: dt.date,
    check_key: str,
    machine: Machine | None = None,
    implement: Implement | None = None,
    is_fine: bool = True,
    note: str = "",
    ticked_at: dt.datetime,
    now: dt.datetime,
) -> tuple[CheckTicked, bool]:
    """Keep a check that a hand made on a day; return the row and False if it was kept before.

    What was looked at and is not fine says so in its note. Raises BadRecord for a day to come or an odd text;
    NotThisFarm.
    """
    refuse_other_farms(farm, hand, machine, implement)
    refuse_bad_day("work_on", work_on, farm, now)
    refuse_bad_text("check_key", check_key, most=80, is_needed=True)
    refuse_bad_text("note", note, most=LONGEST)
    facts: dict[str, Any] = {
        "hand": hand,
        "work_on": work_on,
        "check_key": check_key,
        "machine": machine,
        "implement": implement,
        "is_fine": is_fine,
        "note": note,
        "ticked_at": ticked_at,
    }

    def make() -> CheckTicked:
        return CheckTicked.objects.create(farm=farm, client_id=client_id, recorded_at=now, **facts)

    return keep_once(
        CheckTicked.objects.filter(farm=farm, client_id=client_id),
        client_id,
        make,
        lambda kept: holds(kept, facts),
    )
