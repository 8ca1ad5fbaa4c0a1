"""The air of each hour and member: warmth, humidity, wind at 10 m and the risk of an inversion.

Where the forecast tells an hour, that hour is moved as the member's day differs from the day that is told; other
hours follow from their day.
"""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from farmops.science.air_hours import (
    air_temp_at_hour_c,
    day_vapor_pressure_kpa,
    humidity_at_hour_pct,
    inversion_risk,
    wind_at_hour_m_s,
)
from farmops.science.atmosphere import saturation_vapor_pressure_kpa, wind_2m_m_s
from farmops.science.radiation import clear_sky_radiation_mj_m2, extraterrestrial_radiation_mj_m2_d
from scheduling.windows.day_weather import Place, Values, WeatherDays
from scheduling.windows.hours import HourGrid
from scheduling.windows.members import MemberDays
from scheduling.windows.timeline import Timeline

Index = npt.NDArray[np.int64]
WET_SKY_PCT, DRY_SKY_PCT = 100.0, 25.0
"""Cloud where neither sky nor sun is known: farm judgement, a dry day counting as clear so that a warning is not missed."""
MOST_WIND_M_S = 100.0
"""As much as the formulas take: a forecast's error may double a storm."""
CLEAR_SHARE, SUNLESS_SHARE = 0.75, 0.25
"""Of the radiation above the air, what comes through a clear and a closed sky: fao56 eq. 35 and 37."""


@dataclass(frozen=True)
class ToldHour:
    """An hour of a forecast; nan for what it does not tell. Wind at 10 m."""

    temp_c: float
    humidity_pct: float
    wind_m_s: float
    sky_cover_pct: float


@dataclass(frozen=True)
class AirHours:
    """By hour and member: °C, %, m/s at 10 m, risk 0 to 1, and rain in mm; wind and risk are nan where no wind is known."""

    temp_c: Values
    humidity_pct: Values
    wind_m_s: Values
    inversion: Values
    rain_mm: Values


def air_hours(
    *,
    place: Place,
    weather: WeatherDays,
    dealt: MemberDays,
    line: Timeline,
    told: Mapping[dt.datetime, ToldHour],
) -> AirHours:
    """Return the air of the kept hours."""
    grid = line.kept_hours()
    day = grid.day_index + line.kept_from
    rise, sets = line.sunrise_h[day, np.newaxis], line.sunset_h[day, np.newaxis]
    clock = grid.clock_h[:, np.newaxis]
    before, after = np.maximum(day - 1, 0), np.minimum(day + 1, len(line.days) - 1)
    temp = np.asarray(
        air_temp_at_hour_c(
            temp_min_c=dealt.temp_min_c[day],
            temp_max_c=dealt.temp_max_c[day],
            hour=clock,
            sunrise_h=rise,
            sunset_h=sets,
            temp_max_before_c=np.maximum(dealt.temp_max_c[before], dealt.temp_min_c[day]),
            temp_min_after_c=np.minimum(dealt.temp_min_c[after], dealt.temp_max_c[day]),
        )
    )
    wind = _wind_m_s(dealt, day, clock, rise, sets)
    vapor = day_vapor_pressure_kpa(
        temp_min_c=dealt.temp_min_c,
        temp_max_c=dealt.temp_max_c,
        humidity_min_pct=dealt.humidity_min_pct,
        humidity_max_pct=dealt.humidity_max_pct,
    )[day]
    sky = _sky_pct(place, dealt, line)[day]
    known = _told(grid, told)
    temp_told, vapor_told, wind_told = _moved(known, weather, dealt, day)
    temp = np.where(np.isnan(temp_told), temp, temp_told)
    vapor = np.where(np.isnan(vapor_told), vapor, vapor_told)
    wind = np.minimum(np.where(np.isnan(wind_told), wind, wind_told), MOST_WIND_M_S)
    sky = np.where(np.isnan(known[:, 3:4]), sky, known[:, 3:4])
    rain = dealt.rain_mm[day] * line.rain_share[line.first_kept_hour :, np.newaxis]
    inversion = inversion_risk(
        hour=clock, sunrise_h=rise, sunset_h=sets, wind_m_s=np.nan_to_num(wind), sky_cover_pct=sky
    )
    return AirHours(
        temp_c=temp,
        humidity_pct=np.asarray(humidity_at_hour_pct(temp_c=temp, vapor_pressure_kpa=vapor)),
        wind_m_s=wind,
        inversion=np.where(np.isnan(wind), np.nan, inversion),
        rain_mm=rain,
    )


def _wind_m_s(dealt: MemberDays, day: Index, clock_h: Values, sunrise_h: Values, sunset_h: Values) -> Values:
    """Return the wind at 10 m from the day's mean at 2 m; nan where that is."""
    at_10_m = np.minimum(dealt.wind_m_s[day] / float(wind_2m_m_s(wind_m_s=1.0, height_m=10.0)), MOST_WIND_M_S)
    wind = wind_at_hour_m_s(
        daily_mean_m_s=np.nan_to_num(at_10_m), hour=clock_h, sunrise_h=sunrise_h, sunset_h=sunset_h
    )
    return np.where(np.isnan(at_10_m), np.nan, wind)


def _moved(
    known: Values, weather: WeatherDays, dealt: MemberDays, day: Index
) -> tuple[Values, Values, Values]:
    """Return warmth, vapor pressure and wind of the hours that are told, moved as each member's day is, else nan."""
    told_c, told_pct, told_wind = known[:, :1], known[:, 1:2], known[:, 2:3]
    temp = told_c + (dealt.temp_min_c - weather.temp_min_c[:, np.newaxis])[day]
    full_kpa = np.asarray(saturation_vapor_pressure_kpa(temp_c=np.nan_to_num(told_c)))
    vapor = np.where(np.isnan(told_c), np.nan, full_kpa * told_pct / 100)
    usual = np.where(weather.wind_m_s > 0, weather.wind_m_s, np.nan)[:, np.newaxis]
    stronger = np.nan_to_num(dealt.wind_m_s / usual, nan=1.0)
    return temp, vapor, told_wind * stronger[day]


def _told(grid: HourGrid, told: Mapping[dt.datetime, ToldHour]) -> Values:
    """Return temperature, humidity, wind and sky of each hour as told, (hours, 4), nan where nothing is."""
    rows = np.full((len(grid.starts), 4), np.nan)
    for index, start in enumerate(grid.starts):
        hour = told.get(start)
        if hour is not None:
            rows[index] = (hour.temp_c, hour.humidity_pct, hour.wind_m_s, hour.sky_cover_pct)
    return rows


def _sky_pct(place: Place, dealt: MemberDays, line: Timeline) -> Values:
    """Return each day's cloud, %: from its sun where that is known (fao56 eq. 35), else from whether it rains."""
    day_of_year = np.array([day.timetuple().tm_yday for day in line.days], dtype=np.float64)
    above_air = extraterrestrial_radiation_mj_m2_d(latitude_deg=place.latitude_deg, day_of_year=day_of_year)
    clear = np.asarray(
        clear_sky_radiation_mj_m2(extraterrestrial_mj_m2=above_air, elevation_m=place.elevation_m)
    )
    through = CLEAR_SHARE * dealt.solar_mj_m2 / clear[:, np.newaxis]
    by_sun = 100 * (1 - np.clip((through - SUNLESS_SHARE) / (CLEAR_SHARE - SUNLESS_SHARE), 0.0, 1.0))
    by_rain = np.where(dealt.rain_mm > 0, WET_SKY_PCT, DRY_SKY_PCT)
    sky: Values = np.where(np.isnan(by_sun), by_rain, by_sun)
    return sky
