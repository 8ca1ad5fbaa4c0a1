"""Reports as they come in from the field, for tests of what is taken from them."""

import datetime as dt
import uuid
from typing import Any

from farmops.farms.models import Hand
from scheduling.models import FieldReport

__all__ = ["make_report"]


def make_report(
    hand: Hand,
    kind: str,
    body: dict[str, Any],
    *,
    now: dt.datetime,
    number: int = 1,
    made_at: dt.datetime | None = None,
) -> FieldReport:
    """Return the row of a report, as it is kept before anything is taken from it."""
    return FieldReport.objects.create(
        farm=hand.farm,
        client_id=uuid.UUID(int=number),
        hand=hand,
        kind=kind,
        body=body,
        body_hash="0" * 64,
        made_at=made_at,
        written_at=made_at,
        received_at=now,
    )
