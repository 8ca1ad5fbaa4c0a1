"""What must hold of windows whatever the weather."""

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.windows.day_weather import Place, WeatherDays
from scheduling.windows.members import MEMBERS, deal_members, hour_shares
from scheduling.windows.report import PassWindows
from tests.scheduling.windows.scene import FIRST, chance_at, ground_of, soil, weather_of, windows_of

ROUNDS = settings(max_examples=15, deadline=None)
rains = st.dictionaries(st.integers(-12, 6), st.floats(1.0, 60.0), max_size=8)
chances = st.dictionaries(st.integers(0, 6), st.floats(0.0, 1.0), max_size=7)
HOURS = range(0, 7 * 1440, 60)


def chances_by_hour(windows: PassWindows) -> list[float]:
    return [chance_at(windows, minute) for minute in HOURS]


@ROUNDS
@given(rain_mm=rains, chance=chances, operation=st.sampled_from(["disk", "rip_bed", "plant", "pivot_walk"]))
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
    operation=st.sampled_from(["disk", "rip_bed"]),
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
    cool = windows_of(ground_of(weather_of(mean_c=mean_c)), "plant", crop=crop)
    warm = windows_of(ground_of(weather_of(mean_c=mean_c + warmer_c)), "plant", crop=crop)
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


@given(
    chance=st.floats(0, 1),
    amount=st.floats(0, 100),
    day=st.dates(dt.date(2020, 1, 1), dt.date(2030, 12, 31)),
    ahead=st.integers(1, 12),
)
def test_as_many_members_are_wet_as_the_chance_says(
    chance: float, amount: float, day: dt.date, ahead: int
) -> None:
    dealt = deal_members(
        day_ordinals=np.array([day.toordinal()]),
        rain_if_wet_mm=np.array([amount]),
        rain_chance=np.array([chance]),
        days_ahead=np.array([ahead]),
    )
    assert abs(float((dealt.rain_mm > 0).mean()) - (chance if amount else 0.0)) <= 0.5 / MEMBERS + 1e-9
    assert abs(dealt.temp_shift_c.mean()) < 1e-9


def test_a_date_is_dealt_alike_whatever_day_the_run_starts_on() -> None:
    def dealt(first: dt.date, days: int) -> np.ndarray:
        ordinals = np.array([first.toordinal() + index for index in range(days)])
        rain, chance = np.full(days, 10.0), np.full(days, 0.4)
        return deal_members(
            day_ordinals=ordinals, rain_if_wet_mm=rain, rain_chance=chance, days_ahead=np.arange(1, days + 1)
        ).rain_mm

    assert (dealt(FIRST, 7)[3:] == dealt(FIRST + dt.timedelta(days=3), 4)).all()


def test_days_share_their_rain_out_whole() -> None:
    day_index = np.repeat([0, 1, 2], [24, 23, 25])
    weight = np.zeros(72)
    weight[30:33] = [1.0, 2.0, np.nan]
    shares = hour_shares(day_index=day_index, minutes=np.full(72, 60.0), weight=weight, days=3)
    assert np.bincount(day_index, weights=shares) == pytest.approx(np.ones(3))
    assert shares[30] == pytest.approx(1 / 3)
    assert shares[0] == pytest.approx(1 / 24)


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
