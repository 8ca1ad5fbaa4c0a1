"""The air of each hour and member."""

import datetime as dt
from dataclasses import replace
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from scheduling.windows.air import ToldHour
from scheduling.windows.ground import Ground
from tests.scheduling.windows.scene import FIRST, ZONE, ground_of, weather_of

NIL = float("nan")


def known_air(**told: float) -> Ground:
    """Ground under days whose humidity and wind are known."""
    weather = weather_of()
    count = len(weather.days)
    named = {"humidity_min_pct": 40.0, "humidity_max_pct": 95.0, "wind_m_s": 2.0} | told
    return ground_of(replace(weather, **{name: np.full(count, value) for name, value in named.items()}))


def hour(day: int, clock_h: int) -> dt.datetime:
    local = dt.datetime.combine(FIRST + dt.timedelta(days=day), dt.time(clock_h), tzinfo=ZoneInfo(ZONE))
    return local.astimezone(dt.UTC)


def test_hours_run_from_the_days_low_to_its_high() -> None:
    ground = known_air()
    for day in range(1, 6):
        hours = ground.air_hour_c[ground.grid.day_index == day]
        low, high = (
            extreme[day + ground.grid_day_offset] for extreme in (ground.air_min_c, ground.air_max_c)
        )
        assert (hours >= np.minimum(low, ground.air_min_c[day + 1 + ground.grid_day_offset]) - 1e-9).all()
        assert hours.max(axis=0) == pytest.approx(high, abs=0.2)
        warmest = ground.grid.clock_h[ground.grid.day_index == day][hours.argmax(axis=0)]
        assert ((warmest >= 15) & (warmest <= 17)).all()  # on summer time, in the middle of April


def test_air_is_damp_at_dawn_and_dry_after_noon() -> None:
    ground = known_air()
    day = ground.grid.day_index == 2
    clock = ground.grid.clock_h[day]
    humidity = np.median(ground.humidity_hour_pct[day], axis=1)
    assert humidity[clock == 7][0] > 85
    assert humidity[clock == 16][0] < 50
    assert (ground.humidity_hour_pct <= 100).all()


def test_wind_is_told_at_ten_meters_and_has_the_days_mean() -> None:
    ground = known_air(wind_m_s=3.0)
    # FAO-56 eq. 47: wind at 2 m is 0.748 of that at 10 m
    by_day = [ground.wind_hour_m_s[ground.grid.day_index == day].mean() for day in range(7)]
    assert by_day == pytest.approx([3.0 / 0.748] * 7, rel=0.01)


def test_where_no_wind_is_known_none_is_made_up() -> None:
    ground = ground_of(weather_of())
    assert np.isnan(ground.wind_hour_m_s).all()
    assert np.isnan(ground.inversion_hour).all()
    assert not np.isnan(ground.air_hour_c).any()
    assert not np.isnan(ground.humidity_hour_pct).any()


def test_an_inversion_is_likely_on_a_still_clear_night_and_gone_at_noon() -> None:
    still = known_air(wind_m_s=0.8)
    windy = known_air(wind_m_s=8.0)
    night, noon = (still.grid.starts.index(hour(2, clock)) for clock in (3, 13))
    assert np.median(still.inversion_hour[night]) > 0.8
    assert (still.inversion_hour[noon] == 0).all()
    assert np.median(windy.inversion_hour[night]) == 0
    cloudy = known_air(wind_m_s=0.8, solar_mj_m2=4.0)
    assert np.median(cloudy.inversion_hour[night]) < 0.3


def test_told_hours_are_taken_and_each_member_stays_as_far_off_as_its_day() -> None:
    weather = weather_of()
    weather = replace(weather, wind_m_s=np.full(len(weather.days), 2.0))
    told = {hour(2, 10): ToldHour(9.5, 70.0, 6.0, 10.0), hour(2, 11): ToldHour(10.5, NIL, NIL, NIL)}
    ground = ground_of(weather, told_hours=told)
    plain = ground_of(weather)
    at, after, other = (ground.grid.starts.index(hour(2, clock)) for clock in (10, 11, 12))
    assert np.median(ground.air_hour_c[at]) == pytest.approx(9.5, abs=0.1)
    off = ground.air_min_c[2 + ground.grid_day_offset] - 14.0
    assert ground.air_hour_c[at] - 9.5 == pytest.approx(off)
    assert np.median(ground.humidity_hour_pct[at]) == pytest.approx(70.0, abs=1.5)
    assert np.median(ground.wind_hour_m_s[at]) == pytest.approx(6.0, rel=0.06)
    assert np.median(ground.air_hour_c[after]) == pytest.approx(10.5, abs=0.1)
    assert ground.wind_hour_m_s[after] == pytest.approx(plain.wind_hour_m_s[after])
    assert (ground.air_hour_c[other] == plain.air_hour_c[other]).all()


def test_a_days_rain_falls_in_its_hours_whole() -> None:
    ground = ground_of(weather_of(rain_mm={3: 18.0}, chance={3: 0.5}))
    hours = ground.rain_hour_mm[ground.grid.day_index == 3]
    assert hours.sum(axis=0).mean() == pytest.approx(9.0)
    clock = ground.grid.clock_h[ground.grid.day_index == 3]
    assert hours[(clock < 14) | (clock >= 20)].sum() == 0  # an afternoon's shower where no hour is told
    assert ground.rain_hour_mm.sum() == pytest.approx(hours.sum())
