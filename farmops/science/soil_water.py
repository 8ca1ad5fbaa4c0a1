"""Water of bare topsoil, day by day and for many fields at once: how wet is the ground that wheels and tools meet?

The evaporating layer is that of fao56 chapter 7. Two things go beyond the chapter and are farm judgement: water above
field capacity stays for a while and drains by the texture's share a day, and the topsoil that tools work in is
0.15 m deep, of which the part below the evaporating layer is taken to stay at field capacity until it is wetter.

The functions of the chapter and the soil textures can be had from here too.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from farmops.science.crop_water import (
    adjusted_depletion_fraction,
    dual_crop_topsoil_day,
    evaporation_reduction,
    kc_max,
    readily_available_water_mm,
    root_zone_day,
    stress_coefficient,
    total_available_water_mm,
    total_evaporable_water_mm,
)
from farmops.science.ranges import Array, OutOfRange, Values, not_above, within
from farmops.science.runoff import curve_number_dry, curve_number_wet, runoff_by_wetness_mm, runoff_mm
from farmops.science.textures import TEXTURES, Texture

__all__ = [
    "TEXTURES",
    "Texture",
    "TopsoilDays",
    "adjusted_depletion_fraction",
    "bare_topsoil",
    "curve_number_dry",
    "curve_number_wet",
    "dual_crop_topsoil_day",
    "evaporation_reduction",
    "kc_max",
    "readily_available_water_mm",
    "root_zone_day",
    "runoff_mm",
    "stress_coefficient",
    "topsoil_water_m3_m3",
    "total_available_water_mm",
    "total_evaporable_water_mm",
]

TOPSOIL_M = 0.15
GROUND_HEIGHT_M = 0.10
"""Height of clods and stubble for fao56 eq. 72: farm judgement; the wind's part in evaporation hangs on it."""
DRY_READILY_SHARE, DRY_TOTAL_SHARE = 0.7, 0.3
"""Ground is dry for the curve number at a depletion of 0.7 REW + 0.3 TEW: asce2016 eq. 14-19."""


@dataclass(frozen=True)
class TopsoilDays:
    """Flows of each day and stores at its end; arrays of days × fields, mm where not said otherwise.

    rain + irrigation - runoff - evaporation - drainage = change of (excess - depletion), each day.
    """

    runoff_mm: Array
    evaporation_mm: Array
    drainage_mm: Array
    depletion_mm: Array
    excess_mm: Array
    topsoil_m3_m3: Array


def topsoil_water_m3_m3(
    *, field_capacity_m3_m3: Values, depletion_mm: Values, excess_mm: Values, depth_evap_m: float = 0.10
) -> Array:
    """Return the mean water content of the topsoil, m³/m³.

    The topsoil reaches to 0.15 m, or as deep as evaporation does if that is deeper. It holds what field capacity
    holds, less what evaporation took from its upper part, plus what has not drained. Farm judgement.
    """
    depth_mm = 1000 * max(TOPSOIL_M, depth_evap_m)
    return np.asarray(
        field_capacity_m3_m3 + (np.asarray(excess_mm) - np.asarray(depletion_mm)) / depth_mm, dtype=np.float64
    )


def bare_topsoil(
    *,
    et0_mm: Values,
    rain_mm: Values,
    irrigation_mm: Values | None = None,
    textures: Sequence[Texture],
    depth_evap_m: float = 0.10,
    start_depletion_mm: Values = 0.0,
    start_excess_mm: Values = 0.0,
    wind_2m_m_s: Values = 2.0,
    humidity_min_pct: Values = 45.0,
) -> TopsoilDays:
    """Return the water of bare topsoil over days, one column for each of `textures`. fao56 eq. 71-77, bare soil.

    Weather is by day (days,), the same for all columns, or (days, columns); starts are numbers or (columns,).
    Each day: rain less runoff (see `runoff_by_wetness_mm`) and irrigation fill the depletion first, the rest
    stands above field capacity; what saturation cannot hold and the texture's daily share of the rest drain; then
    evaporation takes from what stands above first. Wind and humidity count within 1 to 6 m/s and 20 to 80 %, the
    bounds of eq. 72. More rain on any day never leaves the topsoil drier on that day or later.

    Valid: evapotranspiration 0 to 30 mm, rain 0 to 2000 mm, irrigation 0 to 500 mm a day, depletion up to the
    evaporable water, excess up to saturation, not both; else OutOfRange.
    """
    if not textures:
        raise OutOfRange("textures", 0, "at least one texture")
    count = len(textures)
    rain = _by_field("rain_mm", within("rain_mm", rain_mm, 0, 2000), count)
    days = len(rain)
    et0 = _by_field("et0_mm", within("et0_mm", et0_mm, 0, 30), count, days)
    watered = _by_field(
        "irrigation_mm",
        within("irrigation_mm", np.zeros(1) if irrigation_mm is None else irrigation_mm, 0, 500),
        count,
        days,
    )
    wind = np.clip(within("wind_2m_m_s", wind_2m_m_s, 0, 100), 1, 6)
    humidity = np.clip(within("humidity_min_pct", humidity_min_pct, 0, 100), 20, 80)
    most = kc_max(wind_2m_m_s=wind, humidity_min_pct=humidity, height_m=GROUND_HEIGHT_M)
    demand = et0 * _by_field("wind_2m_m_s", np.asarray(most), count, days)
    field_capacity = np.array([texture.field_capacity_m3_m3 for texture in textures])
    saturation = np.array([texture.saturation_m3_m3 for texture in textures])
    readily = np.array([texture.readily_evaporable_mm for texture in textures])
    curve_number = np.array([texture.curve_number_fallow for texture in textures])
    drained_share = np.array([texture.drainage_share_per_day for texture in textures])
    total = np.asarray(
        total_evaporable_water_mm(
            field_capacity_m3_m3=field_capacity,
            wilting_point_m3_m3=np.array([texture.wilting_point_m3_m3 for texture in textures]),
            depth_evap_m=depth_evap_m,
        )
    )
    not_above("readily_evaporable_mm", readily, "total_evaporable_mm", total - 0.1)
    room = 1000 * max(TOPSOIL_M, depth_evap_m) * (saturation - field_capacity)
    dry_at = DRY_READILY_SHARE * readily + DRY_TOTAL_SHARE * total
    store = _start_store(start_depletion_mm, start_excess_mm, total, room)

    runoff, drainage, evaporation, water = (np.empty((days, count)) for _ in range(4))
    for day in range(days):
        runoff[day] = runoff_by_wetness_mm(
            rain_mm=rain[day], curve_number=curve_number, water_above_dry_mm=store + dry_at
        )
        store = store + rain[day] - runoff[day] + watered[day]
        excess = np.maximum(store, 0.0)
        held = np.minimum(excess, room)
        drainage[day] = excess - held + drained_share * held
        store = store - drainage[day]
        reduction = np.clip((total + store) / (total - readily), 0.0, 1.0)
        evaporation[day] = np.minimum(reduction * demand[day], total + store)
        store = store - evaporation[day]
        water[day] = store
    depletion, excess_end = np.maximum(-water, 0.0), np.maximum(water, 0.0)
    return TopsoilDays(
        runoff_mm=runoff,
        evaporation_mm=evaporation,
        drainage_mm=drainage,
        depletion_mm=depletion,
        excess_mm=excess_end,
        topsoil_m3_m3=topsoil_water_m3_m3(
            field_capacity_m3_m3=field_capacity,
            depletion_mm=depletion,
            excess_mm=excess_end,
            depth_evap_m=depth_evap_m,
        ),
    )


def _by_field(name: str, values: Array, count: int, days: int | None = None) -> Array:
    """Return values by day (days,) or number as (days, count)."""
    table = np.atleast_1d(values)
    if table.ndim == 1:
        table = table[:, np.newaxis]
    length = len(table) if days is None else days
    if table.ndim != 2 or table.shape[1] not in (1, count) or len(table) not in (1, length):
        raise OutOfRange(f"shape of {name}", len(table), f"{length} days by 1 or {count} fields")
    return np.broadcast_to(table, (length, count))


def _start_store(start_depletion_mm: Values, start_excess_mm: Values, total: Array, room: Array) -> Array:
    """Return water beside field capacity at the start: above it positive, below it negative."""
    depletion = np.broadcast_to(within("start_depletion_mm", start_depletion_mm, 0, 1000), total.shape)
    excess = np.broadcast_to(within("start_excess_mm", start_excess_mm, 0, 1000), total.shape)
    not_above("start_depletion_mm", depletion, "total_evaporable_mm", total + 1e-9)
    not_above("start_excess_mm", excess, "room above field capacity", room + 1e-9)
    not_above(
        "the lesser of depletion and excess", np.minimum(depletion, excess), "nothing", np.zeros_like(total)
    )
    return np.minimum(excess, room) - np.minimum(depletion, total)
