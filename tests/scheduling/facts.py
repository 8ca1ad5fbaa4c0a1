"""A field under a pivot, and what is seen on it and put on it."""

import datetime as dt
import uuid
from typing import Any

from farmops.farms.models import Farm, Field
from tests.factories import make_farm, make_field
from tests.scheduling.ground import NEW_YORK, make_pivot

DAY = dt.date(2026, 6, 15)
NOW = dt.datetime(2026, 6, 15, 20, tzinfo=NEW_YORK)
MORNING = dt.datetime(2026, 6, 15, 7, 30, tzinfo=NEW_YORK)


def make_watered_field(farm: Farm | None = None, code: str = "pond-40") -> Field:
    field = make_field(farm or make_farm(), code)
    make_pivot(field)
    return field


def sent_by(number: int, **facts: Any) -> dict[str, Any]:
    """Return facts with an id of the sender and an hour at which they come in."""
    return {"client_id": uuid.UUID(int=number), "now": NOW, **facts}
