"""Keeping how a farm waters a crop, where that differs from its region's practice."""

import datetime as dt
from decimal import Decimal

from farmops.core.models import User
from farmops.farms.models import Crop, CropWaterFacts, Farm
from farmops.farms.services.facts import FactRefused
from farmops.farms.services.ranges import RANGES


def set_crop_water(
    *,
    farm: Farm,
    crop: str,
    root_depth_in: Decimal | None = None,
    allowed_share: Decimal | None = None,
    set_by: User | None,
    now: dt.datetime,
) -> CropWaterFacts:
    """Keep a farm's own root depth and allowed depletion of a crop; the newest row counts.

    A number left out is the region's again. Raises FactRefused for a crop nobody knows and for numbers out of range.
    """
    if crop not in Crop.values:
        known = ", ".join(Crop.values)
        raise FactRefused(f"The crop {crop!r} is not known; known are {known}.", fields={"crop": known})
    for name, value in (("root_depth_in", root_depth_in), ("allowed_share", allowed_share)):
        least, most, decimals = RANGES[name]
        if value is None:
            continue
        if not (value.is_finite() and Decimal(str(least)) <= value <= Decimal(str(most))):
            says = f"{value} is outside {least:g} to {most:g}"
            raise FactRefused(f"{name}: {says}.", fields={name: says})
        if value != round(value, decimals):
            raise FactRefused(
                f"{name}: {value} has more than {decimals} decimals.", fields={name: "decimals"}
            )
    return CropWaterFacts.objects.create(
        farm=farm,
        crop=crop,
        root_depth_in=root_depth_in,
        allowed_share=allowed_share,
        set_by=set_by,
        set_at=now,
    )
