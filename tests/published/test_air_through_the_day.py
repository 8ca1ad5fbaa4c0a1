"""The day's course of the air, held against the hours of Greensboro's typical year (read at the end of each hour)."""

import numpy as np
import pytest

from farmops.science import air_hours, atmosphere, radiation
from tests.published.packaged_data import greensboro

YEAR = greensboro()
HOUR = np.arange(1.0, 25.0)
RISE, SETS = radiation.sunrise_sunset_h(
    latitude_deg=YEAR.latitude_deg,
    longitude_deg=YEAR.longitude_deg,
    day_of_year=YEAR.day_of_year,
    utc_offset_h=YEAR.utc_offset_h,
)
WET_WITHIN_C = 2.0  # of the dewpoint: Gillespie and others 1993, from memory
SUN = {"sunrise_h": RISE[:, np.newaxis], "sunset_h": SETS[:, np.newaxis]}


def _of_the_day(values: np.ndarray) -> np.ndarray:
    return values[:, np.newaxis]


def _temperatures() -> np.ndarray:
    hours: np.ndarray = air_hours.air_temp_at_hour_c(
        temp_min_c=_of_the_day(YEAR.temp_min_c),
        temp_max_c=_of_the_day(YEAR.temp_max_c),
        hour=HOUR,
        temp_min_before_c=_of_the_day(np.roll(YEAR.temp_min_c, 1)),
        temp_max_before_c=_of_the_day(np.roll(YEAR.temp_max_c, 1)),
        temp_min_after_c=_of_the_day(np.roll(YEAR.temp_min_c, -1)),
        **SUN,
    )
    return hours


def test_hours_of_temperature_are_met_within_two_degrees() -> None:
    """Fronts turn some days upside down; the mean day runs true."""
    error = _temperatures() - YEAR.hourly_temp_c
    assert np.sqrt((error**2).mean()) < 2.0
    assert abs(error.mean()) < 0.5


def test_humidity_of_the_hours_follows_from_one_vapor_pressure_a_day() -> None:
    vapor = atmosphere.vapor_pressure_from_dewpoint_kpa(dewpoint_c=YEAR.hourly_dewpoint_c)
    measured = atmosphere.humidity_pct(temp_c=YEAR.hourly_temp_c, vapor_pressure_kpa=vapor)
    ours = air_hours.humidity_at_hour_pct(
        temp_c=_temperatures(), vapor_pressure_kpa=_of_the_day(vapor.mean(axis=1))
    )
    assert abs((ours - measured).mean()) < 4
    assert np.corrcoef(ours.ravel(), measured.ravel())[0, 1] > 0.8


def test_wind_rises_and_falls_over_the_mean_day_as_measured() -> None:
    measured = YEAR.hourly_wind_m_s
    ours = air_hours.wind_at_hour_m_s(daily_mean_m_s=_of_the_day(measured.mean(axis=1)), hour=HOUR, **SUN)
    assert ours.mean(axis=1) == pytest.approx(measured.mean(axis=1))
    course, measured_course = ours.mean(axis=0) / ours.mean(), measured.mean(axis=0) / measured.mean()
    assert np.abs(course - measured_course).max() < 0.15
    assert ((ours - measured) ** 2).mean() < ((_of_the_day(measured.mean(axis=1)) - measured) ** 2).mean()


def test_dew_lies_on_many_mornings_and_on_few_afternoons() -> None:
    vapor = atmosphere.vapor_pressure_from_dewpoint_kpa(dewpoint_c=YEAR.hourly_dewpoint_c)
    humidity = atmosphere.humidity_pct(temp_c=YEAR.hourly_temp_c, vapor_pressure_kpa=vapor)
    above_c = air_hours.above_dewpoint_c(temp_c=YEAR.hourly_temp_c, humidity_pct=np.minimum(humidity, 100))
    share = (above_c <= WET_WITHIN_C).mean(axis=0)
    assert share[5] > 0.4
    assert share[14] < 0.15
