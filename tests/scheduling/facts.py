"""A field under a pivot, and what is seen on it and put on it."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

from farmops.farms.models import Farm, Field, Pivot, Pump
from tests.factories import make_farm, make_field
from tests.scheduling.ground import NEW_YORK

DAY = dt.date(2026, 6, 15)
NOW = dt.datetime(2026, 6, 15, 20, tzinfo=NEW_YORK)
MORNING = dt.datetime(2026, 6, 15, 7, 30, tzinfo=NEW_YORK)


def make_pivot(field: Field, *, pump: Pump | None = None, **facts: Any) -> Pivot:
    """Make a pivot over a field; without a pump it gets a well of 800 gal/min."""
    if pump is None:
        pump = Pump.objects.create(
            farm=field.farm, code=f"well-{field.code}", name="well", flow_gpm=Decimal(800)
        )
    defaults: dict[str, Any] = {
        "name": f"{field.code} pivot",
        "last_tower_radius_ft": Decimal(700),
        "walk_ft_per_min": Decimal(9),
        "tower_count": 4,
        "parking_angle_deg": Decimal(90),
    }
    return Pivot.objects.create(farm=field.farm, field=field, pump=pump, **{**defaults, **facts})


def make_watered_field(farm: Farm | None = None, code: str = "pond-40") -> Field:
    field = make_field(farm or make_farm(), code)
    make_pivot(field)
    return field


def sent_by(number: int, **facts: Any) -> dict[str, Any]:
    """Return facts with an id of the sender and an hour at which they come in."""
    return {"client_id": uuid.UUID(int=number), "now": NOW, **facts}
