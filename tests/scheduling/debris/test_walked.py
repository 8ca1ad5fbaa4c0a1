"""What a debris walk leaves, by hand, and the thinned rate against SciPy's gamma."""

import datetime as dt

import pytest
from scipy import stats

from scheduling.debris.rates import Counted, Node, RateError, field_rates
from scheduling.debris.walked import LEAST_LEFT, Walked, WalkedError, share_left

APRIL_18 = dt.date(2026, 4, 18)
DAY = dt.timedelta(days=1)


def test_a_walk_leaves_what_it_does_not_find_where_it_went() -> None:
    """By hand: of the whole ground 60 % found leave 0.4; of half of it 0.7; both, one after the other, 0.28."""
    whole, half = Walked(1, APRIL_18, 1.0), Walked(1, APRIL_18 + DAY, 0.5)
    assert share_left([whole], season_id=1, found_share=0.6) == pytest.approx(0.4)
    assert share_left([half], season_id=1, found_share=0.6) == pytest.approx(0.7)
    assert share_left([whole, half], season_id=1, found_share=0.6) == pytest.approx(0.28)
    assert share_left([], season_id=1, found_share=0.6) == 1


def test_a_walk_counts_from_its_day_on_and_for_its_season_only() -> None:
    walks = [Walked(1, APRIL_18, 1.0)]
    left = [share_left(walks, season_id=1, found_share=0.6, on=APRIL_18 + step * DAY) for step in (-1, 0, 1)]
    assert left == pytest.approx([1, 0.4, 0.4])
    assert share_left(walks, season_id=2, found_share=0.6) == 1


def test_nobody_finds_all() -> None:
    assert share_left([Walked(1, APRIL_18, 1.0)], season_id=1, found_share=1.0) == LEAST_LEFT


@pytest.mark.parametrize("share", [-0.1, 1.1, float("nan")])
def test_shares_are_of_a_whole(share: float) -> None:
    with pytest.raises(WalkedError, match="it is 0 to 1"):
        Walked(1, APRIL_18, share)
    with pytest.raises(WalkedError, match="it is 0 to 1"):
        share_left([], season_id=1, found_share=share)


def test_a_thinned_rate_is_the_gamma_of_a_smaller_scale() -> None:
    """scipy.stats.gamma: with one farm possible, shape 2 and mean 0.5, 3 punctures in 1,500 acres leave the field's rate
    gamma of shape 5 and rate 5.5; where 40 % is left, its scale is 0.4 / 5.5.
    """
    (rate,) = field_rates({"a": Counted(3, 1500.0)}, nodes=[Node(0.5, 2.0, 1.0)]).values()
    thinned, known = rate.thinned(0.4), stats.gamma(5, scale=0.4 / 5.5)
    assert thinned.mean == pytest.approx(known.mean())
    assert [thinned.quantile(p) for p in (0.1, 0.9)] == pytest.approx(known.ppf([0.1, 0.9]), rel=1e-3)
    assert thinned.chance_above(0.5) == pytest.approx(known.sf(0.5), abs=1e-3)
    for left in (0, 1.01, float("nan")):
        with pytest.raises(RateError, match="is left"):
            rate.thinned(left)
