"""Soil below and above 10 cm, held against the equation of heat conduction over a typical year of Greensboro."""

import numpy as np
import pytest

from farmops.science.soil_temperature import daily_mean_at_depth_c, daily_mean_soil_temp_c
from tests.published.packaged_data import greensboro

DIFFUSIVITY_M2_S = 0.5e-6
LAYER_M = 0.05
STEPS_A_DAY = 48
DEEPEST_M = 3.0


def conducted_c(top_c: np.ndarray) -> np.ndarray:
    """Return daily means (days, layers) of uniform ground whose top has these daily means; no heat from below."""
    layers = int(DEEPEST_M / LAYER_M) + 1
    rate = DIFFUSIVITY_M2_S * 86_400 / STEPS_A_DAY / LAYER_M**2
    assert rate < 0.5
    days = np.arange(len(top_c))
    boundary = np.interp(np.arange(len(top_c) * STEPS_A_DAY) / STEPS_A_DAY, days + 0.5, top_c)
    ground = np.full(layers, top_c.mean())
    means = np.zeros((len(top_c), layers))
    for step, top in enumerate(boundary):
        ground[0] = top
        ground[1:-1] += rate * (ground[2:] - 2 * ground[1:-1] + ground[:-2])
        ground[-1] = ground[-2]
        means[step // STEPS_A_DAY] += ground / STEPS_A_DAY
    return means


@pytest.fixture(scope="module")
def ten_cm_c() -> np.ndarray:
    """Two years alike, so that the second forgets the start."""
    year = greensboro()
    air = np.tile((year.temp_min_c + year.temp_max_c) / 2, 2)
    return daily_mean_soil_temp_c(air_mean_c=air, start_c=5.0)


def _apart_c(ours: np.ndarray, theirs: np.ndarray) -> float:
    return float(np.sqrt(((ours - theirs)[365:] ** 2).mean()))


@pytest.mark.parametrize(("below_cm", "within_c"), [(5, 0.4), (10, 0.6), (15, 0.9), (20, 1.1)])
def test_deeper_means_follow_those_at_ten_centimeters_as_heat_does(
    ten_cm_c: np.ndarray, below_cm: int, within_c: float
) -> None:
    conducted = conducted_c(ten_cm_c)[:, below_cm // 5]
    deep = daily_mean_at_depth_c(mean_10_cm_c=ten_cm_c, depth_cm=10 + below_cm)
    assert _apart_c(deep, conducted) < within_c
    assert _apart_c(deep, conducted) < 0.75 * _apart_c(ten_cm_c, conducted)
    assert abs((deep - conducted)[365:].mean()) < 0.05


@pytest.mark.parametrize(("depth_cm", "within_c"), [(5, 0.4), (0, 0.7)])
def test_heat_led_down_from_a_shallower_mean_gives_that_at_ten_centimeters(
    ten_cm_c: np.ndarray, depth_cm: int, within_c: float
) -> None:
    shallow = daily_mean_at_depth_c(mean_10_cm_c=ten_cm_c, depth_cm=depth_cm)
    assert _apart_c(conducted_c(shallow)[:, (10 - depth_cm) // 5], ten_cm_c) < within_c
