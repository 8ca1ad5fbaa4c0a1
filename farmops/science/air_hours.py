"""The air through a day, from what is known of the day: temperature, humidity, wind, inversion and dew by the hour.

Hours are on the clock on which sunrise and sunset are given. All arguments broadcast.
"""

import numpy as np

from farmops.science.atmosphere import (
    AIR_HIGH_C,
    AIR_LOW_C,
    day_temps,
    dewpoint_c,
    humidity_pct,
    saturation_vapor_pressure_kpa,
    vapor_pressure_from_humidity_kpa,
    vapor_pressure_from_temp_min_kpa,
)
from farmops.science.ranges import Array, Computed, Values, not_above, plain, within

WARMEST_AFTER_NOON_H = 2.59
COLDEST_AFTER_SUNRISE_H = 1.55
NIGHT_FALL = 2.2
"""Means of five places in North Carolina (wann1985), for the curve of parton1981."""
WINDIEST_AFTER_NOON_H, WIND_SWING = 1.0, 0.25
"""When the wind is strongest and by which share of the mean it then stands higher: so it is over the typical year of
an airport in North Carolina, at 10 m. Nearer to the ground, and on calm clear nights, it swings wider."""
INVERSION_PASSAGE_H = 2.0
"""The hours in which an inversion builds before sunset and breaks after sunrise: a label asks to spray from one hour
after sunrise until two hours before sunset (isu2020)."""
CALM_M_S, MIXED_M_S = 1.34, 3.58
"""Farm judgement: an inversion is as likely as the sky lets it be up to 3 mph, which labels name (isu2020), and gone
at 8 mph."""
CLEAR_PCT, OVERCAST_RISK = 25.0, 0.2
"""Farm judgement: up to a quarter of cloud counts as clear; under full cloud a fifth of the risk is left."""


def air_temp_at_hour_c(
    *,
    temp_min_c: Values,
    temp_max_c: Values,
    hour: Values,
    sunrise_h: Values,
    sunset_h: Values,
    temp_min_before_c: Values | None = None,
    temp_max_before_c: Values | None = None,
    temp_min_after_c: Values | None = None,
) -> Computed:
    """Return the air's temperature at an hour, °C: a sine by day, a fall that slows by night. parton1981.

    The coldest is 1.55 h after sunrise, the warmest 2.59 h after noon (wann1985). The published night curve stops a
    ninth of the way above the minimum and jumps; here it is stretched to end at the minimum. The morning before the
    coldest hour falls from yesterday's sunset and the evening toward tomorrow's minimum; what is left out of the days
    before and after is taken to be like this day. Warmer minima or maxima never give a
    colder hour. Valid: -60 to 60 °C with each minimum not above its own day's maximum, hours 0 to 24, sunrise before
    sunset, else OutOfRange.
    """
    low, high = day_temps(temp_min_c, temp_max_c)
    low_before, high_before = day_temps(
        low if temp_min_before_c is None else temp_min_before_c,
        high if temp_max_before_c is None else temp_max_before_c,
    )
    low_after = low if temp_min_after_c is None else day_temps(temp_min_after_c, AIR_HIGH_C)[0]
    clock = within("hour", hour, 0, 24)
    rise, sets = _sun(sunrise_h, sunset_h)
    daylight = sets - rise
    coldest = rise + COLDEST_AFTER_SUNRISE_H
    width = daylight + 2 * (WARMEST_AFTER_NOON_H - COLDEST_AFTER_SUNRISE_H)
    night = 24 - daylight + COLDEST_AFTER_SUNRISE_H

    by_day = low + (high - low) * np.sin(np.pi * np.clip(clock - coldest, 0, width) / width)
    at_sunset = np.sin(np.pi * np.maximum(sets - coldest, 0.0) / width)
    left_morning = _night_left((clock + 24 - sets) / night)
    left_evening = _night_left((clock - sets) / night)
    morning = low + (low_before + (high_before - low_before) * at_sunset - low) * left_morning
    evening = low_after + (low + (high - low) * at_sunset - low_after) * left_evening
    return plain(np.where(clock < coldest, morning, np.where(clock < sets, by_day, evening)))


def day_vapor_pressure_kpa(
    *, temp_min_c: Values, temp_max_c: Values, humidity_min_pct: Values, humidity_max_pct: Values
) -> Array:
    """Return a day's vapor pressure, kPa: from its humidity (fao56 eq. 17), where that is nan from its minimum (eq. 48).

    Valid: -60 to 60 °C and 0 to 100 % or nan, minima not above maxima, else OutOfRange.
    """
    driest, dampest = np.broadcast_arrays(
        np.asarray(humidity_min_pct, dtype=np.float64), np.asarray(humidity_max_pct, dtype=np.float64)
    )
    unknown = np.isnan(driest) | np.isnan(dampest)
    told = vapor_pressure_from_humidity_kpa(
        temp_min_c=temp_min_c,
        temp_max_c=temp_max_c,
        humidity_min_pct=np.where(unknown, 0.0, driest),
        humidity_max_pct=np.where(unknown, 100.0, dampest),
    )
    return np.asarray(np.where(unknown, vapor_pressure_from_temp_min_kpa(temp_min_c=temp_min_c), told))


def humidity_at_hour_pct(*, temp_c: Values, vapor_pressure_kpa: Values) -> Computed:
    """Return relative humidity at an hour's temperature, %, the day's vapor staying in the air. fao56 eq. 10.

    At most 100: what the cold hours cannot hold lies as dew. Valid: -60 to 60 °C, vapor pressure 0 or more, else
    OutOfRange.
    """
    return plain(np.minimum(humidity_pct(temp_c=temp_c, vapor_pressure_kpa=vapor_pressure_kpa), 100.0))


def wind_at_hour_m_s(
    *, daily_mean_m_s: Values, hour: Values, sunrise_h: Values, sunset_h: Values
) -> Computed:
    """Return the wind at an hour, m/s: a cosine about the day's mean, strongest an hour after noon.

    A quarter of the mean up and down, as measured over a year in North Carolina (the tests hold it there); hours
    evenly spread over the day have the day's mean. The height is that of the mean. A front that passes at noon is not
    in it. Valid: mean 0 to 100 m/s, hours 0 to 24, sunrise before sunset, else OutOfRange.
    """
    mean = within("daily_mean_m_s", daily_mean_m_s, 0, 100)
    rise, sets = _sun(sunrise_h, sunset_h)
    since_peak = within("hour", hour, 0, 24) - (rise + sets) / 2 - WINDIEST_AFTER_NOON_H
    return plain(mean * (1 + WIND_SWING * np.cos(2 * np.pi / 24 * since_peak)))


def inversion_risk(
    *, hour: Values, sunrise_h: Values, sunset_h: Values, wind_m_s: Values, sky_cover_pct: Values
) -> Computed:
    """Return how much speaks for an inversion at an hour, 0 (nothing) to 1 (night, calm, clear). Farm judgement.

    It builds over the two hours before sunset and breaks over the two after sunrise (isu2020), needs little wind
    (all of it up to 3 mph, none from 8 mph) and a sky that lets warmth out. A number to warn by, no chance and no
    measurement: smoke and a thermometer at two heights say more, and the label wins. Valid: hours 0 to 24, sunrise
    before sunset, wind 0 to 100 m/s, cloud 0 to 100 %, else OutOfRange.
    """
    clock = within("hour", hour, 0, 24)
    rise, sets = _sun(sunrise_h, sunset_h)
    breaking = 1 - np.clip((clock - rise) / INVERSION_PASSAGE_H, 0, 1)
    building = np.clip((clock - sets) / INVERSION_PASSAGE_H + 1, 0, 1)
    wind = within("wind_m_s", wind_m_s, 0, 100)
    stillness = 1 - np.clip((wind - CALM_M_S) / (MIXED_M_S - CALM_M_S), 0, 1)
    cloud = within("sky_cover_pct", sky_cover_pct, 0, 100)
    cloudiness = np.clip((cloud - CLEAR_PCT) / (100 - CLEAR_PCT), 0, 1)
    return plain(np.maximum(breaking, building) * stillness * (1 - (1 - OVERCAST_RISK) * cloudiness))


def above_dewpoint_c(*, temp_c: Values, humidity_pct: Values) -> Computed:
    """Return by how much the air is warmer than its dewpoint, °C.

    Surfaces that look at the sky are about 2 °C colder than the air beside them at night, so leaves and lint within that
    are wet with dew or frost: gillespie1993, from memory. Valid: -60 to 60 °C, humidity above 0 and up to 100 %, else
    OutOfRange.
    """
    temp = within("temp_c", temp_c, AIR_LOW_C, AIR_HIGH_C)
    humidity = within("humidity_pct", humidity_pct, 0.01, 100)
    vapor = saturation_vapor_pressure_kpa(temp_c=temp) * humidity / 100
    return plain(temp - dewpoint_c(vapor_pressure_kpa=vapor))


def _night_left(share_of_night: Array) -> Array:
    """Return what is left of the fall from sunset to the minimum, 1 at sunset and 0 at the night's end."""
    end = np.exp(-NIGHT_FALL)
    result: Array = (np.exp(-NIGHT_FALL * np.clip(share_of_night, 0, 1)) - end) / (1 - end)
    return result


def _sun(sunrise_h: Values, sunset_h: Values) -> tuple[Array, Array]:
    rise, sets = within("sunrise_h", sunrise_h, -12, 24), within("sunset_h", sunset_h, 0, 36)
    not_above("sunrise_h", rise, "sunset_h", sets)
    return rise, sets
