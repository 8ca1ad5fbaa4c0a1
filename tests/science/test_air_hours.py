import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farmops.science.air_hours import (
    above_dewpoint_c,
    air_temp_at_hour_c,
    day_vapor_pressure_kpa,
    humidity_at_hour_pct,
    inversion_risk,
    wind_at_hour_m_s,
)
from farmops.science.atmosphere import vapor_pressure_from_humidity_kpa, vapor_pressure_from_temp_min_kpa
from farmops.science.ranges import OutOfRange

APRIL = {"sunrise_h": 7.0, "sunset_h": 20.0}
MINUTES = np.linspace(0, 24, 24 * 60 + 1)


def test_the_day_reaches_its_minimum_and_maximum_and_nothing_beyond() -> None:
    temps = air_temp_at_hour_c(temp_min_c=8, temp_max_c=22, hour=MINUTES, **APRIL)
    assert temps.min() == pytest.approx(8, abs=0.01)
    assert temps.max() == pytest.approx(22, abs=0.01)
    assert MINUTES[temps.argmin()] == pytest.approx(7 + 1.55, abs=0.02)
    assert MINUTES[temps.argmax()] == pytest.approx(13.5 + 2.59, abs=0.02)


@pytest.mark.parametrize("daylight_h", [0.0, 0.5, 1.5, 3.0])
def test_near_polar_night_the_air_keeps_within_the_day_too(daylight_h: float) -> None:
    temps = air_temp_at_hour_c(
        temp_min_c=8, temp_max_c=22, hour=MINUTES, sunrise_h=12 - daylight_h / 2, sunset_h=12 + daylight_h / 2
    )
    assert 8 - 1e-9 <= temps.min() <= temps.max() <= 22


def test_days_join_at_midnight_and_at_no_minute_does_the_air_jump() -> None:
    low, high = np.array([8.0, 15.0, 2.0]), np.array([24.0, 27.0, 12.0])
    days = air_temp_at_hour_c(
        temp_min_c=low,
        temp_max_c=high,
        hour=MINUTES[:, np.newaxis],
        temp_min_before_c=np.array([9.0, 8.0, 15.0]),
        temp_max_before_c=np.array([20.0, 24.0, 27.0]),
        temp_min_after_c=np.array([15.0, 2.0, 4.0]),
        **APRIL,
    )
    assert days[-1, :-1] == pytest.approx(days[0, 1:], abs=1e-9)
    assert np.abs(np.diff(days, axis=0)).max() < 0.1


@given(
    low=st.floats(-10, 20),
    spread=st.floats(0, 20),
    colder_before=st.floats(0, 20),
    after=st.floats(-10, 20),
    hour=st.floats(0, 24),
    which=st.sampled_from(
        ["temp_min_c", "temp_max_c", "temp_min_before_c", "temp_max_before_c", "temp_min_after_c"]
    ),
    warmer=st.floats(0, 10),
)
def test_warmer_days_give_no_colder_hour(
    low: float, spread: float, colder_before: float, after: float, hour: float, which: str, warmer: float
) -> None:
    day = {
        "temp_min_c": low,
        "temp_max_c": low + spread + 10,
        "temp_min_before_c": low - colder_before,
        "temp_max_before_c": low + 10,
        "temp_min_after_c": after,
    }
    cooler = air_temp_at_hour_c(**day, hour=hour, **APRIL)
    day[which] += warmer
    assert air_temp_at_hour_c(**day, hour=hour, **APRIL) >= cooler - 1e-9


def test_days_and_members_run_beside_the_hours() -> None:
    shape = air_temp_at_hour_c(
        temp_min_c=np.full((1, 5), 8.0),
        temp_max_c=np.full((1, 5), 20.0),
        hour=np.arange(24.0)[:, np.newaxis],
        **APRIL,
    ).shape
    assert shape == (24, 5)


def test_moving_the_clock_moves_nothing_else() -> None:
    summer = air_temp_at_hour_c(
        temp_min_c=8, temp_max_c=22, hour=np.arange(1.0, 24), sunrise_h=7, sunset_h=20
    )
    winter = air_temp_at_hour_c(
        temp_min_c=8, temp_max_c=22, hour=np.arange(0.0, 23), sunrise_h=6, sunset_h=19
    )
    assert summer == pytest.approx(winter)


def test_vapor_comes_from_humidity_and_where_that_is_missing_from_the_minimum() -> None:
    missing = np.array([np.nan, 40.0, 40.0])
    got = day_vapor_pressure_kpa(
        temp_min_c=15,
        temp_max_c=28,
        humidity_min_pct=missing,
        humidity_max_pct=np.array([90.0, np.nan, 90.0]),
    )
    from_minimum = vapor_pressure_from_temp_min_kpa(temp_min_c=15)
    told = vapor_pressure_from_humidity_kpa(
        temp_min_c=15, temp_max_c=28, humidity_min_pct=40, humidity_max_pct=90
    )
    assert got == pytest.approx([from_minimum, from_minimum, told])


def test_air_is_dampest_at_its_coldest_and_never_past_saturation() -> None:
    vapor = vapor_pressure_from_temp_min_kpa(temp_min_c=12)
    humidity = humidity_at_hour_pct(temp_c=np.array([10.0, 12.0, 20.0, 28.0]), vapor_pressure_kpa=vapor)
    assert humidity[0] == 100
    assert humidity[1] == pytest.approx(100)
    assert (np.diff(humidity[1:]) < 0).all()


@given(mean=st.floats(0, 20), sunrise=st.floats(5, 8), daylight=st.floats(9, 15))
def test_the_winds_hours_keep_the_days_mean(mean: float, sunrise: float, daylight: float) -> None:
    hours = wind_at_hour_m_s(
        daily_mean_m_s=mean, hour=np.arange(24.0), sunrise_h=sunrise, sunset_h=sunrise + daylight
    )
    assert hours.mean() == pytest.approx(mean, abs=1e-9)
    assert hours.min() >= 0


def risk(**change: float) -> float:
    calm_clear = {"hour": 22.0, "wind_m_s": 0.5, "sky_cover_pct": 0.0} | APRIL
    return float(inversion_risk(**calm_clear | change))


def test_a_calm_clear_night_has_the_full_risk_and_the_middle_of_the_day_none() -> None:
    assert risk() == risk(hour=2.0) == risk(hour=7.0) == risk(hour=20.0) == 1
    assert [risk(hour=hour) for hour in (9.0, 12.0, 18.0)] == [0, 0, 0]


def test_the_risk_breaks_after_sunrise_and_builds_before_sunset() -> None:
    """A label may ask for one hour after sunrise until two before sunset: isu2020."""
    assert 0 < risk(hour=8.5) < risk(hour=8.0) < risk(hour=7.5) < 1
    assert 0 < risk(hour=18.5) < risk(hour=19.0) < risk(hour=19.5) < 1


def test_wind_and_cloud_take_the_risk_away() -> None:
    assert risk(wind_m_s=1.3) == 1 > risk(wind_m_s=2.0) > risk(wind_m_s=3.0) > risk(wind_m_s=4.0) == 0
    assert (
        risk(sky_cover_pct=25) == 1 > risk(sky_cover_pct=60) > risk(sky_cover_pct=100) == pytest.approx(0.2)
    )


def test_air_nears_its_dewpoint_in_damp_cold_hours() -> None:
    vapor = vapor_pressure_from_temp_min_kpa(temp_min_c=14)
    temps = np.array([14.0, 15.5, 17.0, 25.0])
    humidity = humidity_at_hour_pct(temp_c=temps, vapor_pressure_kpa=vapor)
    above_c = above_dewpoint_c(temp_c=temps, humidity_pct=humidity)
    assert above_c == pytest.approx(temps - 14)
    assert 0 < above_dewpoint_c(temp_c=-2.0, humidity_pct=95.0) < 2


def test_hours_that_cannot_be_are_refused() -> None:
    with pytest.raises(OutOfRange, match="hour is 25"):
        risk(hour=25)
    with pytest.raises(OutOfRange, match="sunrise_h is 21; valid is not above sunset_h"):
        risk(sunrise_h=21)
    with pytest.raises(OutOfRange, match="wind_m_s is -1"):
        risk(wind_m_s=-1)
    with pytest.raises(OutOfRange, match="humidity_pct is 0"):
        above_dewpoint_c(temp_c=10.0, humidity_pct=0.0)
    with pytest.raises(OutOfRange, match="temp_min_c is 30"):
        air_temp_at_hour_c(temp_min_c=30, temp_max_c=20, hour=3, **APRIL)
