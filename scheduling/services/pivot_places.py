"""Keeping where a pivot was seen, and whether it ran."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

from farmops.core.keeping import holds, keep_once
from farmops.core.models import User
from farmops.farms.models import Farm, Pivot
from scheduling.models import PivotPlace
from scheduling.services.fact_rules import refuse_bad_instant, refuse_bad_number, refuse_bad_text
from scheduling.services.record_rules import refuse_other_farms

MOST_ANGLE_DEG = Decimal("359.9")


def record_pivot_place(
    *,
    farm: Farm,
    client_id: uuid.UUID,
    pivot: Pivot,
    seen_at: dt.datetime,
    is_running: bool,
    angle_deg: Decimal | None = None,
    note: str = "",
    recorded_by: User | None,
    now: dt.datetime,
) -> tuple[PivotPlace, bool]:
    """Keep where a pivot was seen, clockwise from north; return the row and False if it was kept before.

    The newest sight counts, so a newer one is the correction. Raises BadRecord for an angle outside 0 to 359.9 degrees
    or an hour to come; NotThisFarm.
    """
    refuse_other_farms(farm, pivot)
    refuse_bad_instant("seen_at", seen_at, farm, now)
    if angle_deg is not None:
        refuse_bad_number("angle_deg", angle_deg, least=Decimal(0), most=MOST_ANGLE_DEG, decimals=1)
    refuse_bad_text("note", note)
    facts: dict[str, Any] = {
        "pivot": pivot,
        "seen_at": seen_at,
        "is_running": is_running,
        "angle_deg": angle_deg,
        "note": note,
    }

    def make() -> PivotPlace:
        return PivotPlace.objects.create(
            farm=farm, client_id=client_id, recorded_by=recorded_by, recorded_at=now, **facts
        )

    return keep_once(
        PivotPlace.objects.filter(farm=farm, client_id=client_id),
        client_id,
        make,
        lambda kept: holds(kept, facts),
    )
