"""Planting rules against what extension services print."""

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from farmops.farms.operations import Operation
from farmops.science.units import celsius_from_fahrenheit
from scheduling.windows.ground import Ground
from scheduling.windows.limits import Limit, Quantity
from scheduling.windows.looks import Looks
from tests.scheduling.windows.scene import (
    LIMITS,
    chance_at,
    ground_of,
    shut_by,
    soil,
    weather_of,
    windows_of,
)

DAY = 1440
READ_DD60 = [12.5, 16.0, 11.5, 3.5, 5.0, 6.5, 8.0, 7.5, 7.0]
"""Nine days of a Carolina Cotton Notes example (North Carolina State University, 30 April 2007)."""
READ_SUMS = [48.5, 42.5, 34.5, 30.5, 34.0]
"""The five-day sums that it prints for the first five planting days."""


def limit(key: str) -> Limit:
    return next(one for one in LIMITS if one.key == key)


def with_read_heat(as_of: dt.date) -> Ground:
    """Ground whose days from the first on have the heat of the example, all of it known."""
    weather = weather_of(as_of=as_of, days=7)
    begin = weather.days.index(as_of) - 11
    mean_f = np.full(len(weather.days), 60.0)
    mean_f[begin : begin + 9] = 60 + np.array(READ_DD60)
    mean_c = np.asarray(celsius_from_fahrenheit(mean_f))
    known = replace(weather, temp_min_c=mean_c - 5, temp_max_c=mean_c + 5)
    return ground_of(known, first=known.days[begin], as_of=as_of)


def test_five_day_heat_ahead_is_the_printed_sum() -> None:
    ground = with_read_heat(dt.date(2026, 5, 1))
    look = Looks(ground).at(limit("cotton_heat"), 0)
    seen = look.values[look.row_of_hour, 0]
    by_day = [seen[ground.grid.day_index == day][0] for day in range(5)]
    assert by_day == pytest.approx(READ_SUMS)


def test_the_hour_is_judged_by_its_own_days_sum() -> None:
    ground = with_read_heat(dt.date(2026, 5, 1))
    look = Looks(ground).at(limit("cotton_heat"), 0)
    seen = look.values[look.row_of_hour, 0]
    assert all(len(set(seen[ground.grid.day_index == day])) == 1 for day in range(5))


@pytest.mark.parametrize(("days_warm", "is_open"), [(2, False), (3, True)])
def test_cotton_waits_for_the_third_warm_day(days_warm: int, is_open: bool) -> None:
    # 65 F for three consecutive days (University of Georgia Extension, April 2019)
    as_of = dt.date(2026, 4, 30)
    first = dt.date(2026, 4, 20)
    ground = ground_of(weather_of(first=first, as_of=as_of, mean_c=22.0), first=first, as_of=as_of)
    soil_f = np.full(ground.soil_mean_c.shape, 64.0)
    day = ground.grid_day_offset + 5
    soil_f[day - days_warm + 1 : day + 1] = 65.1  # the model's 10 cm are a hair above 4 in
    judged = windows_of(
        replace(ground, soil_mean_c=np.asarray(celsius_from_fahrenheit(soil_f))),
        "plant",
        first=first,
        is_watered=True,
    )
    assert (chance_at(judged, 5 * DAY) == 1.0) is is_open
    assert is_open or shut_by(judged, 5 * DAY) == "cotton_soil"


@pytest.mark.parametrize(("soil_f", "crop", "is_open"), [
    (67.9, "peanuts", False), (68.1, "peanuts", True),  # 68 F at 4 in (University of Georgia Extension, 2016, 2020)
    (54.9, "corn", False), (55.1, "corn", True),  # 55 F at 2 in (the same, 2019)
])  # fmt: skip
def test_soil_one_side_of_the_number_shuts_and_the_other_opens(
    soil_f: float, crop: str, is_open: bool
) -> None:
    as_of = dt.date(2026, 4, 30)
    ground = ground_of(weather_of(as_of=as_of, mean_c=20.0), as_of=as_of)
    steady = np.full(ground.soil_mean_c.shape, float(celsius_from_fahrenheit(soil_f)))
    judged = windows_of(replace(ground, soil_mean_c=steady), "plant", crop=crop, is_watered=True)
    assert (chance_at(judged, 0) == 1.0) is is_open


def test_a_week_of_cold_after_a_warm_day_keeps_corn_out() -> None:
    as_of = dt.date(2026, 4, 30)
    ground = ground_of(weather_of(as_of=as_of, mean_c=16.0), as_of=as_of)
    soil_f = np.full(ground.soil_mean_c.shape, 58.0)
    soil_f[ground.grid_day_offset + 2] = 52.0
    judged = windows_of(
        replace(ground, soil_mean_c=np.asarray(celsius_from_fahrenheit(soil_f))),
        "plant",
        crop="corn",
        is_watered=True,
    )
    assert shut_by(judged, 0) == "corn_soil"
    assert "wants 55 °F now and three days on" in judged.shut[0].says_en
    assert chance_at(judged, 3 * DAY) == 1.0


def days_from_rain_to_dry_seed(texture: str) -> float:
    """Return the days from an inch in late April until dry land of a texture waits for the next rain."""
    as_of = dt.date(2026, 5, 10)
    first = dt.date(2026, 4, 20)
    known = weather_of(first=first, as_of=as_of, days=12, mean_c=22.0, rain_mm={1: 25.4})
    ground = ground_of(known, zones=[soil(texture)], first=first, as_of=as_of)
    judged = windows_of(ground, "plant", crop="corn", days=12)
    rain_ends = 2 * DAY
    dry = [one for one in judged.shut if one.limit == "dry_seedbed" and one.from_min >= rain_ends]
    return (dry[0].from_min - rain_ends) / DAY


def test_dry_land_can_be_planted_for_some_days_after_rain() -> None:
    # common practice, no source: sands hold planting moisture three or four days of sun, heavier soils the better part
    # of a week; then a grower without water waits
    sand, sandy_loam, clay_loam = (
        days_from_rain_to_dry_seed(one) for one in ("loamy_sand", "sandy_loam", "clay_loam")
    )
    assert 2.5 <= sand <= 5
    assert 4 <= sandy_loam <= 7
    assert sand < sandy_loam < clay_loam <= 9


@pytest.mark.parametrize("texture", ["loamy_sand", "sandy_loam", "clay_loam", "clay"])
def test_no_dry_ground_is_worked_in_the_evening_of_a_storm(texture: str) -> None:
    # common practice, no source: half an inch at 3 pm and nobody disks that evening; sands go again the next day
    as_of = dt.date(2026, 4, 30)
    first = dt.date(2026, 4, 20)
    afternoon = {dt.datetime(2026, 4, 21, 19, tzinfo=dt.UTC): 1.0}
    known = weather_of(first=first, as_of=as_of, mean_c=22.0, rain_mm={1: 12.7})
    ground = ground_of(known, zones=[soil(texture)], first=first, as_of=as_of, rain_weight_at=afternoon)
    judged = windows_of(ground, "disk")
    hours = [chance_at(judged, DAY + 60 * hour) for hour in range(24)]
    assert hours[14] == 1.0
    assert not any(hours[15:24])
    assert shut_by(judged, DAY + 60 * 20) in ("sticks", "fresh_rain")
    assert chance_at(judged, 2 * DAY + 60 * 14) == 1.0


def test_limits_that_look_ahead_say_so() -> None:
    ahead = {one.key: one.days_ahead for one in LIMITS if one.days_ahead}
    assert ahead["cotton_heat"] == ahead["cotton_vigor"] == 4
    assert {
        one.hours_ahead
        for one in LIMITS
        if one.quantity is Quantity.RAIN_AHEAD and Operation.PLANT in one.operations
    } == {24}
