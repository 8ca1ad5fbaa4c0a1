"""The hourly water of bare ground: it closes, it keeps its order, and it agrees with the daily balance."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from farmops.science.ranges import OutOfRange
from farmops.science.soil_water import bare_topsoil
from farmops.science.textures import TEXTURES, Texture
from farmops.science.topsoil_hours import (
    SUBSOIL_M,
    WaterHours,
    WaterState,
    at_field_capacity,
    daylight_shares,
    water_hours,
)

ALL = list(TEXTURES.values())
DAYS = 8
HOURS = 24 * DAYS
SHARE = np.full(HOURS, 1 / 24)
CLOCK = np.arange(HOURS, dtype=np.float64) % 24
SUN = daylight_shares(
    clock_h=CLOCK, hours_long=np.ones(HOURS), sunrise_h=np.full(HOURS, 7.0), sunset_h=np.full(HOURS, 19.5)
)
ROUNDS = settings(max_examples=40, deadline=None)
rain_rows = arrays(
    np.float64, (HOURS, 1), elements=st.one_of(st.just(0.0), st.floats(0.1, 30.0)), fill=st.just(0.0)
)


def run(
    rain_mm: np.ndarray,
    *,
    et_mm_d: float = 5.0,
    textures: list[Texture] | None = None,
    start: WaterState | None = None,
) -> WaterHours:
    textures = textures or ALL
    return water_hours(
        textures=textures,
        rain_mm=rain_mm,
        demand_mm=et_mm_d * SUN,
        hour_share_of_day=SHARE,
        start=start or at_field_capacity(zones=len(textures), members=rain_mm.shape[1]),
    )


@ROUNDS
@given(rain_mm=rain_rows, et_mm_d=st.floats(0, 12))
def test_no_water_is_made_or_lost(rain_mm: np.ndarray, et_mm_d: float) -> None:
    hours = run(rain_mm, et_mm_d=et_mm_d)
    stored = hours.end.excess_mm - hours.end.depletion_mm + hours.end.subsoil_excess_mm
    flows = rain_mm.sum(axis=0) - hours.runoff_mm - hours.evaporation_mm - hours.drainage_mm
    assert np.abs(stored - flows).max() < 1e-9


@ROUNDS
@given(rain_mm=rain_rows, hour=st.integers(0, HOURS - 1), more_mm=st.floats(0, 60), et_mm_d=st.floats(0, 12))
def test_more_rain_never_leaves_either_layer_drier(
    rain_mm: np.ndarray, hour: int, more_mm: float, et_mm_d: float
) -> None:
    wetter_mm = rain_mm.copy()
    wetter_mm[hour] += more_mm
    less, more = run(rain_mm, et_mm_d=et_mm_d), run(wetter_mm, et_mm_d=et_mm_d)
    assert (more.topsoil_m3_m3 >= less.topsoil_m3_m3 - 1e-12).all()
    assert (more.subsoil_m3_m3 >= less.subsoil_m3_m3 - 1e-12).all()


@ROUNDS
@given(rain_mm=rain_rows)
def test_water_stays_between_dry_and_saturated(rain_mm: np.ndarray) -> None:
    hours = run(rain_mm, et_mm_d=12.0)
    for column, texture in enumerate(ALL):
        assert hours.topsoil_m3_m3[:, column].max() <= texture.saturation_m3_m3 + 1e-12
        assert hours.topsoil_m3_m3[:, column].min() >= 0.5 * texture.wilting_point_m3_m3
        assert hours.subsoil_m3_m3[:, column].max() <= texture.saturation_m3_m3 + 1e-12
        assert hours.subsoil_m3_m3[:, column].min() >= texture.field_capacity_m3_m3 - 1e-12


def test_a_day_without_sun_drains_the_daily_share() -> None:
    texture = TEXTURES["sandy_loam"]
    start = WaterState(np.zeros((1, 1)), np.full((1, 1), 10.0), np.zeros((1, 1)))
    hours = run(np.zeros((HOURS, 1)), et_mm_d=0.0, textures=[texture], start=start)
    after_a_day = (hours.topsoil_m3_m3[23, 0, 0] - texture.field_capacity_m3_m3) * 150
    assert after_a_day == pytest.approx(10.0 * (1 - texture.drainage_share_per_day))


def test_drainage_of_the_topsoil_wets_the_layer_below() -> None:
    rain = np.zeros((HOURS, 1))
    rain[2] = 30.0
    hours = run(rain, textures=[TEXTURES["sandy_loam"]])
    capacity = TEXTURES["sandy_loam"].field_capacity_m3_m3
    below_mm = (hours.subsoil_m3_m3[:, 0, 0] - capacity) * 1000 * SUBSOIL_M
    assert below_mm[1] == 0
    assert below_mm.max() > 3
    assert below_mm[-1] < below_mm.max() / 10


@pytest.mark.parametrize("texture", ALL, ids=lambda texture: texture.key)
def test_hours_agree_with_the_daily_balance(texture: Texture) -> None:
    # small rains, so that the two ways of runoff do not matter: the daily balance is held against other libraries
    rng = np.random.default_rng(7)
    by_day = np.where(rng.random(DAYS) < 0.5, rng.uniform(2, 9, DAYS), 0.0)
    rain = np.zeros((HOURS, 1))
    rain[::24, 0] = by_day
    hours = run(rain, textures=[texture], et_mm_d=5.0)
    daily = bare_topsoil(et0_mm=np.full(DAYS, 5.0 / 1.2), rain_mm=by_day, textures=[texture])
    apart = np.abs(hours.topsoil_m3_m3[23::24, 0, 0] - daily.topsoil_m3_m3[:, 0])
    assert apart.max() < 0.02


@pytest.mark.parametrize(
    ("rain_in", "curve_number", "runoff_in"),
    # TR-55 table 2-1 at 5.0 in, from memory
    [(5.0, 60, 1.30), (5.0, 70, 2.04), (5.0, 75, 2.45), (5.0, 80, 2.89), (5.0, 90, 3.88)],
)
def test_a_storm_on_dry_ground_sheds_what_the_printed_table_says(
    rain_in: float, curve_number: float, runoff_in: float
) -> None:
    texture = replace(TEXTURES["sandy_loam"], curve_number_fallow=curve_number)
    hours = run(one_storm(25.4 * rain_in, 1), et_mm_d=0, textures=[texture], start=dry(texture))
    assert float(hours.runoff_mm[0, 0]) / 25.4 == pytest.approx(runoff_in, abs=0.006)


def test_a_storm_sheds_more_from_wetter_ground() -> None:
    texture = TEXTURES["sandy_loam"]
    from_dry = run(one_storm(50.0, 2), et_mm_d=0, textures=[texture], start=dry(texture)).runoff_mm
    from_moist = run(one_storm(50.0, 2), et_mm_d=0, textures=[texture]).runoff_mm
    assert from_moist > 1.3 * from_dry


def test_cutting_the_hours_of_a_storm_finer_changes_nothing() -> None:
    # half hours of half the rain: the same runoff where nothing drains in between
    texture = replace(TEXTURES["clay"], drainage_share_per_day=0.0)
    whole = run(one_storm(60.0, 3), et_mm_d=0, textures=[texture]).runoff_mm
    fine = run(one_storm(60.0, 6), et_mm_d=0, textures=[texture]).runoff_mm
    assert whole == pytest.approx(fine)


def one_storm(rain_mm: float, hours: int) -> np.ndarray:
    rain = np.zeros((HOURS, 1))
    rain[:hours] = rain_mm / hours
    return rain


def dry(texture: Texture) -> WaterState:
    """Ground at the wetness that the curve number method calls dry: 0.7 REW + 0.3 TEW below field capacity."""
    evaporable_mm = 100 * (texture.field_capacity_m3_m3 - 0.5 * texture.wilting_point_m3_m3)
    depletion = np.full((1, 1), 0.7 * texture.readily_evaporable_mm + 0.3 * evaporable_mm)
    return WaterState(depletion, np.zeros((1, 1)), np.zeros((1, 1)))


def test_a_day_evaporates_by_daylight_and_no_more_than_the_day() -> None:
    by_day = SUN.reshape(DAYS, 24)
    assert by_day.sum(axis=1) == pytest.approx(np.ones(DAYS))
    assert (by_day[:, :7] == 0).all()
    assert (by_day[:, 20:] == 0).all()
    assert by_day[0].argmax() == 13


@pytest.mark.parametrize(("rain", "et"), [(-1.0, 5.0), (float("nan"), 5.0), (0.0, -1.0), (0.0, 80.0)])
def test_what_cannot_be_is_refused(rain: float, et: float) -> None:
    with pytest.raises(OutOfRange):
        run(np.full((HOURS, 1), rain), et_mm_d=et)
