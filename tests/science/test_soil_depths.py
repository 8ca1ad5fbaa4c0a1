import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from farmops.science.ranges import OutOfRange
from farmops.science.soil_temperature import (
    daily_mean_at_depth_c,
    daily_mean_soil_temp_c,
    damping_depth_cm,
    soil_temp_at_hour_c,
    thermometer_offsets_c,
)

airs = arrays(np.float64, 30, elements=st.floats(-20, 35))
depths = st.floats(0, 30)


@given(
    air=airs,
    start=st.floats(-10, 30),
    warmer=st.floats(0, 10),
    day=st.integers(0, 29),
    depth=depths,
    wetness=arrays(np.float64, 30, elements=st.floats(0, 1)),
    leaves=st.floats(0, 6),
)
def test_warmer_air_never_leaves_any_depth_colder(
    air: np.ndarray, start: float, warmer: float, day: int, depth: float, wetness: np.ndarray, leaves: float
) -> None:
    warm = air.copy()
    warm[day] += warmer
    cold_soil, warm_soil = (
        daily_mean_at_depth_c(
            mean_10_cm_c=daily_mean_soil_temp_c(
                air_mean_c=series, start_c=start, wetness_share=wetness, cover_lai=leaves
            ),
            depth_cm=depth,
        )
        for series in (air, warm)
    )
    assert (warm_soil - cold_soil).min() >= -1e-9


@given(air=airs, depth=depths, reading=st.floats(-5, 5), more=st.floats(0, 5), day=st.integers(0, 29))
def test_a_warmer_reading_never_leaves_any_depth_colder(
    air: np.ndarray, depth: float, reading: float, more: float, day: int
) -> None:
    model = daily_mean_soil_temp_c(air_mean_c=air, start_c=10.0)
    lower, higher = (
        daily_mean_at_depth_c(mean_10_cm_c=model + offsets, depth_cm=depth, thermometer_c=offsets)
        for offsets in (
            thermometer_offsets_c(days=30, readings=[(day, told)]) for told in (reading, reading + more)
        )
    )
    assert (higher - lower).min() >= -1e-9
    assert higher[day] - lower[day] == pytest.approx(more)


@pytest.mark.parametrize("depth_cm", [3.0, 25.0])
def test_readings_count_for_all_columns_and_members_of_a_day(depth_cm: float) -> None:
    model = np.random.default_rng(4).normal(15, 4, (6, 2, 3))
    offsets = thermometer_offsets_c(days=6, readings=[(2, 3.0)])
    told = daily_mean_at_depth_c(
        mean_10_cm_c=model + offsets[:, np.newaxis, np.newaxis], depth_cm=depth_cm, thermometer_c=offsets
    )
    plain_model = daily_mean_at_depth_c(mean_10_cm_c=model, depth_cm=depth_cm)
    assert told - plain_model == pytest.approx(np.broadcast_to(offsets[:, np.newaxis, np.newaxis], (6, 2, 3)))


@given(series=arrays(np.float64, (12, 3), elements=st.floats(-20, 35)))
def test_at_ten_centimeters_nothing_changes(series: np.ndarray) -> None:
    assert (daily_mean_at_depth_c(mean_10_cm_c=series, depth_cm=10) == series).all()


def test_a_step_of_the_air_arrives_later_and_smaller_the_deeper() -> None:
    air = np.concatenate([np.full(5, 10.0), np.full(40, 20.0)])
    ten_cm = daily_mean_soil_temp_c(air_mean_c=air, start_c=10.0)
    by_depth = np.array(
        [daily_mean_at_depth_c(mean_10_cm_c=ten_cm, depth_cm=cm) for cm in (0, 5, 10, 15, 20, 30)]
    )
    assert (np.diff(by_depth[:, 5:20], axis=0) < 0).all()
    assert (np.diff(by_depth[:, 5:], axis=1) > -1e-12).all()
    half_way_day = (by_depth >= 15).argmax(axis=1)
    assert (np.diff(half_way_day) >= 0).all()
    assert half_way_day[-1] > half_way_day[0] + 2
    assert by_depth[:, -1] == pytest.approx(20, abs=0.1)


@pytest.mark.parametrize("depth_cm", [15, 20, 30])
def test_a_ten_day_wave_fades_with_depth_as_conduction_lets_it(depth_cm: float) -> None:
    """ochsner2019, section 13.4: exp(-distance / damping depth), the damping depth growing with the period's root."""
    days = np.arange(400)
    wave = 15 + 5 * np.sin(2 * np.pi * days / 10)
    deep = daily_mean_at_depth_c(mean_10_cm_c=wave, depth_cm=depth_cm)[-200:]
    ten_days_cm = damping_depth_cm(diffusivity_m2_s=0.5e-6, period_s=10 * 86_400)
    conducted = np.exp(-(depth_cm - 10) / ten_days_cm)
    assert ten_days_cm == pytest.approx(37.0, abs=0.2)
    # days are steps, which the continuous wave is not
    assert (deep.max() - deep.min()) / (wave.max() - wave.min()) == pytest.approx(conducted, abs=0.08)


@given(series=arrays(np.float64, 40, elements=st.floats(-5, 30)), depth=st.floats(0, 9))
def test_from_the_shallower_mean_ten_centimeters_would_follow(series: np.ndarray, depth: float) -> None:
    shallow = daily_mean_at_depth_c(mean_10_cm_c=series, depth_cm=depth)
    followed = daily_mean_at_depth_c(mean_10_cm_c=shallow, depth_cm=20 - depth)
    assert followed == pytest.approx(series, abs=1e-9)


@given(
    air=airs,
    warmer=st.floats(0, 10),
    day=st.integers(0, 29),
    depth=depths,
    amplitude=st.floats(0, 10),
    hour=st.floats(0, 24),
)
def test_a_day_warmer_all_through_is_colder_at_no_hour_or_depth(
    air: np.ndarray, warmer: float, day: int, depth: float, amplitude: float, hour: float
) -> None:
    warm = air.copy()
    warm[day] += warmer
    cold_hours, warm_hours = (
        soil_temp_at_hour_c(
            daily_mean_c=daily_mean_at_depth_c(
                mean_10_cm_c=daily_mean_soil_temp_c(air_mean_c=series, start_c=10.0), depth_cm=depth
            ),
            surface_amplitude_c=amplitude,
            depth_cm=depth,
            hour=hour,
        )
        for series in (air, warm)
    )
    assert (warm_hours - cold_hours).min() >= -1e-9


def test_a_reading_halves_in_three_days_and_a_newer_one_takes_its_place() -> None:
    offsets = thermometer_offsets_c(days=10, readings=[(6, -1.0), (1, 2.0), (1, 4.0)])
    assert offsets[0] == 0
    assert offsets[[1, 4]] == pytest.approx([4.0, 2.0])
    assert offsets[[6, 9]] == pytest.approx([-1.0, -0.5])
    assert thermometer_offsets_c(days=3, readings=[]) == pytest.approx(np.zeros(3))


def test_tiftons_warm_spell_and_cold_front() -> None:
    """Tifton's four-inch soil rose 14 °F in four warm days and fell over 10 °F in one (a farm column of 2014).

    The air is invented: days of 22 to 24 °C in the mean after cold ones, then a front with 6 °C in the mean. The
    model has the rise, in its daily mean as in its evenings. Of the fall its daily mean has about 6 °F; between the
    evening before the front and the one after it, where the wave is small, it has 10 °F.
    """
    low = np.array([5.0, 5.0, 14.0, 15.0, 16.0, 16.0, 3.0])
    high = np.array([17.0, 17.0, 30.0, 31.0, 32.0, 32.0, 9.0])
    mean = daily_mean_soil_temp_c(air_mean_c=(low + high) / 2, start_c=12.0)
    rise_f = 1.8 * (mean[5] - mean[1])
    fall_f = 1.8 * (mean[5] - mean[6])
    assert rise_f == pytest.approx(14, abs=1.5)
    assert fall_f == pytest.approx(6.2, abs=0.5)
    evening = soil_temp_at_hour_c(
        daily_mean_c=mean, surface_amplitude_c=1.2 * (high - low) / 2, depth_cm=10, hour=17
    )
    assert 1.8 * (evening[5] - evening[6]) == pytest.approx(10.75, abs=0.75)


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ({"depth_cm": 31.0}, "depth_cm"),
        ({"depth_cm": -1.0}, "depth_cm"),
        ({"mean_10_cm_c": np.array([np.nan])}, "mean_10_cm_c"),
        ({"thermometer_c": 40.0}, "thermometer_c"),
    ],
)
def test_depths_and_means_that_cannot_be_are_refused(change: dict[str, object], named: str) -> None:
    arguments: dict[str, object] = {"mean_10_cm_c": np.array([20.0]), "depth_cm": 5.0}
    with pytest.raises(OutOfRange, match=named):
        daily_mean_at_depth_c(**arguments | change)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("days", "readings", "words"),
    [
        (0, [], "days is 0; valid is 1 or more"),
        (5, [(5, 1.0)], "readings is 5; valid is a day from 0 to 4"),
        (5, [(2, 50.0)], "readings is 50; valid is from -30 to 30"),
    ],
)
def test_readings_that_cannot_be_are_refused(
    days: int, readings: list[tuple[int, float]], words: str
) -> None:
    with pytest.raises(OutOfRange, match=words):
        thermometer_offsets_c(days=days, readings=readings)


@pytest.mark.parametrize("depth_cm", [0.0, 10.0, 25.0])
def test_no_days_have_no_means_at_any_depth(depth_cm: float) -> None:
    assert daily_mean_at_depth_c(mean_10_cm_c=np.zeros((0, 3)), depth_cm=depth_cm).shape == (0, 3)
