"""Warmth of the soil down to 30 cm: the day's mean that follows the air, and the day's wave that fades with depth.

Expect 2 °C of error and more (horton2011 finds 1.2 to 1.9 °C for daily values, more for maxima). Three things these
formulas cannot do. Behind a cold front the day's mean at four inches falls by a quarter of the gap to the air, by
about 6 °F where thermometers have been seen to fall over 10 °F in a day: wind, cold rain and a clear night are not in
it. Freezing ground and snow are not in it either: under them soil stays far warmer than this says. And the wave
through the day is a plain sine: a day whose afternoon alone turns out warmer swings wider and so starts from a colder
morning, while a day that is warmer all through is colder at no hour and no depth.
"""

from collections.abc import Sequence

import numpy as np

from farmops.science.atmosphere import AIR_HIGH_C, AIR_LOW_C, day_temps
from farmops.science.ranges import Array, Computed, OutOfRange, Values, above, at_least, plain, within

BARE_SHARE_PER_DAY = 0.25
"""The share of the gap to the air that bare soil closes in a day (zheng1993, as a public model applies it)."""
COVER_EXTINCTION = 0.5
"""Light that a leaf layer takes, from memory (Beer's law for most crops)."""
COVER_FLOOR = 0.5
MOST_LAI = 10.0
WET_SLOWING = 0.4
"""Farm judgement: wet soil, with its greater store of heat, closes 20 % less of the gap than moist, dry soil 20 % more."""
SURFACE_SWING = 1.2
"""Farm judgement: bare soil swings a fifth wider than the air above it."""
WET_SWING_LOSS = 0.4
"""Farm judgement: from dry to saturated ground the swing falls by so much, about that of moist ground."""
COVERED_SWING = 0.5
"""Farm judgement: under a closed canopy or a full mat of residue the ground swings half as wide as the air."""
SUN_SHARE = 0.5
"""Farm judgement: how much of the sun's push on the bare surface (swat2009) the model at 10 cm is driven with."""
DAY_S = 86_400
MEAN_DEPTH_CM = 10.0
"""Where the daily model stands; four inches."""
DEEPEST_CM = 30.0
DAILY_DAMPING_CM = 11.7
"""Of a diffusivity of 0.5e-6 m²/s, ochsner2019."""
SPELL_DAYS = 10.0
"""Farm judgement: the length of a wave of weather, warm spell and cold spell, whose fading between depths is met."""
THERMOMETER_HALF_LIFE_DAYS = 3.0
"""Farm judgement: in so many days a thermometer reading loses half of its say over the model."""
THERMOMETER_MOST_C = 30.0


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
    leaves = np.broadcast_to(within("cover_lai", cover_lai, 0, MOST_LAI), air.shape)
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


def cover_lai(*, cover_share: Values) -> Computed:
    """Return the leaf area that hides so much of the ground, for `daily_mean_soil_temp_c`: Beer's law, at most 10.

    From memory, with an extinction of 0.5. Valid: share 0 to 1, else OutOfRange.
    """
    seen = 1 - within("cover_share", cover_share, 0, 1)
    return plain(-np.log(np.maximum(seen, np.exp(-COVER_EXTINCTION * MOST_LAI))) / COVER_EXTINCTION)


def driving_temp_c(
    *, temp_min_c: Values, temp_max_c: Values, solar_mj_m2_d: Values, cover_share: Values = 0.0
) -> Array:
    """Return what drives the daily model, °C: the air's mean, moved half way to what the sun makes of a bare surface.

    The surface is that of `bare_surface_temp_c` (swat2009), taken half (farm judgement), and less under cover. Where
    solar is nan the air's mean stands alone. Warmer minima or maxima never give less. Valid: -60 to 60 °C with the
    minimum not above the maximum, solar 0 to 50 MJ/m² or nan, cover 0 to 1, else OutOfRange.
    """
    low, high = day_temps(temp_min_c, temp_max_c)
    sun = np.asarray(solar_mj_m2_d, dtype=np.float64)
    known = np.isfinite(sun)
    mean = (low + high) / 2
    surface = bare_surface_temp_c(
        temp_min_c=low,
        temp_max_c=high,
        solar_mj_m2_d=within("solar_mj_m2_d", np.where(np.isnan(sun), 0.0, sun), 0, 50),
    )
    open_share = 1 - within("cover_share", cover_share, 0, 1)
    return np.asarray(mean + np.where(known, SUN_SHARE * open_share * (surface - mean), 0.0))


def daily_mean_at_depth_c(*, mean_10_cm_c: Values, depth_cm: float, thermometer_c: Values = 0.0) -> Array:
    """Return the soil's daily mean at another depth, °C, from that at 10 cm (`daily_mean_soil_temp_c`), days first.

    Deeper, the soil closes each day a share of the gap to the soil at 10 cm; the share is such that a ten-day wave of
    weather fades by exp(-distance / damping depth), as conduction fades it (ochsner2019: the damping depth grows with
    the root of the period). Heat conduction solved over a year of weather is met within 0.4 °C at 15 cm and 1.1 °C at
    30 cm. Shallower, the same filter is turned round: the mean from which 10 cm would follow. At 10 cm the series
    comes back unchanged. A year's wave reaches 30 cm about three days early by this.

    `thermometer_c`, one number or days first, is the part of the series that thermometer readings put there
    (`thermometer_offsets_c`): it counts alike at all depths and is not filtered. Warmer air on any day never gives a
    colder mean, on that day or later. Valid: -90 to 90 °C, depth 0 to 30 cm, offsets -30 to 30 °C, else OutOfRange.
    """
    series = np.atleast_1d(within("mean_10_cm_c", mean_10_cm_c, -90, 90))
    depth = float(within("depth_cm", depth_cm, 0, DEEPEST_CM))
    offsets = within("thermometer_c", thermometer_c, -THERMOMETER_MOST_C, THERMOMETER_MOST_C)
    if depth == MEAN_DEPTH_CM or not len(series):
        return series.copy()
    if offsets.ndim:
        offsets = offsets.reshape(offsets.shape + (1,) * (series.ndim - offsets.ndim))
    model = series - offsets
    share = _following_share(abs(depth - MEAN_DEPTH_CM))
    if depth < MEAN_DEPTH_CM:
        before = np.concatenate([model[:1], model[:-1]])
        result = model + (1 / share - 1) * (model - before)
    else:
        result = np.empty_like(model)
        result[0] = model[0]
        for day in range(1, len(model)):
            result[day] = result[day - 1] + share * (model[day] - result[day - 1])
    return np.asarray(result + offsets)


def thermometer_offsets_c(*, days: int, readings: Sequence[tuple[int, float]]) -> Array:
    """Return what thermometer readings add to the model's daily means, °C, one value a day of `days` days.

    A reading is (index of its day, reading minus model at the same depth and hour). It counts in full on its day,
    half three days later, and so on; a newer one replaces what is left of older ones, and of one day the last in the
    sequence counts. The half-life is farm judgement. Valid: days 1 or more, indexes 0 to days - 1, differences -30 to
    30 °C, else OutOfRange.
    """
    if days < 1:
        raise OutOfRange("days", days, "1 or more")
    offsets = np.zeros(days)
    for day, difference in sorted(readings, key=lambda reading: reading[0]):
        if not 0 <= day < days:
            raise OutOfRange("readings", day, f"a day from 0 to {days - 1}")
        within("readings", difference, -THERMOMETER_MOST_C, THERMOMETER_MOST_C)
        offsets[day:] = difference * 0.5 ** (np.arange(days - day) / THERMOMETER_HALF_LIFE_DAYS)
    return offsets


def surface_swing(*, wetness_share: Values, cover_share: Values = 0.0) -> Computed:
    """Return how wide the soil's surface swings for each degree of the air's swing. Farm judgement.

    Bare ground 1.4 when dry, 1.2 when moist (share 0.5), 1.0 when saturated; under full cover 0.5, in between by
    share. Valid: shares 0 to 1, else OutOfRange.
    """
    wetness = within("wetness_share", wetness_share, 0, 1)
    cover = within("cover_share", cover_share, 0, 1)
    bare = SURFACE_SWING + WET_SWING_LOSS * (0.5 - wetness)
    return plain(bare * (1 - cover) + COVERED_SWING * cover)


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


def _following_share(distance_cm: float) -> float:
    """Return the share of the gap that soil closes in a day to soil so much nearer to the surface."""
    fading = np.exp(-distance_cm / (DAILY_DAMPING_CM * np.sqrt(SPELL_DAYS)))
    turn_rad = 2 * np.pi / SPELL_DAYS
    # a first-order filter passes 1 / sqrt(1 + (turn × constant)²) of a wave
    constant_days = np.sqrt(1 / fading**2 - 1) / turn_rad
    return float(-np.expm1(-1 / constant_days))


def _share_per_day(wetness_share: Values | None) -> Array:
    if wetness_share is None:
        return np.asarray(BARE_SHARE_PER_DAY)
    wetness = within("wetness_share", at_least("wetness_share", wetness_share, 0), 0, 1)
    result: Array = BARE_SHARE_PER_DAY * (1 + WET_SLOWING * (0.5 - wetness))
    return result
