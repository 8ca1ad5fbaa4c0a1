import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from farmops.science.ranges import OutOfRange
from farmops.science.soil_temperature import (
    SURFACE_SWING,
    cover_lai,
    daily_mean_soil_temp_c,
    damping_depth_cm,
    driving_temp_c,
    soil_temp_at_hour_c,
    surface_amplitude_c,
    surface_swing,
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


def test_wet_or_covered_ground_swings_less() -> None:
    assert surface_swing(wetness_share=0.5) == pytest.approx(SURFACE_SWING)
    assert (
        surface_swing(wetness_share=1.0) < surface_swing(wetness_share=0.5) < surface_swing(wetness_share=0.0)
    )
    assert surface_swing(wetness_share=0.5, cover_share=1.0) == 0.5
    assert surface_swing(wetness_share=0.5, cover_share=0.5) == pytest.approx((1.2 + 0.5) / 2)


def test_sun_warms_bare_ground_beyond_the_air_and_cloud_keeps_it_below() -> None:
    """swat2009 eq. 1:1.3.12 has 18.7 °C for 20 MJ and 21.5 °C for 30 MJ where the air's mean is 18 °C; half of that."""
    sun = np.array([np.nan, 5.0, 20.0, 30.0])
    driven = driving_temp_c(temp_min_c=11, temp_max_c=25, solar_mj_m2_d=sun)
    assert driven[0] == 18
    assert driven[1] < 18
    assert driven[2:] == pytest.approx([18.35, 19.75])
    assert driving_temp_c(temp_min_c=11, temp_max_c=25, solar_mj_m2_d=sun, cover_share=1.0) == pytest.approx(
        np.full(4, 18.0)
    )


@given(
    low=st.floats(-20, 20),
    spread=st.floats(0, 25),
    sun=st.floats(0, 50),
    cover=st.floats(0, 1),
    warmer=st.floats(0, 10),
)
def test_warmer_air_drives_no_colder_whatever_the_sun(
    low: float, spread: float, sun: float, cover: float, warmer: float
) -> None:
    def driven(temp_min_c: float, temp_max_c: float) -> float:
        return float(
            driving_temp_c(temp_min_c=temp_min_c, temp_max_c=temp_max_c, solar_mj_m2_d=sun, cover_share=cover)
        )

    before = driven(low, low + spread)
    assert driven(low, low + spread + warmer) >= before - 1e-9
    assert driven(low + min(warmer, spread), low + spread) >= before - 1e-9
    assert driven(low + warmer, low + spread + warmer) == pytest.approx(before + warmer)


def test_the_leaf_area_of_a_cover_lets_the_rest_of_the_light_through() -> None:
    cover = np.array([0.0, 0.3, 0.8])
    assert np.exp(-0.5 * cover_lai(cover_share=cover)) == pytest.approx(1 - cover)
    assert cover_lai(cover_share=1.0) == pytest.approx(10)
