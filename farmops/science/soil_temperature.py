"""Warmth of the soil at planting depth: the day's mean that follows the air, and the day's wave that fades with depth.

Expect 2 °C of error and more (horton2011 finds 1.2 to 1.9 °C for daily values, more for maxima).
"""

import numpy as np

from farmops.science.atmosphere import AIR_HIGH_C, AIR_LOW_C, day_temps
from farmops.science.ranges import Array, Computed, Values, above, at_least, plain, within

BARE_SHARE_PER_DAY = 0.25
"""The share of the gap to the air that bare soil closes in a day (zheng1993, as a public model applies it)."""
COVER_EXTINCTION = 0.5
"""Light that a leaf layer takes, from memory (Beer's law for most crops)."""
COVER_FLOOR = 0.5
WET_SLOWING = 0.4
"""Farm judgement: wet soil, with its greater store of heat, closes 20 % less of the gap than moist, dry soil 20 % more."""
SURFACE_SWING = 1.2
"""Farm judgement: bare soil swings a fifth wider than the air above it."""
DAY_S = 86_400


def daily_mean_soil_temp_c(
    *,
    air_mean_c: Values,
    start_c: Values,
    wetness_share: Values | None = None,
    cover_lai: Values = 0.0,
) -> Array:
    """Return the soil's daily mean at about 10 cm, °C, for the days of `air_mean_c`, days first. zheng1993.

    Each day the soil closes 0.25 of the gap to the day's mean air temperature. Where the air is warmer than the soil,
    leaves slow that by exp(-0.5 LAI), to half at most. The published model may take a mean over 11 days of air
    temperature as its driver; that could not be confirmed, so the day's own mean drives here. `wetness_share` (0 dry
    to 1 saturated) slows or speeds the approach by up to 20 %: farm judgement, left out where not given. All
    arguments broadcast against (days, ...). Valid: -60 to 60 °C, share 0 to 1, leaf area 0 to 10, else OutOfRange.
    """
    air = np.atleast_1d(within("air_mean_c", air_mean_c, AIR_LOW_C, AIR_HIGH_C))
    shares = np.broadcast_to(_share_per_day(wetness_share), air.shape)
    leaves = np.broadcast_to(within("cover_lai", cover_lai, 0, 10), air.shape)
    shade = np.maximum(np.exp(-COVER_EXTINCTION * leaves), COVER_FLOOR)
    soil = np.broadcast_to(within("start_c", start_c, AIR_LOW_C, AIR_HIGH_C), air.shape[1:])
    result = np.empty(air.shape)
    for day in range(len(air)):
        gap = air[day] - soil
        soil = soil + shares[day] * gap * np.where(gap > 0, shade[day], 1.0)
        result[day] = soil
    return result


def bare_surface_temp_c(
    *, temp_min_c: Values, temp_max_c: Values, solar_mj_m2_d: Values, albedo: Values = 0.20
) -> Computed:
    """Return the day's mean temperature of a bare surface, °C: the air's, moved by the sun. swat2009 eq. 1:1.3.12.

    Valid: -60 to 60 °C with the minimum not above the maximum, solar 0 to 50 MJ/m², albedo 0 to 1, else OutOfRange.
    """
    low, high = day_temps(temp_min_c, temp_max_c)
    kept = within("solar_mj_m2_d", solar_mj_m2_d, 0, 50) * (1 - within("albedo", albedo, 0, 1))
    return plain((low + high) / 2 + 0.5 * (high - low) * (kept - 14) / 20)


def surface_amplitude_c(*, temp_min_c: Values, temp_max_c: Values, swing: Values = SURFACE_SWING) -> Computed:
    """Return half the day's range of temperature at the soil surface, °C.

    Half the air's range times `swing`; 1.2 for bare soil is farm judgement, less under residue or on wet ground.
    Valid: -60 to 60 °C with the minimum not above the maximum, swing 0 to 3, else OutOfRange.
    """
    low, high = day_temps(temp_min_c, temp_max_c)
    return plain((high - low) / 2 * within("swing", swing, 0, 3))


def damping_depth_cm(*, diffusivity_m2_s: Values, period_s: Values = DAY_S) -> Computed:
    """Return the depth in which a wave of temperature fades to 1/e, cm: sqrt(diffusivity × period / pi). ochsner2019.

    Valid: diffusivity above 0 up to 1e-5 m²/s, period above 0, else OutOfRange.
    """
    diffusivity = within("diffusivity_m2_s", above("diffusivity_m2_s", diffusivity_m2_s, 0), 0, 1e-5)
    return plain(100 * np.sqrt(diffusivity * above("period_s", period_s, 0) / np.pi))


def wave_lag_h(*, depth_cm: Values, damping_depth_cm: Values = 11.7, period_h: Values = 24.0) -> Computed:
    """Return how much later than at the surface a wave peaks at a depth, h. ochsner2019.

    Valid: depth 0 to 500 cm, damping depth and period above 0, else OutOfRange.
    """
    depth = within("depth_cm", depth_cm, 0, 500)
    return plain(
        depth / above("damping_depth_cm", damping_depth_cm, 0) * above("period_h", period_h, 0) / (2 * np.pi)
    )


def soil_temp_at_hour_c(
    *,
    daily_mean_c: Values,
    surface_amplitude_c: Values,
    depth_cm: Values,
    hour: Values,
    damping_depth_cm: Values = 11.7,
    surface_peak_hour: Values = 14.0,
) -> Computed:
    """Return the soil's temperature at a depth and hour of the day, °C: a sine wave that fades and lags. ochsner2019.

    11.7 cm belongs to a diffusivity of 0.5e-6 m²/s; a peak at 2 pm at the surface is farm judgement. Valid: mean -60
    to 60 °C, amplitude 0 to 60 °C, depth 0 to 500 cm, hours 0 to 24, damping depth above 0, else OutOfRange.
    """
    mean = within("daily_mean_c", daily_mean_c, AIR_LOW_C, AIR_HIGH_C)
    swing = within("surface_amplitude_c", surface_amplitude_c, 0, 60)
    fading = within("depth_cm", depth_cm, 0, 500) / above("damping_depth_cm", damping_depth_cm, 0)
    since_peak = within("hour", hour, 0, 24) - within("surface_peak_hour", surface_peak_hour, 0, 24)
    return plain(mean + swing * np.exp(-fading) * np.cos(2 * np.pi / 24 * since_peak - fading))


def _share_per_day(wetness_share: Values | None) -> Array:
    if wetness_share is None:
        return np.asarray(BARE_SHARE_PER_DAY)
    wetness = within("wetness_share", at_least("wetness_share", wetness_share, 0), 0, 1)
    result: Array = BARE_SHARE_PER_DAY * (1 + WET_SLOWING * (0.5 - wetness))
    return result
