"""What is known of each soil zone: its rain, water, crop, remarks and thermometer readings. A constant number of queries."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

import numpy as np

from farmops.farms.models import CropWaterFacts, Farm, Season, SoilZone
from farmops.farms.selectors import crop_water_of
from farmops.science.crops import CROP_WATER, CropWater
from farmops.science.units import celsius_from_fahrenheit, cm_from_inches
from farmops.weather.selectors import field_rain, soil_readings
from scheduling.selectors.field_facts import planted_on, remarks_of, watered_mm
from scheduling.windows.columns import GroundRemark, Planting, RainSoFar, SoilTempRead, ZoneFacts
from scheduling.windows.timeline import MOST_DAYS_BEFORE

DAY = dt.timedelta(days=1)
FEW_FIELDS = 200
"""Up to so many fields are asked for by their row ids; for more it is quicker to read the farm."""


def plantings(*, farm: Farm, as_of: dt.date, only: Collection[int] | None = None) -> dict[int, Planting]:
    """Return the crop that was planted last on each field, by field id; one of more than 400 days ago is over.

    Roots and allowed depletion are the farm's own where it has set them, else its region's. `only` are the row ids of
    the fields asked for, else all.
    """
    days = planted_on(farm=farm, as_of=as_of, only=only)
    own = crop_water_of(farm=farm)
    found: dict[int, Planting] = {}
    for season in Season.objects.filter(farm=farm, pk__in=list(days)).order_by("id"):
        crop = CROP_WATER.get((farm.region, season.crop))
        day = days[season.pk]
        if crop is None or (as_of - day).days > MOST_DAYS_BEFORE:
            continue
        newest = found.get(season.field_id)
        if newest is None or day >= newest.planted_on:
            found[season.field_id] = Planting(_with_own(crop, own.get(season.crop)), day)
    return found


def zone_facts(
    *,
    farm: Farm,
    zones: Sequence[SoilZone],
    days: Sequence[dt.date],
    as_of: dt.date,
    planted: Mapping[int, Planting],
) -> list[ZoneFacts]:
    """Return the facts of each zone over `days`; a remark or reading on a field without a zone counts for all of it.

    Rain is what was read up to `as_of`, in gauges on the morning after too. Remarks and readings count up to that day.
    """
    first, last, morning = days[0], days[-1], as_of + DAY
    rain = field_rain(
        farm=farm,
        places={
            zone.field_id: (float(zone.field.latitude_deg), float(zone.field.longitude_deg)) for zone in zones
        },
        first=first,
        last=last,
        as_of=as_of,
    )
    only = list(rain) if len(rain) <= FEW_FIELDS else None
    watered = watered_mm(farm=farm, first=first, last=last, as_of=as_of, only=only)
    remarks: dict[tuple[int, int | None], list[GroundRemark]] = defaultdict(list)
    for remark in remarks_of(farm=farm, first=first, last=morning, only=only):
        remarks[remark.field_id, remark.zone_id].append(GroundRemark(remark.said_at, remark.what))
    readings: dict[tuple[int, int | None], list[SoilTempRead]] = defaultdict(list)
    for reading in soil_readings(farm=farm, first=first, last=morning, only=only):
        readings[reading.field_id, reading.zone_id].append(
            SoilTempRead(
                reading.read_at,
                float(reading.depth_in),
                float(celsius_from_fahrenheit(float(reading.temp_f))),
            )
        )
    by_field = {
        field_id: np.array([watered.get(field_id, {}).get(day, 0.0) for day in days]) for field_id in rain
    }
    return [
        ZoneFacts(
            rain_mm=rain[zone.field_id].rain_mm,
            rain_source=rain[zone.field_id].source,
            watered_mm=by_field[zone.field_id],
            planting=planted.get(zone.field_id),
            remarks=tuple(
                sorted(
                    remarks[zone.field_id, None] + remarks[zone.field_id, zone.pk],
                    key=lambda remark: remark.said_at,
                )
            ),
            readings=tuple(
                sorted(
                    readings[zone.field_id, None] + readings[zone.field_id, zone.pk],
                    key=lambda reading: reading.read_at,
                )
            ),
            so_far=tuple(
                RainSoFar(one.day, one.rain_mm, one.until_h) for one in rain[zone.field_id].own_days
            ),
        )
        for zone in zones
    ]


def _with_own(crop: CropWater, own: CropWaterFacts | None) -> CropWater:
    """Return the region's crop with the farm's own roots and allowed depletion in it."""
    if own is None:
        return crop
    if own.root_depth_in is not None:
        deepest_m = float(cm_from_inches(float(own.root_depth_in))) / 100
        crop = replace(crop, root_most_m=deepest_m, root_first_m=min(crop.root_first_m, deepest_m))
    if own.allowed_share is not None:
        crop = replace(crop, depletion_fraction=float(own.allowed_share))
    return crop
