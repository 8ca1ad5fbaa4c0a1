import dataclasses
import time

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from farmops.science.ranges import OutOfRange
from farmops.science.soil_water import (
    TEXTURES,
    TopsoilDays,
    bare_topsoil,
    curve_number_dry,
    curve_number_wet,
    runoff_mm,
    topsoil_water_m3_m3,
)

ALL = list(TEXTURES.values())
DAYS = 25
demands = arrays(np.float64, DAYS, elements=st.floats(0, 12))
rains = arrays(np.float64, DAYS, elements=st.one_of(st.just(0.0), st.floats(0, 150)))


def _stored(days: TopsoilDays) -> np.ndarray:
    return days.excess_mm - days.depletion_mm


@given(et0=demands, rain=rains, watered=rains, wind=st.floats(0, 12), humidity=st.floats(0, 100))
def test_each_days_balance_closes(
    et0: np.ndarray, rain: np.ndarray, watered: np.ndarray, wind: float, humidity: float
) -> None:
    days = bare_topsoil(
        et0_mm=et0,
        rain_mm=rain,
        irrigation_mm=watered,
        textures=ALL,
        wind_2m_m_s=wind,
        humidity_min_pct=humidity,
    )
    before = np.vstack([np.zeros(len(ALL)), _stored(days)[:-1]])
    into = (rain + watered)[:, np.newaxis]
    out = days.runoff_mm + days.evaporation_mm + days.drainage_mm
    assert np.abs(into - out - (_stored(days) - before)).max() < 1e-9
    for flow in (days.runoff_mm, days.evaporation_mm, days.drainage_mm, days.depletion_mm, days.excess_mm):
        assert flow.min() >= 0


@given(et0=demands, rain=rains, day=st.integers(0, DAYS - 1), more=st.floats(0, 120))
def test_more_rain_never_leaves_the_topsoil_drier(
    et0: np.ndarray, rain: np.ndarray, day: int, more: float
) -> None:
    wetter = rain.copy()
    wetter[day] += more
    less = bare_topsoil(et0_mm=et0, rain_mm=rain, textures=ALL)
    greater = bare_topsoil(et0_mm=et0, rain_mm=wetter, textures=ALL)
    assert (greater.topsoil_m3_m3 - less.topsoil_m3_m3).min() > -1e-9


@given(et0=demands, rain=rains, start=st.floats(0, 9))
def test_topsoil_stays_between_its_driest_and_saturation(
    et0: np.ndarray, rain: np.ndarray, start: float
) -> None:
    days = bare_topsoil(et0_mm=et0, rain_mm=rain, textures=ALL, start_depletion_mm=start)
    for column, texture in enumerate(ALL):
        driest = (
            texture.field_capacity_m3_m3
            - (texture.field_capacity_m3_m3 - texture.wilting_point_m3_m3 / 2) / 1.5
        )
        assert days.topsoil_m3_m3[:, column].min() >= driest - 1e-9
        assert days.topsoil_m3_m3[:, column].max() <= texture.saturation_m3_m3 + 1e-9


def test_fields_do_not_touch_each_other() -> None:
    et0, rain = np.full(10, 4.0), np.array([0, 30, 0, 0, 5, 0, 0, 60, 0, 0.0])
    together = bare_topsoil(et0_mm=et0, rain_mm=rain, textures=ALL)
    for column, texture in enumerate(ALL):
        alone = bare_topsoil(et0_mm=et0, rain_mm=rain, textures=[texture])
        assert together.topsoil_m3_m3[:, column] == pytest.approx(alone.topsoil_m3_m3[:, 0], abs=1e-12)


def test_weather_may_differ_by_field() -> None:
    rain = np.zeros((5, 2))
    rain[1, 1] = 20
    dry, wet = bare_topsoil(et0_mm=np.full(5, 4.0), rain_mm=rain, textures=[ALL[2], ALL[2]]).topsoil_m3_m3.T
    assert dry[0] == wet[0]
    assert (wet[1:] > dry[1:]).all()


def test_a_soaking_rain_keeps_clay_wet_for_longer_than_sand() -> None:
    rain = np.zeros(12)
    rain[0] = 60
    days = bare_topsoil(et0_mm=np.full(12, 1.0), rain_mm=rain, textures=[TEXTURES["sand"], TEXTURES["clay"]])
    standing = (days.excess_mm > 0.5).sum(axis=0)
    assert standing[0] <= 1
    assert 4 <= standing[1] <= 8


def test_a_dried_out_surface_hardly_evaporates() -> None:
    days = bare_topsoil(et0_mm=np.full(40, 6.0), rain_mm=np.zeros(40), textures=[TEXTURES["sandy_loam"]])
    assert days.evaporation_mm[0, 0] > 6
    assert days.evaporation_mm[-1, 0] < 0.05
    assert days.depletion_mm[-1, 0] == pytest.approx(1000 * (0.23 - 0.055) * 0.10, abs=0.1)


def test_rain_runs_off_dry_ground_by_the_dry_class_and_soaked_ground_by_the_wet_one() -> None:
    texture = TEXTURES["clay_loam"]
    number = texture.curve_number_fallow
    dry, wet = (
        bare_topsoil(et0_mm=np.zeros(1), rain_mm=np.full(1, 40.0), textures=[texture], **start).runoff_mm[
            0, 0
        ]
        for start in ({"start_depletion_mm": 20.0}, {"start_excess_mm": 15.0})
    )
    assert dry == pytest.approx(
        runoff_mm(rain_mm=40, curve_number=curve_number_dry(curve_number=number))
        + max(0.0, 0.7 * texture.readily_evaporable_mm + 0.3 * 1000 * (0.318 - 0.197 / 2) * 0.10 - 20.0)
    )
    assert wet == pytest.approx(runoff_mm(rain_mm=40, curve_number=curve_number_wet(curve_number=number)))
    assert dry < wet - 5


def test_wind_and_dry_air_speed_the_drying() -> None:
    still, windy = (
        bare_topsoil(
            et0_mm=np.full(2, 4.0),
            rain_mm=np.zeros(2),
            textures=[ALL[2]],
            wind_2m_m_s=wind,
            humidity_min_pct=humidity,
        ).evaporation_mm[0, 0]
        for wind, humidity in ((1, 75), (5, 25))
    )
    assert 4 < still < windy < 6


def test_topsoil_water_is_what_field_capacity_holds_less_what_left_it() -> None:
    assert topsoil_water_m3_m3(field_capacity_m3_m3=0.23, depletion_mm=15, excess_mm=0) == pytest.approx(0.13)
    assert topsoil_water_m3_m3(field_capacity_m3_m3=0.23, depletion_mm=0, excess_mm=3) == pytest.approx(0.25)


@pytest.mark.parametrize(
    ("change", "name"),
    [
        ({"rain_mm": np.array([1.0, -0.1, 0.0])}, "rain_mm"),
        ({"et0_mm": np.array([1.0, np.nan, 0.0])}, "et0_mm"),
        ({"et0_mm": np.ones(4)}, "shape of et0_mm"),
        ({"rain_mm": np.ones((3, 5))}, "shape of rain_mm"),
        ({"start_depletion_mm": 30.0}, "start_depletion_mm"),
        ({"start_excess_mm": 90.0}, "start_excess_mm"),
        ({"start_excess_mm": 3.0, "start_depletion_mm": 2.0}, "the lesser of depletion and excess"),
        ({"textures": []}, "textures"),
        ({"depth_evap_m": 0.02}, "readily_evaporable_mm"),
    ],
)
def test_bad_input_is_refused_by_name(change: dict[str, object], name: str) -> None:
    arguments: dict[str, object] = {
        "et0_mm": np.ones(3),
        "rain_mm": np.zeros(3),
        "textures": [TEXTURES["loam"]],
    }
    with pytest.raises(OutOfRange) as caught:
        bare_topsoil(**arguments | change)  # type: ignore[arg-type]
    assert caught.value.name == name


def test_a_season_of_a_thousand_zones_takes_no_time() -> None:
    textures = [dataclasses.replace(texture) for texture in ALL for _ in range(100)]
    rain = np.tile([0.0, 0.0, 12.0, 0.0, 0.0], 36)
    started = time.process_time()
    days = bare_topsoil(et0_mm=np.full(180, 5.0), rain_mm=rain, textures=textures)
    assert days.topsoil_m3_m3.shape == (180, 1100)
    assert time.process_time() - started < 2
