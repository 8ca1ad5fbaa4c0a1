import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farmops.science.heat_units import (
    RATINGS,
    corn_86_50_f,
    dd60_f,
    degree_days_f,
    five_day_rating,
    five_day_sums,
)

temps = st.floats(-20, 120)


@given(first=temps, second=temps, more=st.floats(0, 20))
def test_a_warmer_day_never_counts_less(first: float, second: float, more: float) -> None:
    low, high = sorted((first, second))
    for units in (dd60_f, corn_86_50_f):
        usual = units(temp_max_f=high, temp_min_f=low)
        assert units(temp_max_f=high + more, temp_min_f=low) >= usual - 1e-9
        assert units(temp_max_f=high + more, temp_min_f=low + more) >= usual - 1e-9
        assert usual >= 0


@given(first=temps, second=temps)
def test_corn_counts_no_more_than_36_a_day(first: float, second: float) -> None:
    low, high = sorted((first, second))
    assert 0 <= corn_86_50_f(temp_max_f=high, temp_min_f=low) <= 36


def test_three_days_of_corn_add_up_to_the_printed_43() -> None:
    days = corn_86_50_f(temp_max_f=np.array([90.0, 72, 63]), temp_min_f=np.array([65.0, 46, 42]))
    assert days.sum() == pytest.approx(43)


def test_dd60_is_degree_days_above_60() -> None:
    high, low = np.array([95.0, 61, 59]), np.array([71.0, 58, 40])
    assert dd60_f(temp_max_f=high, temp_min_f=low) == pytest.approx([23, 0, 0])
    assert degree_days_f(temp_max_f=high, temp_min_f=low, base_f=50) == pytest.approx([33, 9.5, 0])


def test_the_cap_changes_the_nine_days_first_sum() -> None:
    """12.5 and two more days above 10: 48.5 as printed without a cap, 38.5 with it."""
    capped = np.minimum(np.array([12.5, 16, 11.5, 3.5, 5, 6.5, 8, 7.5, 7]), 10)
    assert five_day_sums(daily=capped)[0] == pytest.approx(38.5)


def test_five_day_sums_go_down_the_days_of_each_column() -> None:
    table = np.arange(12.0).reshape(6, 2)
    assert five_day_sums(daily=table) == pytest.approx(np.array([[20.0, 25.0], [30.0, 35.0]]))


def test_ratings_rise_with_heat_and_fall_a_class_after_a_cold_planting_day() -> None:
    ranks = [RATINGS.index(five_day_rating(dd60_sum=total)) for total in np.arange(0, 50.5, 0.5)]
    assert ranks == sorted(ranks)
    assert set(ranks) == set(range(6))
    assert five_day_rating(dd60_sum=50, is_cold_planting_day=True) == "very_good"
    assert five_day_rating(dd60_sum=2, is_cold_planting_day=True) == "very_poor"
