"""What must hold of windows whatever the weather."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farmops.farms.operations import Operation
from scheduling.windows.day_weather import Place, WeatherDays
from scheduling.windows.members import MEMBERS
from scheduling.windows.report import PassWindows
from tests.scheduling.windows.scene import chance_at, ground_of, soil, weather_of, windows_of

ROUNDS = settings(max_examples=15, deadline=None)
rains = st.dictionaries(st.integers(-12, 6), st.floats(1.0, 60.0), max_size=8)
chances = st.dictionaries(st.integers(0, 6), st.floats(0.0, 1.0), max_size=7)
HOURS = range(0, 7 * 1440, 60)


def chances_by_hour(windows: PassWindows) -> list[float]:
    return [chance_at(windows, minute) for minute in HOURS]


@ROUNDS
@given(rain_mm=rains, chance=chances, operation=st.sampled_from(list(Operation)))
def test_every_minute_is_open_or_shut_once_and_chances_are_shares_of_members(
    rain_mm: dict[int, float], chance: dict[int, float], operation: str
) -> None:
    zones = [soil("loamy_sand", name="hill"), soil("clay_loam", name="low end")]
    windows = windows_of(ground_of(weather_of(rain_mm=rain_mm, chance=chance), zones=zones), operation)
    seen = np.zeros(7 * 1440, dtype=int)
    for one in windows.open:
        seen[one.from_min : one.to_min] += 1
        assert 0.5 <= one.chance <= 1
        assert one.chance * MEMBERS == pytest.approx(round(one.chance * MEMBERS))
    for two in windows.shut:
        seen[two.from_min : two.to_min] += 1
        assert two.says_en
        assert two.says_es
    assert (seen == 1).all()


@ROUNDS
@given(
    rain_mm=rains,
    chance=chances,
    day=st.integers(-12, 6),
    more_mm=st.floats(0.5, 60.0),
    operation=st.sampled_from(
        ["disk", "rip_bed", "strip_till", "sidedress", "spread", "combine", "pick", "shred"]
    ),
)
def test_more_rain_never_opens_ground_sooner(
    rain_mm: dict[int, float], chance: dict[int, float], day: int, more_mm: float, operation: str
) -> None:
    told = dict.fromkeys(range(7), 0.4) | chance
    more = rain_mm | {day: rain_mm.get(day, 0.0) + more_mm}
    less_rain = windows_of(ground_of(weather_of(rain_mm=rain_mm, chance=told)), operation)
    more_rain = windows_of(ground_of(weather_of(rain_mm=more, chance=told)), operation)
    assert all(b <= a for a, b in zip(chances_by_hour(less_rain), chances_by_hour(more_rain), strict=True))


@ROUNDS
@given(
    mean_c=st.floats(5.0, 24.0),
    warmer_c=st.floats(0.0, 5.0),
    crop=st.sampled_from(["cotton", "peanuts", "corn"]),
)
def test_warmer_air_never_delays_planting(mean_c: float, warmer_c: float, crop: str) -> None:
    cool = windows_of(ground_of(weather_of(mean_c=mean_c)), "plant", crop=crop, is_watered=True)
    warm = windows_of(ground_of(weather_of(mean_c=mean_c + warmer_c)), "plant", crop=crop, is_watered=True)
    assert all(b >= a for a, b in zip(chances_by_hour(cool), chances_by_hour(warm), strict=True))


@ROUNDS
@given(rain_mm=rains, chance=chances)
def test_a_clock_elsewhere_on_the_same_sun_changes_nothing(
    rain_mm: dict[int, float], chance: dict[int, float]
) -> None:
    weather = weather_of(rain_mm=rain_mm, chance=chance)
    here = ground_of(weather, place=Place(31.5, -75.0, 100.0, "Etc/GMT+5"))
    there = ground_of(weather, place=Place(31.5, 30.0, 100.0, "Etc/GMT-2"))
    one, other = windows_of(here), windows_of(there)
    assert (one.open, one.shut) == (other.open, other.shut)


def test_humid_air_with_little_sun_dries_less(  # FAO-56 eq. 6 beside Hargreaves, which sees neither
) -> None:
    dry: WeatherDays = weather_of(rain_mm={-2: 40.0, -1: 40.0})
    count = len(dry.days)
    damp = replace(
        dry,
        solar_mj_m2=np.full(count, 6.0),
        wind_m_s=np.full(count, 1.0),
        humidity_min_pct=np.full(count, 80.0),
        humidity_max_pct=np.full(count, 98.0),
    )
    by_temperature, by_all = ground_of(dry), ground_of(damp)
    assert by_all.et0_mm.mean() < 0.5 * by_temperature.et0_mm.mean()
    assert by_all.topsoil_m3_m3[-1].mean() > by_temperature.topsoil_m3_m3[-1].mean()
