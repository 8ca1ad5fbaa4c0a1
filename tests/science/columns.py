"""Soil columns for tests: all textures side by side, and a crop that grows over and off the ground."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from farmops.science.soil_column import (
    ColumnRun,
    ColumnState,
    Correction,
    CropDays,
    at_field_capacity,
    bare_days,
    column_soils,
    daylight_shares,
    run_column,
)
from farmops.science.textures import TEXTURES, Texture

ALL = list(TEXTURES.values())
SANDY_LOAM = TEXTURES["sandy_loam"]
DAYS = 8
HOURS = 24 * DAYS


def sun(days: int) -> np.ndarray:
    """Return each hour's share of its day's evapotranspiration, for whole days of 24 h."""
    count = 24 * days
    return daylight_shares(
        clock_h=np.arange(count, dtype=np.float64) % 24,
        hours_long=np.ones(count),
        sunrise_h=np.full(count, 7.0),
        sunset_h=np.full(count, 19.5),
    )


def grown(days: int, columns: int = len(ALL), *, opens_again: bool = True) -> CropDays:
    """Return a season in short: the crop closes over the ground and, if so, opens again."""
    along = np.linspace(0, 1, days)
    cover = np.minimum(2 * along, 2 - 2 * along) if opens_again else along
    by_day = np.repeat(cover[:, np.newaxis], columns, axis=1)
    roots = np.repeat(np.maximum.accumulate(cover)[:, np.newaxis], columns, axis=1)
    return CropDays(
        basal_coefficient=0.15 + 1.0 * by_day,
        cover_share=0.02 + 0.96 * by_day,
        height_m=1.2 * roots,
        root_depth_m=0.10 + 0.7 * roots,
        depletion_fraction=np.full((days, columns), 0.5),
    )


def run(
    rain_mm: np.ndarray,
    *,
    days: int,
    crop: CropDays,
    textures: Sequence[Texture] = ALL,
    et_mm_d: float = 5.0,
    kc_max: float = 1.2,
    watering_mm: np.ndarray | None = None,
    corrections: Sequence[Correction] = (),
    start: ColumnState | None = None,
    is_fraction_adjusted: bool = True,
    deep_to_m: float = 1.0,
    compact: bool = False,
) -> ColumnRun:
    """Run columns in hours or days, as many as there are rows of rain; flows are kept step by step."""
    soils = column_soils(textures, deep_to_m)
    is_hourly = len(rain_mm) == 24 * days
    return run_column(
        soils=soils,
        start=start or at_field_capacity(soils=soils, members=1),
        day_index=np.arange(len(rain_mm)) // (24 if is_hourly else 1),
        share_of_day=np.full(len(rain_mm), 1 / 24 if is_hourly else 1.0),
        daylight_share=sun(days) if is_hourly else np.ones(days),
        rain_mm=rain_mm,
        et0_mm=np.full(days, et_mm_d),
        kc_max=np.full(days, kc_max),
        crop=crop,
        watering_mm=watering_mm,
        corrections=corrections,
        is_fraction_adjusted=is_fraction_adjusted,
        keep_flows=True,
        compact=compact,
    )


def bare(rain_mm: np.ndarray, *, textures: list[Texture] | None = None, **more: Any) -> ColumnRun:
    """Run bare ground over `HOURS` hours, or days, as many as there are rows of rain."""
    textures = textures or ALL
    days = DAYS if len(rain_mm) == HOURS else len(rain_mm)
    return run(
        rain_mm, days=days, crop=bare_days(days=days, columns=len(textures)), textures=textures, **more
    )


def holding(topsoil_mm: float, *, columns: int = 1) -> ColumnState:
    """Return bare columns whose topsoil holds so much beside field capacity."""
    drained = at_field_capacity(soils=column_soils([SANDY_LOAM] * columns), members=1)
    store = drained.topsoil_mm + topsoil_mm
    return replace(drained, topsoil_mm=store, surface_mm=store)
