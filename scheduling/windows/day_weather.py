"""Weather by the day, as the ground needs it, and the evapotranspiration that follows from what is known of a day."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from farmops.science.atmosphere import vapor_pressure_from_humidity_kpa
from farmops.science.crop_growth import GROUND_HEIGHT_M
from farmops.science.crop_water import kc_max
from farmops.science.evapotranspiration import reference_et_hargreaves_mm_d, reference_et_mm_d
from farmops.science.radiation import (
    extraterrestrial_radiation_mj_m2_d,
    solar_from_temperature_mj_m2_d,
)

Values = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Place:
    """Where the farm is."""

    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    zone: str


@dataclass(frozen=True)
class WeatherDays:
    """Weather by day; solar, wind at 2 m and humidity are nan where missing."""

    days: tuple[dt.date, ...]
    temp_min_c: Values
    temp_max_c: Values
    rain_mm: Values
    rain_if_wet_mm: Values
    rain_chance: Values
    solar_mj_m2: Values
    wind_m_s: Values
    humidity_min_pct: Values
    humidity_max_pct: Values
    kind: tuple[str, ...]


def reference_et_by_day(*, place: Place, weather: WeatherDays) -> Values:
    """Return each day's reference evapotranspiration, mm, never below 0, see `reference_et_mm`."""
    return reference_et_mm(
        place=place,
        days=weather.days,
        temp_min_c=weather.temp_min_c,
        temp_max_c=weather.temp_max_c,
        solar_mj_m2=weather.solar_mj_m2,
        wind_m_s=weather.wind_m_s,
        humidity_min_pct=weather.humidity_min_pct,
        humidity_max_pct=weather.humidity_max_pct,
    )


def reference_et_mm(
    *,
    place: Place,
    days: Sequence[dt.date],
    temp_min_c: Values,
    temp_max_c: Values,
    solar_mj_m2: Values,
    wind_m_s: Values,
    humidity_min_pct: Values,
    humidity_max_pct: Values,
) -> Values:
    """Return reference evapotranspiration, mm, never below 0, of shape (days,) or (days, members) as the weather has.

    Penman-Monteith (FAO-56 eq. 6) where wind and humidity are known, with solar radiation as read or from the day's
    temperature range (eq. 50); Hargreaves (eq. 52) where only temperatures are.
    """
    by_day = np.array([day.timetuple().tm_yday for day in days], dtype=np.float64)
    day_of_year = np.broadcast_to(by_day.reshape((-1,) + (1,) * (temp_min_c.ndim - 1)), temp_min_c.shape)
    et0 = np.asarray(
        reference_et_hargreaves_mm_d(
            temp_min_c=temp_min_c,
            temp_max_c=temp_max_c,
            latitude_deg=place.latitude_deg,
            day_of_year=day_of_year,
        )
    ).copy()
    known = ~np.isnan(wind_m_s + humidity_min_pct + humidity_max_pct)
    if known.any():
        low, high = temp_min_c[known], temp_max_c[known]
        above_air = extraterrestrial_radiation_mj_m2_d(
            latitude_deg=place.latitude_deg, day_of_year=day_of_year[known]
        )
        by_range = solar_from_temperature_mj_m2_d(
            temp_min_c=low,
            temp_max_c=high,
            extraterrestrial_mj_m2_d=above_air,
            elevation_m=place.elevation_m,
        )
        solar = solar_mj_m2[known]
        et0[known] = reference_et_mm_d(
            temp_min_c=low,
            temp_max_c=high,
            latitude_deg=place.latitude_deg,
            elevation_m=place.elevation_m,
            day_of_year=day_of_year[known],
            vapor_pressure_kpa=vapor_pressure_from_humidity_kpa(
                temp_min_c=low,
                temp_max_c=high,
                humidity_min_pct=humidity_min_pct[known],
                humidity_max_pct=humidity_max_pct[known],
            ),
            wind_2m_m_s=wind_m_s[known],
            solar_mj_m2_d=np.where(np.isnan(solar), by_range, solar),
        )
    not_negative: Values = np.maximum(et0, 0.0)
    return not_negative


def bare_coefficient_by_day(*, weather: WeatherDays) -> Values:
    """Return how much wet bare ground evaporates beside the reference, by day (FAO-56 eq. 72 at clod height).

    Wind and humidity count within the bounds of the equation; 2 m/s and 45 % where they are missing.
    """
    wind = np.clip(np.where(np.isnan(weather.wind_m_s), 2.0, weather.wind_m_s), 1, 6)
    humidity = np.clip(np.where(np.isnan(weather.humidity_min_pct), 45.0, weather.humidity_min_pct), 20, 80)
    coefficient: Values = np.asarray(
        kc_max(wind_2m_m_s=wind, humidity_min_pct=humidity, height_m=GROUND_HEIGHT_M)
    )
    return coefficient
