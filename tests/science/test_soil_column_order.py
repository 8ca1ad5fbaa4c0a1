"""What must hold of any soil column whatever the weather: its balance closes, and more water never leaves it drier."""

from dataclasses import fields

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from farmops.science.soil_column import (
    ColumnState,
    Correction,
    CropDays,
    at_field_capacity,
    bare_days,
    column_soils,
    run_column,
)
from tests.science.columns import ALL, run, sun

pytestmark = pytest.mark.long

DAYS = 10
ROUNDS = settings(max_examples=40, deadline=None)
SOILS = column_soils(ALL)

amounts = st.one_of(st.just(0.0), st.floats(0.1, 60.0))
demands = st.floats(0, 14)
depths = st.one_of(st.floats(0, 0.1), st.floats(0, 1))


@st.composite
def waters(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray]:
    """Rain and watering, by the hour or by the day."""
    steps = draw(st.sampled_from([24 * DAYS, DAYS]))
    rain = draw(arrays(np.float64, steps, elements=amounts, fill=st.just(0.0)))
    watering = draw(arrays(np.float64, (steps, 1), elements=st.floats(0, 30), fill=st.just(0.0)))
    return rain, watering


@st.composite
def crops(draw: st.DrawFn) -> CropDays:
    """A crop by day that comes and goes as no crop does; every fourth time none."""
    if draw(st.integers(0, 3)) == 0:
        return bare_days(days=DAYS, columns=len(ALL))
    bounds = (st.floats(0, 1.3), st.floats(0, 1), st.floats(0, 2), depths, st.floats(0.1, 0.8))
    shape = (DAYS, len(ALL))
    return CropDays(
        **{
            item.name: draw(arrays(np.float64, shape, elements=elements, fill=elements))
            for item, elements in zip(fields(CropDays), bounds)
        }
    )


@st.composite
def remarks(draw: st.DrawFn) -> Correction:
    """Too wet or too dry, on one of the first steps."""
    said, is_wet = draw(st.floats(0.13, 0.35)), draw(st.booleans())
    return Correction(
        step=draw(st.integers(0, DAYS - 1)),
        column=draw(st.integers(0, len(ALL) - 1)),
        at_least_m3_m3=said if is_wet else None,
        at_most_m3_m3=None if is_wet else said,
    )


several_remarks = st.lists(remarks(), max_size=4)


def stored_mm(state: ColumnState) -> np.ndarray:
    """Return all the water of a column beside field capacity."""
    return state.topsoil_mm + state.subsoil_mm + state.deep_mm


@ROUNDS
@given(water=waters(), crop=crops(), corrections=several_remarks, et_mm_d=demands)
def test_no_water_is_made_or_lost_in_any_step_and_steps_go_on_where_others_ended(
    water: tuple[np.ndarray, np.ndarray], crop: CropDays, corrections: list[Correction], et_mm_d: float
) -> None:
    rain, watering = water
    is_hourly = len(rain) > DAYS
    whole = run(rain, days=DAYS, crop=crop, watering_mm=watering, corrections=corrections, et_mm_d=et_mm_d)
    state = at_field_capacity(soils=SOILS, members=1)
    for step in range(len(rain)):
        before = state
        single = run_column(
            soils=SOILS,
            start=before,
            day_index=np.array([step // 24 if is_hourly else step]),
            share_of_day=np.array([1 / 24 if is_hourly else 1.0]),
            daylight_share=sun(DAYS)[step : step + 1] if is_hourly else np.ones(1),
            rain_mm=rain[step : step + 1],
            et0_mm=np.full(DAYS, et_mm_d),
            kc_max=np.full(DAYS, 1.2),
            crop=crop,
            watering_mm=watering[step : step + 1],
            corrections=[
                Correction(0, remark.column, remark.at_least_m3_m3, remark.at_most_m3_m3)
                for remark in corrections
                if remark.step == step
            ],
        )
        state = single.end
        into = rain[step] + watering[step, 0] + single.correction_mm
        out = single.runoff_mm + single.evaporation_mm + single.transpiration_mm + single.drainage_mm
        assert np.abs(into - out - (stored_mm(state) - stored_mm(before))).max() < 1e-9
        for flow in ("runoff_mm", "evaporation_mm", "transpiration_mm", "drainage_mm"):
            assert getattr(single, flow).min() > -1e-12
            assert np.abs(getattr(single, flow) - getattr(whole, flow)[step]).max() < 1e-9
    for item in fields(ColumnState):
        assert np.abs(getattr(state, item.name) - getattr(whole.end, item.name)).max() < 1e-9, item.name


@ROUNDS
@given(
    water=waters(),
    crop=crops(),
    corrections=several_remarks,
    et_mm_d=demands,
    more_mm=st.floats(0, 80),
    at=st.floats(0, 0.999),
    is_rain=st.booleans(),
)
def test_more_water_never_leaves_any_layer_or_the_seed_drier(
    water: tuple[np.ndarray, np.ndarray],
    crop: CropDays,
    corrections: list[Correction],
    et_mm_d: float,
    more_mm: float,
    at: float,
    is_rain: bool,
) -> None:
    rain, watering = water
    more_rain, more_watering = rain.copy(), watering.copy()
    (more_rain if is_rain else more_watering)[int(at * len(rain))] += more_mm
    less, more = (
        run(
            falls,
            days=DAYS,
            crop=crop,
            watering_mm=watered,
            corrections=corrections,
            et_mm_d=et_mm_d,
        )
        for falls, watered in ((rain, watering), (more_rain, more_watering))
    )
    for name in ("topsoil_m3_m3", "subsoil_m3_m3", "seed_m3_m3"):
        assert (getattr(more, name) - getattr(less, name)).min() > -1e-10, name
    assert (more.rootzone_depletion_mm - less.rootzone_depletion_mm).max() < 1e-8
    assert (more.end.deep_mm - less.end.deep_mm).min() > -1e-8


@ROUNDS
@given(water=waters(), crop=crops(), corrections=several_remarks)
def test_water_stays_between_dry_and_saturated(
    water: tuple[np.ndarray, np.ndarray], crop: CropDays, corrections: list[Correction]
) -> None:
    rain, watering = water
    result = run(rain, days=DAYS, crop=crop, watering_mm=watering, corrections=corrections, et_mm_d=12.0)
    for name in ("topsoil_m3_m3", "subsoil_m3_m3", "seed_m3_m3"):
        values = getattr(result, name)
        assert (values - SOILS.saturation_m3_m3).max() < 1e-9, name
        assert (values - 0.5 * SOILS.wilting_point_m3_m3).min() > -1e-9, name
    assert (result.subsoil_m3_m3 - SOILS.wilting_point_m3_m3).min() > -1e-9
    assert result.rootzone_depletion_mm.min() >= 0
