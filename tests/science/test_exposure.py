import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farmops.science.exposure import HEAT_LEVELS, heat_index_f, heat_level, noise_minutes


@given(level=st.floats(70, 130))
def test_three_decibels_more_halve_the_time(level: float) -> None:
    assert noise_minutes(level_dba=level + 3) == pytest.approx(noise_minutes(level_dba=level) / 2)


@given(humidity=st.floats(40, 95), temp=st.floats(82, 108))
def test_damper_or_warmer_air_feels_hotter(humidity: float, temp: float) -> None:
    usual = heat_index_f(temp_f=temp, humidity_pct=humidity)
    assert heat_index_f(temp_f=temp + 2, humidity_pct=humidity) > usual
    assert heat_index_f(temp_f=temp, humidity_pct=humidity + 5) > usual


def test_mild_air_feels_as_it_is() -> None:
    assert heat_index_f(temp_f=70, humidity_pct=50) == pytest.approx(70, abs=1.5)


def test_the_adjustments_act_only_at_their_corners() -> None:
    """In very dry heat it feels cooler than the regression alone, in very damp warmth hotter."""
    dry = heat_index_f(temp_f=95, humidity_pct=np.array([12.99, 13.01]))
    assert abs(dry[0] - dry[1]) < 0.1
    assert heat_index_f(temp_f=95, humidity_pct=5) < heat_index_f(temp_f=95, humidity_pct=13) - 2
    chart_at_100_pct = np.array([87, 95])  # the chart, from memory, leaves the adjustment out
    adjustment = (100 - 85) / 10 * (87 - np.array([80, 82])) / 5
    damp = heat_index_f(temp_f=np.array([80.0, 82.0]), humidity_pct=100)
    assert damp == pytest.approx(chart_at_100_pct + adjustment, abs=0.5)


def test_levels_rise_with_the_index() -> None:
    ranks = [HEAT_LEVELS.index(heat_level(heat_index_f=index)) for index in range(60, 140)]
    assert ranks == sorted(ranks)
    assert set(ranks) == {0, 1, 2, 3}
