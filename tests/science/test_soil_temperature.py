import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from farmops.science.ranges import OutOfRange
from farmops.science.soil_temperature import (
    daily_mean_soil_temp_c,
    damping_depth_cm,
    soil_temp_at_hour_c,
    surface_amplitude_c,
    wave_lag_h,
)

airs = arrays(np.float64, 30, elements=st.floats(-20, 35))


@given(air=airs, start=st.floats(-10, 30), warmer=st.floats(0, 10), day=st.integers(0, 29))
def test_warmer_air_never_leaves_the_soil_colder(
    air: np.ndarray, start: float, warmer: float, day: int
) -> None:
    warm = air.copy()
    warm[day] += warmer
    cold_soil = daily_mean_soil_temp_c(air_mean_c=air, start_c=start)
    assert (daily_mean_soil_temp_c(air_mean_c=warm, start_c=start) - cold_soil).min() >= -1e-9


@given(air=airs, start=st.floats(-10, 30), wetness=st.floats(0, 1), leaves=st.floats(0, 6))
def test_soil_stays_within_what_air_and_start_span(
    air: np.ndarray, start: float, wetness: float, leaves: float
) -> None:
    soil = daily_mean_soil_temp_c(air_mean_c=air, start_c=start, wetness_share=wetness, cover_lai=leaves)
    assert soil.min() >= min(air.min(), start) - 1e-9
    assert soil.max() <= max(air.max(), start) + 1e-9


def test_members_and_fields_run_beside_each_other() -> None:
    air = np.array([[10.0, 20.0], [10.0, 20.0]])
    soil = daily_mean_soil_temp_c(air_mean_c=air, start_c=np.array([14.0, 14.0]))
    assert soil == pytest.approx(np.array([[13.0, 15.5], [12.25, 16.625]]))


def test_wet_or_shaded_soil_warms_more_slowly_but_cools_as_fast_under_leaves() -> None:
    def after_a_day(air: float, **how: float) -> float:
        return float(daily_mean_soil_temp_c(air_mean_c=np.array([air]), start_c=14.0, **how)[0])

    assert after_a_day(20, wetness_share=1.0) < after_a_day(20) < after_a_day(20, wetness_share=0.0)
    assert after_a_day(20, wetness_share=0.5) == after_a_day(20) == 15.5
    assert after_a_day(20, wetness_share=1.0) == pytest.approx(14 + 0.8 * 1.5)
    assert after_a_day(20, wetness_share=0.0) == pytest.approx(14 + 1.2 * 1.5)
    assert after_a_day(20, cover_lai=1.0) == pytest.approx(14 + 1.5 * np.exp(-0.5))
    assert after_a_day(20, cover_lai=8.0) == pytest.approx(14.75)
    assert after_a_day(8, cover_lai=8.0) == after_a_day(8) == 12.5


def test_a_years_wave_passes_as_heat_conduction_would_let_it() -> None:
    """At 10 cm conduction with 0.5e-6 m²/s lets 96 % of a year's swing pass and delays it by 2.6 days."""
    days = np.arange(3 * 365)
    soil = daily_mean_soil_temp_c(air_mean_c=15 + 10 * np.sin(2 * np.pi * days / 365), start_c=15.0)[-365:]
    lag_d = int(soil.argmax()) - 365 / 4
    annual_depth_cm = damping_depth_cm(diffusivity_m2_s=0.5e-6, period_s=365 * 86_400)
    conduction_lag_d = wave_lag_h(depth_cm=10, damping_depth_cm=annual_depth_cm, period_h=365 * 24) / 24
    assert conduction_lag_d == pytest.approx(2.6, abs=0.05)
    assert lag_d == pytest.approx(conduction_lag_d, abs=1)
    assert (soil.max() - soil.min()) / 20 == pytest.approx(np.exp(-10 / annual_depth_cm), abs=0.05)


@given(depth=st.floats(0, 60), amplitude=st.floats(0, 20), mean=st.floats(-10, 30))
def test_the_days_wave_keeps_the_days_mean(depth: float, amplitude: float, mean: float) -> None:
    hours = soil_temp_at_hour_c(
        daily_mean_c=mean, surface_amplitude_c=amplitude, depth_cm=depth, hour=np.arange(24.0)
    )
    assert hours.mean() == pytest.approx(mean, abs=1e-9)
    assert hours.max() - hours.min() <= 2 * amplitude * np.exp(-depth / 11.7) + 1e-9


def test_the_wave_peaks_later_at_depth() -> None:
    minutes = np.arange(0, 24, 1 / 60)
    four_inches = soil_temp_at_hour_c(daily_mean_c=18, surface_amplitude_c=7, depth_cm=10, hour=minutes)
    lag_h = minutes[four_inches.argmax()] - 14
    assert lag_h == pytest.approx(wave_lag_h(depth_cm=10), abs=1 / 60)
    eight_am = soil_temp_at_hour_c(daily_mean_c=18, surface_amplitude_c=7, depth_cm=10, hour=8)
    assert eight_am < 16


def test_bare_soil_swings_a_fifth_wider_than_air() -> None:
    assert surface_amplitude_c(temp_min_c=12, temp_max_c=26) == pytest.approx(8.4)
    assert surface_amplitude_c(temp_min_c=12, temp_max_c=26, swing=0.8) == pytest.approx(5.6)


@pytest.mark.parametrize(
    "change",
    [{"air_mean_c": np.array([75.0])}, {"start_c": np.nan}, {"wetness_share": 1.2}, {"cover_lai": -1.0}],
)
def test_what_cannot_be_is_refused(change: dict[str, object]) -> None:
    arguments: dict[str, object] = {"air_mean_c": np.array([20.0]), "start_c": 14.0}
    with pytest.raises(OutOfRange, match=next(iter(change))):
        daily_mean_soil_temp_c(**arguments | change)  # type: ignore[arg-type]
