"""What limits see, beside going through the hours and days one by one."""

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from farmops.science.units import (
    celsius_from_fahrenheit,
    fahrenheit_from_celsius,
    inches_from_mm,
    mph_from_m_s,
)
from farmops.science.workability import traffic_limit_m3_m3
from scheduling.windows.columns import ZoneFacts, nothing_known
from scheduling.windows.ground import Ground
from scheduling.windows.limits import Limit
from scheduling.windows.looks import Looks, Seen, bound_of
from scheduling.windows.member_sets import shares
from tests.scheduling.windows.scene import FIRST, LIMITS, ground_of, soil, weather_of

AS_OF = FIRST - dt.timedelta(days=1)


def limit(key: str, **changes: object) -> Limit:
    found = next(one for one in LIMITS if one.key == key)
    return replace(found, **changes)  # type: ignore[arg-type]


def restless() -> Ground:
    """Ground whose hours and days are all different."""
    drawn = ground_of(weather_of(rain_mm={-3: 12.0, -1: 24.0, 2: 8.0}, chance={2: 0.5}))
    rng = np.random.default_rng(20)
    hours, days = drawn.rain_hour_mm.shape, drawn.air_min_c.shape
    return replace(
        drawn,
        rain_hour_mm=rng.gamma(0.3, 4.0, hours),
        air_hour_c=rng.normal(8.0, 6.0, hours),
        air_min_c=rng.normal(8.0, 4.0, days),
        dd60_f=rng.uniform(0.0, 15.0, days),
        soil_mean_c=rng.normal(18.0, 3.0, drawn.soil_mean_c.shape),
        wind_hour_m_s=rng.gamma(3.0, 1.0, hours),
    )


def by_hour(seen: Seen) -> np.ndarray:
    return np.asarray(seen.values)[seen.row_of_hour]


def test_rain_ahead_is_the_rain_of_the_hours_from_now() -> None:
    ground = restless()
    seen = by_hour(Looks(ground).at(limit("wash_off", hours_ahead=4), 0))
    for hour in (0, 17, 100, len(seen) - 2):
        assert seen[hour] == pytest.approx(inches_from_mm(ground.rain_hour_mm[hour : hour + 4].sum(axis=0)))


def test_rain_behind_reaches_back_over_midnight_into_days_that_were_read() -> None:
    ground = restless()
    seen = by_hour(Looks(ground).at(limit("wet_crop", hours_back=12), 0))
    for hour in (12, 30, 100):
        assert seen[hour] == pytest.approx(inches_from_mm(ground.rain_hour_mm[hour - 12 : hour].sum(axis=0)))
    # at 3 am: three hours of today, nine of yesterday, on which 24 mm fell
    expected_mm = ground.rain_hour_mm[:3].sum(axis=0) + 9.0
    assert seen[3] == pytest.approx(inches_from_mm(expected_mm))
    assert seen[0] == pytest.approx(inches_from_mm(12.0))


def test_a_fields_own_gauge_says_how_fresh_its_rain_is() -> None:
    weather = weather_of(rain_mm={-1: 24.0})
    nothing = nothing_known(len(weather.days))
    today = weather.days.index(FIRST)

    def read(day: int, amount_mm: float) -> ZoneFacts:
        rain, source = nothing.rain_mm.copy(), [""] * len(weather.days)
        rain[day], source[day] = amount_mm, "gauge"
        return replace(nothing, rain_mm=rain, rain_source=tuple(source))

    ground = ground_of(
        weather,
        zones=[soil(name=name) for name in ("station", "dry", "today")],
        facts=[nothing, read(today - 1, 0.0), read(today, 48.0)],
    )
    looks = Looks(ground)
    farm, dry, now = (by_hour(looks.at(limit("fresh_rain"), zone)) for zone in range(3))
    assert farm[0] == pytest.approx(inches_from_mm(8.0))  # eight of the 24 hours of yesterday
    assert dry[0] == pytest.approx(np.zeros(ground.members))
    assert now[0] == pytest.approx(farm[0])
    midnight = int(np.flatnonzero(ground.grid.day_index == 1)[0])
    whole_day = by_hour(looks.at(limit("fresh_rain", hours_back=24), 2))[midnight]
    assert whole_day == pytest.approx(np.full(ground.members, inches_from_mm(48.0)))
    clay = soil("clay_loam", name="clay")
    alike = Looks(ground_of(weather, zones=[soil(), clay]))
    assert alike.at(limit("fresh_rain"), 0) is alike.at(limit("fresh_rain"), 1)


def test_frost_is_looked_for_seventy_two_hours_ahead_and_no_farther() -> None:
    # no digging within 72 hours of frost (University of Georgia, North Carolina State Extension, read in notes)
    ground = restless()
    warm = np.full_like(ground.air_hour_c, 20.0)
    warm[100] = float(celsius_from_fahrenheit(31.0))
    look = Looks(replace(ground, air_hour_c=warm)).at(limit("frost_ahead"), 0)
    speaks = by_hour(look)[:, 0] < look.bound
    assert np.flatnonzero(speaks).tolist() == list(range(28, 101))


def test_frost_behind_is_remembered_for_its_hours_and_from_the_days_before() -> None:
    ground = restless()
    warm = np.full_like(ground.air_hour_c, 20.0)
    warm[40] = float(celsius_from_fahrenheit(30.0))
    look = Looks(replace(ground, air_hour_c=warm)).at(limit("frost_behind"), 0)
    assert np.flatnonzero(by_hour(look)[:, 0] < look.bound).tolist() == list(range(40, 113))
    lows = ground.weather.temp_min_c.copy()
    lows[ground.grid_day_offset - 2] = float(celsius_from_fahrenheit(30.0))
    cold = replace(
        ground, air_hour_c=np.full_like(warm, 20.0), weather=replace(ground.weather, temp_min_c=lows)
    )
    look = Looks(cold).at(limit("frost_behind"), 0)
    # at dawn two days ago, 42 hours before the first midnight: 30 hours of the three days are left
    assert np.flatnonzero(by_hour(look)[:, 0] < look.bound).tolist() == list(range(31))


@pytest.mark.parametrize("key", ["cotton_soil", "corn_soil", "cotton_heat", "cotton_nights", "peanut_stays"])
def test_days_are_taken_as_the_row_says(key: str) -> None:
    ground = restless()
    row = limit(key, depth_in=None) if key in ("cotton_heat", "cotton_nights") else limit(key)
    seen = Looks(ground).at(row, 0)
    daily = {
        "cotton_heat": ground.dd60_f,
        "cotton_nights": np.asarray(fahrenheit_from_celsius(ground.air_min_c)),
    }.get(key)
    if daily is None:
        daily = np.asarray(fahrenheit_from_celsius(ground.soil_mean_at(row.depth_in or 0.0, column=0)))
    take = np.sum if key == "cotton_heat" else np.min
    for day in range(5, len(daily) - 5):
        span = daily[day - row.days_back + 1 : day + row.days_ahead + 1]
        assert seen.values[day] == pytest.approx(take(span, axis=0))


def test_the_soil_at_ten_in_the_morning_is_the_grounds() -> None:
    ground = restless()
    seen = Looks(ground).at(limit("cotton_morning"), 0)
    assert seen.values == pytest.approx(
        np.asarray(fahrenheit_from_celsius(ground.soil_at_hour(3.0, 10.0, column=0)))
    )


def test_wind_is_held_against_the_height_that_shuts_sooner() -> None:
    # FAO-56 equation 47: wind at 2 m is 0.748 of that at 10 m
    ground = restless()
    looks = Looks(ground)
    most, least = by_hour(looks.at(limit("wind_most"), 0)), by_hour(looks.at(limit("wind_least"), 0))
    assert most == pytest.approx(np.asarray(mph_from_m_s(ground.wind_hour_m_s)))
    assert least == pytest.approx(0.748 * most, rel=1e-3)


@pytest.mark.parametrize(
    ("air_f", "humidity_pct", "is_wet"),
    [
        (60.0, 95.0, True),  # dewpoint 58.5 F
        (60.0, 80.0, False),  # dewpoint 53.8 F, by any table of dewpoints
    ],
)
def test_dew_is_on_near_the_dewpoint(air_f: float, humidity_pct: float, is_wet: bool) -> None:
    ground = restless()
    air = np.full_like(ground.air_hour_c, float(celsius_from_fahrenheit(air_f)))
    damp = replace(ground, air_hour_c=air, humidity_hour_pct=np.full_like(air, humidity_pct))
    look = Looks(damp).at(limit("dew"), 0)
    assert (look.values[0, 0] < look.bound) is np.bool_(is_wet)


def test_dew_without_humidity_is_not_known_and_holds() -> None:
    ground = restless()
    unknown = replace(ground, humidity_hour_pct=np.full_like(ground.humidity_hour_pct, np.nan))
    look = Looks(unknown).at(limit("dew"), 0)
    assert not look.is_known.any()
    assert shares(look.holds, ground.members).min() == 1.0


def test_a_zones_own_limit_moves_what_wheels_and_planters_may_do() -> None:
    usual = soil("sandy_loam")
    own = replace(usual, workable_below_m3_m3=0.9 * usual.workable_below_m3_m3)
    for key in ("sticks", "smears", "ruts", "ruts_heavy"):
        assert bound_of(limit(key), own) == pytest.approx(0.9 * bound_of(limit(key), usual))
    assert bound_of(limit("ruts_heavy"), usual) == pytest.approx(
        float(traffic_limit_m3_m3(texture=usual.texture, wheel_load_lb=12_000))
    )
    assert bound_of(limit("ruts_heavy"), usual) < bound_of(limit("ruts"), usual)


def test_what_two_limits_see_alike_is_one() -> None:
    looks = Looks(restless())
    assert looks.at(limit("sticks"), 0) is looks.at(limit("sticks"), 0)
    assert looks.at(limit("cotton_soil"), 0).values is looks.at(limit("cotton_soil", number=60.0), 0).values


def test_an_unsure_hour_is_told_by_the_members_in_which_it_breaks() -> None:
    values = np.array([[60.0, 58.0, 40.0, 44.0, 42.0, 57.0, 59.0]])
    seen = Seen(values, np.array([0]), 55.0, True)
    assert seen.worst(0, 0) == 57.0
    assert seen.worst(0, 0, of_breaking=True) == 42.0
