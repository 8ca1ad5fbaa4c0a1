"""Spent beside meant: every bar begins at zero, lengths are in proportion, and credits go to the other side."""

import math
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from farmops.pages.plots.pair_bars import HAIR, Pair, pair_panel, pair_scale

MONEY = st.floats(-500, 5000, allow_nan=False).map(lambda value: round(value, 2))
PAIRS = st.lists(
    st.builds(Pair, spent=MONEY, meant=MONEY | st.none(), says=st.just("seed")), min_size=1, max_size=12
)


def number(said: str) -> float:
    return float(said.removesuffix("%"))


@given(PAIRS)
def test_every_bar_begins_at_zero_and_is_as_long_as_its_dollars(pairs: list[Pair]) -> None:
    scale = pair_scale(pairs)
    panel = pair_panel(pairs, scale=scale)
    zero, unit = number(panel.zero_x), 100 / (scale.high - scale.low)
    assert 0 <= zero <= 100
    for pair, row in zip(pairs, panel.rows, strict=True):
        for value, x, width in (
            (pair.spent, row.spent_x, row.spent_width),
            (pair.meant, row.meant_x, row.meant_width),
        ):
            if not value:
                assert (x, width) == ("", "")
                continue
            assert math.isclose(number(width), max(abs(value) * unit, HAIR), abs_tol=0.011)
            begins = number(x) if value > 0 else number(x) + max(abs(value) * unit, 0)
            assert math.isclose(begins, zero, abs_tol=0.03)
        assert (row.meant_at == "") == (pair.meant is None)


@given(PAIRS)
def test_ticks_are_evenly_spaced_inside_the_drawing_and_rows_do_not_meet(pairs: list[Pair]) -> None:
    panel = pair_panel(pairs, scale=pair_scale(pairs))
    places = [number(at) for at, _said in panel.ticks]
    assert len(places) >= 2
    assert min(places) >= 0
    assert max(places) <= 100.01
    gaps = [later - sooner for sooner, later in pairwise(places)]
    assert max(gaps) - min(gaps) < 0.03
    assert all(int(sooner.stroke_foot) < int(later.text_y) - 8 for sooner, later in pairwise(panel.rows))


def test_two_crops_share_one_scale_so_that_their_bars_can_be_compared() -> None:
    cotton, corn = [Pair(120.0, 100.0, "Seed")], [Pair(30.0, None, "Seed")]
    scale = pair_scale([*cotton, *corn])
    widths = [number(pair_panel(some, scale=scale).rows[0].spent_width) for some in (cotton, corn)]
    assert widths[0] == 4 * widths[1] == 100


def test_a_year_without_a_cent_is_drawn_without_bars() -> None:
    panel = pair_panel([Pair(0.0, None, "Seed")], scale=pair_scale([Pair(0.0, None, "Seed")]))
    assert panel.rows[0].spent_x == panel.rows[0].meant_at == ""
