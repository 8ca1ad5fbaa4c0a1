"""What must hold of the ground whatever the weather: water closes, more rain is never drier, warmth never colder."""

import datetime as dt
from dataclasses import replace
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farmops.science.crops import CROP_WATER
from scheduling.windows.columns import Column, GroundRemark, Planting, ZoneFacts, nothing_known
from scheduling.windows.crops_ahead import crops_ahead
from scheduling.windows.day_weather import WeatherDays, reference_et_by_day
from scheduling.windows.ground import Ground
from scheduling.windows.ground_table import ground_table
from scheduling.windows.members import deal_members
from scheduling.windows.timeline import days_ahead_of, timeline
from scheduling.windows.water import FLOWS, BlockWater, Driving, empty_hours, run_water
from tests.scheduling.windows.scene import FIRST, PLACE, ZONE, ground_of, soil, weather_of

ROUNDS = settings(max_examples=12, deadline=None)
rains = st.dictionaries(st.integers(-12, 6), st.floats(1.0, 80.0), max_size=8)
chances = st.dictionaries(st.integers(0, 6), st.floats(0.0, 1.0), max_size=7)
COTTON = CROP_WATER["southeast", "cotton"]
NINE = dt.datetime.combine(FIRST, dt.time(9), tzinfo=ZoneInfo(ZONE))
ROUNDING = 2e-7


def known_of(weather: WeatherDays, **facts: object) -> ZoneFacts:
    return replace(nothing_known(len(weather.days)), **facts)  # type: ignore[arg-type]


def planted(days_ago: int) -> Planting:
    return Planting(COTTON, FIRST - dt.timedelta(days=days_ago))


def water_of(weather: WeatherDays, columns: list[Column]) -> tuple[BlockWater, Driving]:
    """Run the balance of some columns as `work_out` does."""
    line = timeline(
        place=PLACE,
        weather=weather,
        as_of=FIRST - dt.timedelta(days=1),
        first=FIRST,
        last=FIRST + dt.timedelta(days=6),
        rain_weight_at={},
    )
    dealt = deal_members(weather=weather, days_ahead=days_ahead_of(line), members=50)
    et0_mm = np.repeat(reference_et_by_day(place=PLACE, weather=weather)[:, np.newaxis], 50, axis=1)
    driving = Driving(rain_mm=dealt.rain_mm, told_rain_mm=weather.rain_mm, et0_mm=et0_mm)
    water = run_water(
        columns=columns,
        crops=crops_ahead(columns=columns, weather=weather),
        driving=driving,
        line=line,
        hours=empty_hours(line=line, columns=len(columns), members=50),
    )
    return water, driving


@ROUNDS
@given(rain_mm=rains, chance=chances, what=st.sampled_from(["too_wet", "too_dry", "fits"]))
def test_water_closes_in_every_member_from_the_first_day_to_the_last(
    rain_mm: dict[int, float], chance: dict[int, float], what: str
) -> None:
    weather = weather_of(rain_mm=rain_mm, chance=dict.fromkeys(range(7), 0.4) | chance)
    watered = np.where([day.weekday() == 2 for day in weather.days], 12.0, 0.0)
    gauge = np.full(len(weather.days), np.nan)
    gauge[80:85] = 7.0
    facts = [
        known_of(weather),
        known_of(weather, watered_mm=watered, remarks=(GroundRemark(NINE, what),)),
        known_of(weather, rain_mm=gauge, planting=planted(50)),
    ]
    columns = [Column(soil(key), known) for key, known in zip(("sand", "clay", "loam"), facts, strict=True)]
    water, driving = water_of(weather, columns)
    for place, column in enumerate(columns):
        read = column.facts.rain_mm[:, np.newaxis]
        rain = np.where(np.isnan(read), driving.rain_mm, read).sum(axis=0) + column.facts.watered_mm.sum()
        gone = sum(water.flows_mm[name][place] for name in FLOWS if name != "correction_mm")
        held = water.end.topsoil_mm + water.end.subsoil_mm + water.end.deep_mm
        assert rain + water.flows_mm["correction_mm"][place] - gone == pytest.approx(held[place], abs=1e-7)


def wetter_everywhere(wetter: Ground, drier: Ground) -> None:
    for name in ("topsoil_m3_m3", "subsoil_m3_m3", "seed_m3_m3"):
        assert (getattr(wetter, name) >= getattr(drier, name) - ROUNDING).all(), name
    # medians of depletion: less is wetter
    known = ~np.isnan(drier.rootzone_depletion_mm)
    assert (wetter.rootzone_depletion_mm[known] <= drier.rootzone_depletion_mm[known] + 150 * ROUNDING).all()


@ROUNDS
@given(
    rain_mm=rains,
    chance=chances,
    day=st.integers(-12, 6),
    more_mm=st.floats(0.5, 60.0),
    days_old=st.sampled_from([None, 20, 70]),
    remark=st.sampled_from([None, "too_wet", "too_dry", "fits"]),
    by_water=st.booleans(),
)
@pytest.mark.long
def test_more_rain_or_water_leaves_no_hour_of_no_member_drier(
    rain_mm: dict[int, float],
    chance: dict[int, float],
    day: int,
    more_mm: float,
    days_old: int | None,
    remark: str | None,
    by_water: bool,
) -> None:
    told = dict.fromkeys(range(7), 0.4) | chance
    less = weather_of(rain_mm=rain_mm, chance=told)
    known = known_of(
        less,
        planting=None if days_old is None else planted(days_old),
        remarks=() if remark is None else (GroundRemark(NINE, remark),),
    )
    if by_water:
        watered = known.watered_mm.copy()
        watered[less.days.index(FIRST) + day] = more_mm
        more, more_known = less, replace(known, watered_mm=watered)
    else:
        more = weather_of(rain_mm=rain_mm | {day: rain_mm.get(day, 0.0) + more_mm}, chance=told)
        more_known = known
    zones = [soil("sandy_loam")]
    wetter_everywhere(
        ground_of(more, zones=zones, facts=[more_known], members=50),
        ground_of(less, zones=zones, facts=[known], members=50),
    )


@ROUNDS
@given(rain_mm=rains, at_day=st.integers(0, 6), chance=st.floats(0.1, 0.5), more=st.floats(0.01, 0.5))
def test_a_higher_chance_of_rain_leaves_no_member_drier(
    rain_mm: dict[int, float], at_day: int, chance: float, more: float
) -> None:
    rain = rain_mm | {at_day: 20.0}
    told = dict.fromkeys(range(7), 0.3)
    unlikely, likely = (
        ground_of(weather_of(rain_mm=rain, chance=told | {at_day: share}), members=50)
        for share in (chance, chance + more)
    )
    wetter_everywhere(likely, unlikely)


@ROUNDS
@given(
    mean_c=st.floats(2.0, 24.0),
    warmer_c=st.floats(0.0, 6.0),
    rain_mm=rains,
    depth_in=st.sampled_from([0.5, 2.0, 4.0, 8.0]),
)
def test_warmer_air_leaves_no_soil_colder_and_no_heat_sum_less(
    mean_c: float, warmer_c: float, rain_mm: dict[int, float], depth_in: float
) -> None:
    cool, warm = (
        ground_of(weather_of(mean_c=mean, rain_mm=rain_mm), members=50)
        for mean in (mean_c, mean_c + warmer_c)
    )
    assert (warm.soil_mean_at(depth_in) >= cool.soil_mean_at(depth_in) - 1e-9).all()
    assert (warm.dd60_f >= cool.dd60_f - 1e-9).all()
    assert (warm.air_min_c >= cool.air_min_c - 1e-9).all()
    assert (warm.et0_mm >= cool.et0_mm - 1e-9).all()


def test_a_crop_has_a_stage_roots_and_water_and_bare_ground_has_none() -> None:
    weather = weather_of(days=7, mean_c=26.0)
    zones = [soil(name="bare"), soil(name="cotton")]
    grown = known_of(weather, planting=planted(60))
    ground = ground_of(weather, zones=zones, facts=[known_of(weather), grown])
    bare, cotton = ground_table(ground, first=FIRST, last=FIRST + dt.timedelta(days=6))
    assert {day.stage for day in bare.days} == {"bare"}
    assert (
        {day.rootzone_depletion_mm for day in bare.days} == {day.root_depth_in for day in bare.days} == {None}
    )
    # 60 days of 26 °C (79 F) are about 1,100 DD60: past first bloom (825 to 875 from emergence, Georgia)
    assert cotton.days[0].stage == "full cover"
    assert cotton.days[0].root_depth_in == pytest.approx(18.0, abs=0.5)
    # sandy loam holds 0.12 of its depth: 18 in have 2.16 in, half of which may be used (Georgia practice)
    assert cotton.days[0].rootzone_total_mm == pytest.approx(1000 * 0.12 * 18 * 0.0254, rel=0.03)
    assert cotton.days[0].rootzone_allowed_mm == pytest.approx(cotton.days[0].rootzone_total_mm / 2)  # type: ignore[operator]
    assert cotton.days[0].rootzone_depletion_mm > cotton.days[0].rootzone_allowed_mm  # type: ignore[operator]  # no rain since January
    sub_bare, sub_cotton = (ground.subsoil_day_m3_m3[-1, ground.columns[place]] for place in (0, 1))
    assert sub_bare == pytest.approx(0.23, abs=0.005)
    assert sub_cotton < 0.18


def test_a_crop_planted_tomorrow_is_bare_ground_today() -> None:
    weather = weather_of(days=7)
    tomorrow = known_of(weather, planting=Planting(COTTON, FIRST + dt.timedelta(days=1)))
    ground = ground_of(weather, facts=[tomorrow])
    (zone,) = ground_table(ground, first=FIRST, last=FIRST + dt.timedelta(days=2))
    assert [day.stage for day in zone.days] == ["bare", "young", "young"]


def test_roots_reach_as_deep_as_the_crops_go() -> None:
    fao = CROP_WATER["fao", "cotton"]
    weather = weather_of(days=7, mean_c=26.0)
    ground = ground_of(
        weather, facts=[known_of(weather, planting=Planting(fao, FIRST - dt.timedelta(days=85)))]
    )
    assert ground.root_depth_m[-1, 0] == pytest.approx(fao.root_most_m)
    assert fao.root_most_m > 1.0
    # FAO-56 gives cotton on sandy loam about 105 mm before stress (0.65 of 0.12 m³/m³ over 1.35 m)
    assert ground.rootzone_allowed_mm[-1, 0] == pytest.approx(105, rel=0.05)
