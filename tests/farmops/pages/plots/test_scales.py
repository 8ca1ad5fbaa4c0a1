"""Where days, hours and values stand in a drawing."""

import datetime as dt
import math
from itertools import pairwise

import pytest

from farmops.pages.plots.panels import band_paths, line_paths
from farmops.pages.plots.scales import (
    DayScale,
    NothingToDraw,
    ValueScale,
    number_said,
    runs,
    ticks,
    value_scale,
)

DAYS = tuple(dt.date(2026, 4, 13) + dt.timedelta(days=count) for count in range(17))


def test_days_share_the_width_and_hours_the_day() -> None:
    scale = DayScale(DAYS[:10])
    assert scale.at(0) == 0
    assert scale.at(10) == 100
    assert scale.at(2, 12) == 25
    assert scale.step == 10


def test_more_is_higher_and_hanging_scales_are_the_other_way_round() -> None:
    up, down = ValueScale(0, 10, 100), ValueScale(0, 10, 100, is_hanging=True)
    assert (up.at(0), up.at(10), up.at(2.5)) == (100, 0, 75)
    assert (down.at(0), down.at(10), down.at(2.5)) == (0, 100, 25)
    assert up.at(99) == 0


def test_a_scale_holds_all_that_is_known_and_no_more_than_a_step_around_it() -> None:
    scale = value_scale([0.132, math.nan, 0.211], height=100, step=0.02)
    assert (scale.low, scale.high) == pytest.approx((0.12, 0.22))
    flat = value_scale([0.5, 0.5], height=100, step=0.25)
    assert flat.high > flat.low


def test_nothing_known_is_nothing_to_draw() -> None:
    with pytest.raises(NothingToDraw):
        value_scale([math.nan], height=100, step=1)
    with pytest.raises(NothingToDraw):
        DayScale(())


@pytest.mark.parametrize(
    ("low", "high"), [(0.12, 0.22), (0.08, 0.3), (0, 0.5), (55, 80), (0, 2.25), (40, 45), (0, 0.02)]
)
def test_ticks_are_round_inside_and_evenly_apart(low: float, high: float) -> None:
    """Round: one, two, two and a half or five times a power of ten, the usual choice for axes (from memory)."""
    marks = ticks(ValueScale(low, high, 100))
    assert 2 <= len(marks) <= 6
    assert low - 1e-9 <= marks[0]
    assert marks[-1] <= high + 1e-9
    gaps = {round(b - a, 9) for a, b in pairwise(marks)}
    assert len(gaps) == 1
    leading = gaps.pop()
    assert round(leading / 10 ** math.floor(math.log10(leading)), 6) in (1, 2, 2.5, 5)


def test_a_line_breaks_off_where_a_value_is_missing() -> None:
    assert runs([1, math.nan, 2, 3]) == [range(0, 1), range(2, 4)]
    scale = ValueScale(0, 10, 100)
    assert line_paths([0, 10, 20, 30], [1, math.nan, 2, 3], scale) == ("200.0,80.0 300.0,70.0",)


def test_a_band_runs_along_the_upper_line_and_back_along_the_lower() -> None:
    scale = ValueScale(0, 10, 100)
    assert band_paths([0, 100], [1, 2], [3, 4], scale) == ("0.0,70.0 1000.0,60.0 1000.0,80.0 0.0,90.0",)


@pytest.mark.parametrize(
    ("value", "says"),
    [
        (0.0, "0"),
        (0.25, "0.25"),
        (12.0, "12"),
        (250_000.0, "250000"),
        (2.5e8, "250,000,000"),
        (1e6, "1,000,000"),
    ],
)
def test_a_number_beside_an_axis_has_all_its_digits(value: float, says: str) -> None:
    assert number_said(value) == says
