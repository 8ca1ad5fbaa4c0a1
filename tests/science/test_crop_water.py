import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farmops.science.crop_water import (
    adjusted_depletion_fraction,
    dual_crop_topsoil_day,
    evaporation_reduction,
    exposed_wetted_share,
    kc_max,
    root_zone_day,
    stress_coefficient,
)
from farmops.science.ranges import OutOfRange


@given(start=st.floats(0, 18), rain=st.floats(0, 60), et0=st.floats(0, 10), share=st.floats(0.1, 1))
def test_the_surface_layers_day_closes(start: float, rain: float, et0: float, share: float) -> None:
    day = dual_crop_topsoil_day(
        depletion_mm=start,
        et0_mm=et0,
        rain_mm=rain,
        irrigation_wetted_mm=0,
        basal_coefficient=0.3,
        kc_max=1.2,
        exposed_wetted_share=share,
        total_evaporable_mm=18,
        readily_evaporable_mm=8,
    )
    change = day.evaporation_exposed_mm + day.percolation_mm - rain
    assert day.depletion_end_mm == pytest.approx(start + change, abs=1e-9)
    assert 0 <= day.depletion_end_mm <= 18 + 1e-9


@given(start=st.floats(0, 160), water=st.floats(0, 200), demand=st.floats(0, 12))
def test_the_root_zones_day_closes(start: float, water: float, demand: float) -> None:
    day = root_zone_day(
        depletion_mm=start,
        water_in_mm=water,
        crop_et_mm_d=demand,
        total_available_mm=160,
        depletion_fraction=0.5,
    )
    assert day.depletion_end_mm == pytest.approx(
        start - water + day.crop_et_mm + day.percolation_mm, abs=1e-9
    )
    assert 0 <= day.depletion_end_mm <= 160
    assert day.crop_et_mm <= demand + 1e-9


def test_water_seeps_away_only_when_the_root_zone_is_full() -> None:
    def day(start: float, water: float) -> tuple[float, float]:
        result = root_zone_day(
            depletion_mm=start,
            water_in_mm=water,
            crop_et_mm_d=5,
            total_available_mm=160,
            depletion_fraction=0.5,
        )
        return result.percolation_mm, result.depletion_end_mm

    assert day(50, 30) == (0, 25)
    assert day(10, 30) == (15, 0)


def test_stress_begins_at_the_readily_available_water_and_ends_with_all_of_it() -> None:
    depletion = np.array([0.0, 64.0, 112.0, 160.0])
    factors = stress_coefficient(depletion_mm=depletion, total_available_mm=160, depletion_fraction=0.4)
    assert factors == pytest.approx([1.0, 1.0, 0.5, 0.0])


def test_the_surface_slows_between_readily_and_totally_evaporable_water() -> None:
    depletion = np.array([0.0, 8.0, 13.0, 18.0])
    factors = evaporation_reduction(depletion_mm=depletion, total_evaporable_mm=18, readily_evaporable_mm=8)
    assert factors == pytest.approx([1.0, 1.0, 0.5, 0.0])


def test_the_depleted_fraction_keeps_to_the_notes_bounds() -> None:
    assert adjusted_depletion_fraction(table_fraction=0.65, crop_et_mm_d=0) == 0.8
    assert adjusted_depletion_fraction(table_fraction=0.3, crop_et_mm_d=12) == 0.1
    assert exposed_wetted_share(cover_share=1.0, wetted_share=1.0) == 0.01


def test_a_covering_crop_lifts_the_upper_limit() -> None:
    assert kc_max(wind_2m_m_s=2, humidity_min_pct=45, height_m=1, basal_coefficient=1.25) == pytest.approx(
        1.30
    )
    with pytest.raises(OutOfRange, match="humidity_min_pct is 95"):
        kc_max(wind_2m_m_s=2, humidity_min_pct=95)


def test_more_depletion_than_there_is_water_is_refused() -> None:
    with pytest.raises(
        OutOfRange, match=r"depletion_mm is 161; valid is not above total_available_mm \(160\)"
    ):
        stress_coefficient(depletion_mm=161, total_available_mm=160, depletion_fraction=0.4)
