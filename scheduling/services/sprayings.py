"""Keeping what was sprayed on a field, with the hours and days that its labels ask for. The label wins."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from farmops.core.keeping import holds, keep_once
from farmops.core.models import User
from farmops.farms.models import Farm, Field, Hand
from farmops.farms.operations import SPRAYING, Operation
from scheduling.models import Spraying
from scheduling.services.fact_rules import (
    refuse_bad_correction,
    refuse_bad_instant,
    refuse_bad_number,
    refuse_bad_text,
)
from scheduling.services.record_rules import refuse_other_farms
from scheduling.services.refusals import BadRecord
from scheduling.services.spray_details import SprayFacts, day_of, holds_detail, keep_detail, refuse_bad_detail

MOST_REENTRY_H = Decimal(720)
"""Farm judgement: labels state 4 to 72 hours, some 30 days; more is a slip of the pen."""
MOST_PLANT_BACK_DAYS = 1460
"""Farm judgement: the longest crop rotation intervals on labels are of some 40 months."""
MOST_WIND_MPH = Decimal(60)
LONGEST_PRODUCTS = 300
CUT_SHORT = " …"


def record_spraying(
    *,
    farm: Farm,
    client_id: uuid.UUID,
    field: Field,
    ended_at: dt.datetime,
    operation: str = Operation.SPRAY,
    products: str = "",
    reentry_h: Decimal,
    plant_back_days: int | None = None,
    sprayed_by: Hand | None = None,
    wind_mph: Decimal | None = None,
    note: str = "",
    detail: SprayFacts | None = None,
    is_taken_back: bool = False,
    supersedes: Spraying | None = None,
    recorded_by: User | None,
    now: dt.datetime,
) -> tuple[Spraying, bool]:
    """Keep what was sprayed on a field until when; return the row and False if it was kept before.

    `reentry_h` is the longest restricted-entry interval of the labels, `plant_back_days` the longest until the next
    crop. `detail` is what a whole record holds; its products stand in the place of `products`. A correction names the row that it `supersedes`; with `is_taken_back` nothing takes its place. Raises
    BadRecord for hours outside 0 to 720, days outside 0 to 1460, no product, an hour to come, work that sprays
    nothing; AcresOver; NoValidLicense for a restricted-use product without one; SupersededAlready; NotThisFarm.
    """
    refuse_other_farms(farm, field, sprayed_by, supersedes)
    if operation not in SPRAYING:
        known = ", ".join(sorted(SPRAYING))
        raise BadRecord(
            _("{operation} sprays nothing; it is one of {known}.").format(
                operation=repr(operation), known=known
            ),
            fields={"operation": f"one of {known}"},
        )
    refuse_bad_instant("ended_at", ended_at, farm, now)
    if detail is not None:
        refuse_bad_detail(detail, farm=farm, field=field, ended_at=ended_at, now=now)
        products = named_products(detail)
    refuse_bad_text("products", products, most=LONGEST_PRODUCTS, is_needed=True)
    refuse_bad_text("note", note)
    refuse_bad_number("reentry_h", reentry_h, least=Decimal(0), most=MOST_REENTRY_H, decimals=1)
    if wind_mph is not None:
        refuse_bad_number("wind_mph", wind_mph, least=Decimal(0), most=MOST_WIND_MPH, decimals=1)
    if plant_back_days is not None and not 0 <= plant_back_days <= MOST_PLANT_BACK_DAYS:
        raise BadRecord(
            _("{name} is {value}; it is {least} to {most}.").format(
                name="plant_back_days", value=plant_back_days, least=0, most=MOST_PLANT_BACK_DAYS
            ),
            fields={"plant_back_days": f"not 0 to {MOST_PLANT_BACK_DAYS}"},
        )
    facts: dict[str, Any] = {
        "field": field,
        "ended_at": ended_at,
        "operation": operation,
        "products": products,
        "reentry_h": reentry_h,
        "plant_back_days": plant_back_days,
        "sprayed_by": sprayed_by,
        "wind_mph": wind_mph,
        "note": note,
        "is_taken_back": is_taken_back,
        "supersedes": supersedes,
    }

    def make() -> Spraying:
        refuse_bad_correction(supersedes, is_taken_back=is_taken_back)
        row = Spraying.objects.create(
            farm=farm, client_id=client_id, recorded_by=recorded_by, recorded_at=now, **facts
        )
        if detail is not None:
            keep_detail(row, detail, farm=farm, hand=sprayed_by, day=day_of(detail, farm))
        return row

    return keep_once(
        Spraying.objects.filter(farm=farm, client_id=client_id),
        client_id,
        make,
        lambda kept: holds(kept, facts) and holds_detail(kept, detail),
    )


def take_back_spraying(
    *, spraying: Spraying, client_id: uuid.UUID, recorded_by: User | None, now: dt.datetime
) -> tuple[Spraying, bool]:
    """Keep that a spraying never was; return the row that says so and False if it was kept before."""
    same = (
        "farm",
        "field",
        "ended_at",
        "operation",
        "products",
        "reentry_h",
        "plant_back_days",
        "sprayed_by",
        "wind_mph",
    )
    return record_spraying(
        **{name: getattr(spraying, name) for name in same},
        client_id=client_id,
        is_taken_back=True,
        supersedes=spraying,
        recorded_by=recorded_by,
        now=now,
    )


def named_products(detail: SprayFacts) -> str:
    """Return the names of the products as one text, cut short where they are too many for it."""
    names = ", ".join(product.name for product in detail.products)
    if len(names) <= LONGEST_PRODUCTS:
        return names
    return names[: LONGEST_PRODUCTS - len(CUT_SHORT)] + CUT_SHORT
