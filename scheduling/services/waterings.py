"""Keeping the water that was put on a field."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

from django.db.models import Sum

from farmops.core.keeping import holds, keep_once
from farmops.core.models import User
from farmops.farms.models import Farm, Field
from scheduling.models import Watering
from scheduling.services.fact_rules import (
    refuse_bad_correction,
    refuse_bad_day,
    refuse_bad_number,
    refuse_bad_text,
)
from scheduling.services.record_rules import refuse_other_farms
from scheduling.services.refusals import BadRecord

LEAST_IN = Decimal("0.01")
MOST_IN_A_DAY = Decimal(4)
"""Farm judgement: a pivot puts on 1 to 2 in in a slow turn; more than this in a day is a slip of the pen, or mm."""


def record_watering(
    *,
    farm: Farm,
    client_id: uuid.UUID,
    field: Field,
    water_on: dt.date,
    depth_in: Decimal,
    note: str = "",
    is_taken_back: bool = False,
    supersedes: Watering | None = None,
    recorded_by: User | None,
    now: dt.datetime,
) -> tuple[Watering, bool]:
    """Keep the inches of water put on a field on a day; return the row and False if it was kept before.

    Rows of one day add up. A correction names the row that it `supersedes`; with `is_taken_back` nothing takes its
    place. Raises BadRecord for less than 0.01 in, more than 4 in in a day, a day to come; SupersededAlready;
    NotThisFarm.
    """
    refuse_other_farms(farm, field, supersedes)
    refuse_bad_day("water_on", water_on, farm, now)
    refuse_bad_number("depth_in", depth_in, least=LEAST_IN, most=MOST_IN_A_DAY, decimals=2)
    refuse_bad_text("note", note)
    facts: dict[str, Any] = {
        "field": field,
        "water_on": water_on,
        "depth_in": depth_in,
        "note": note,
        "is_taken_back": is_taken_back,
        "supersedes": supersedes,
    }

    def make() -> Watering:
        Field.objects.select_for_update().get(pk=field.pk)  # two rows of one day wait for each other
        refuse_bad_correction(supersedes, is_taken_back=is_taken_back)
        if not is_taken_back:
            _refuse_a_flood(field, water_on, depth_in, supersedes)
        return Watering.objects.create(
            farm=farm, client_id=client_id, recorded_by=recorded_by, recorded_at=now, **facts
        )

    return keep_once(
        Watering.objects.filter(farm=farm, client_id=client_id),
        client_id,
        make,
        lambda kept: holds(kept, facts),
    )


def _refuse_a_flood(field: Field, day: dt.date, depth_in: Decimal, supersedes: Watering | None) -> None:
    standing = Watering.objects.filter(
        field=field, water_on=day, superseded_by__isnull=True, is_taken_back=False
    )
    if supersedes is not None:
        standing = standing.exclude(pk=supersedes.pk)
    before_in = standing.aggregate(sum=Sum("depth_in"))["sum"] or Decimal(0)
    if before_in + depth_in > MOST_IN_A_DAY:
        raise BadRecord(
            f"{field} would have {before_in + depth_in} in of water on {day}; at most {MOST_IN_A_DAY} in a day.",
            fields={"depth_in": f"{before_in} in are recorded already"},
        )
