import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farmops.science import radiation
from farmops.science.ranges import OutOfRange


@given(latitude_deg=st.floats(-60, 60), day_of_year=st.integers(1, 366), longitude_deg=st.floats(-7.5, 7.5))
def test_the_hours_of_a_day_add_up_to_the_day(
    latitude_deg: float, day_of_year: int, longitude_deg: float
) -> None:
    """At most a sliver of sun falls beyond midnight of a clock that is off the sun's by half an hour."""
    hours = radiation.extraterrestrial_radiation_mj_m2_h(
        latitude_deg=latitude_deg,
        longitude_deg=longitude_deg,
        day_of_year=day_of_year,
        utc_offset_h=0,
        midpoint_h=np.linspace(0.5, 23.5, 24),
    )
    day = radiation.extraterrestrial_radiation_mj_m2_d(latitude_deg=latitude_deg, day_of_year=day_of_year)
    assert hours.min() >= 0
    assert hours.sum() == pytest.approx(day, rel=1e-9, abs=1e-9)


def test_the_poles_have_their_day_and_their_night() -> None:
    assert radiation.daylight_h(latitude_deg=80, day_of_year=172) == pytest.approx(24)
    assert radiation.daylight_h(latitude_deg=80, day_of_year=355) == 0
    assert radiation.extraterrestrial_radiation_mj_m2_d(latitude_deg=80, day_of_year=355) == pytest.approx(
        0, abs=1e-9
    )
    with pytest.raises(OutOfRange, match="rises and sets"):
        radiation.sunrise_sunset_h(latitude_deg=66, longitude_deg=0, day_of_year=172, utc_offset_h=0)


def test_an_hour_of_summer_time_moves_the_clock_and_not_the_day() -> None:
    place = {"latitude_deg": 31.2, "longitude_deg": -83.5, "day_of_year": 110}
    rise, sets = radiation.sunrise_sunset_h(**place, utc_offset_h=-5)
    rise_dst, sets_dst = radiation.sunrise_sunset_h(**place, utc_offset_h=-4)
    assert (rise_dst - rise, sets_dst - sets) == pytest.approx((1, 1))
    assert 5.5 < rise < 6.5


def test_a_clock_from_across_the_date_line_shows_the_sun_by_day() -> None:
    """Apia lies at 171.8 W and keeps UTC+13: its sun is that of UTC-11, a day ahead (tz database, Pacific/Apia)."""
    place = {"latitude_deg": -13.8, "longitude_deg": -171.8, "day_of_year": 110}
    ahead = radiation.sunrise_sunset_h(**place, utc_offset_h=13)
    assert ahead == pytest.approx(radiation.sunrise_sunset_h(**place, utc_offset_h=-11))
    assert 5 < ahead[0] < 8


def test_sun_shines_no_longer_than_the_day() -> None:
    with pytest.raises(OutOfRange, match="sunshine_h / daylight_h"):
        radiation.solar_from_sunshine_mj_m2_d(sunshine_h=13, daylight_h=12, extraterrestrial_mj_m2_d=30)


def test_radiation_from_temperature_stays_under_the_clear_sky() -> None:
    estimate = radiation.solar_from_temperature_mj_m2_d(
        temp_min_c=-5, temp_max_c=30, extraterrestrial_mj_m2_d=40, elevation_m=0
    )
    assert estimate == pytest.approx(0.75 * 40)


def test_an_overcast_day_still_loses_some_warmth_to_the_sky() -> None:
    dark, dim = radiation.net_longwave_mj_m2_d(
        temp_min_c=10,
        temp_max_c=20,
        vapor_pressure_kpa=1.2,
        solar_mj_m2_d=np.array([0.0, 9.0]),
        clear_sky_mj_m2_d=30,
    )
    assert dark == dim > 0
