"""Punctures per 1,000 acres: against sums done by hand, scipy.stats and rates that were drawn and are known."""

import math
from typing import Any

import numpy as np
import pytest
from scipy import integrate, optimize, stats

from scheduling.debris.rates import NODES, Counted, Node, RateError, field_rates

ONE = (Node(mean=0.5, shape=2.0, weight=1.0),)
FARM = {
    "pond": Counted(0, 900.0),
    "gin": Counted(1, 400.0),
    "creek": Counted(5, 650.0),
    "new": Counted(0, 0.0),
}


def test_one_possible_farm_worked_by_hand() -> None:
    """By hand: shape 2 and mean 0.5 is a gamma of rate 4 thousand acres; 3 punctures in 1,000 acres make it a gamma of
    shape 5 and rate 5, so 1.0 per 1,000 acres, of which 1 part in 5 is the field's own 3.0 and 4 the farm's 0.5.
    """
    found = field_rates({"gin": Counted(3, 1000.0)}, nodes=ONE)["gin"]
    assert found.mean == pytest.approx(1.0, abs=1e-12)
    assert found.own_share == pytest.approx(0.2, abs=1e-12)
    assert found.counted.raw_per_1000_ac == 3.0


def test_two_possible_farms_worked_by_hand() -> None:
    """By hand: with shape 1 a count n in 1,000 acres has the chance r/(r+1) × (1/(r+1))^n. For n = 2, rate 1 gives 1/8 and
    rate 3 gives 3/64, so they weigh 8/11 and 3/11; the mean is 8/11 × 3/2 + 3/11 × 3/4 = 57/44.
    """
    nodes = (Node(mean=1.0, shape=1.0, weight=5.0), Node(mean=1 / 3, shape=1.0, weight=5.0))
    found = field_rates({"gin": Counted(2, 1000.0)}, nodes=nodes)["gin"]
    assert found.weights == pytest.approx([8 / 11, 3 / 11])
    assert found.mean == pytest.approx(57 / 44)


@pytest.mark.parametrize(("punctures", "covered_ac"), [(0, 250.0), (1, 80.0), (7, 3000.0), (40, 500.0)])
def test_quantiles_of_one_possible_farm_are_those_of_scipys_gamma(punctures: int, covered_ac: float) -> None:
    """Checked against scipy.stats.gamma."""
    found = field_rates({"gin": Counted(punctures, covered_ac)}, nodes=ONE)["gin"]
    exact = stats.gamma(2.0 + punctures, scale=1 / (4.0 + covered_ac / 1000))
    for share in (0.05, 0.1, 0.5, 0.9, 0.99):
        assert found.quantile(share) == pytest.approx(exact.ppf(share), rel=5e-4)
    for rate in (0.05, 0.4, 1.5, 6.0):
        assert found.chance_above(rate) == pytest.approx(exact.sf(rate), abs=5e-5)


def test_the_whole_farm_agrees_with_scipys_negative_binomial_and_a_finer_integral() -> None:
    """Weights by scipy.stats.nbinom and norm, the integral over the farm's mean by scipy.integrate.simpson."""
    found = field_rates(FARM)
    logs = np.linspace(math.log(0.5) - 4 * math.log(4.5), math.log(0.5) + 4 * math.log(4.5), 1601)
    whole, sums = 0.0, dict.fromkeys(FARM, 0.0)
    for shape in (0.5, 1.0, 2.0, 4.0, 8.0, 16.0):
        rate = shape / np.exp(logs)
        weight = stats.norm(math.log(0.5), math.log(4.5)).pdf(logs)
        for one in FARM.values():
            if one.covered_ac:
                weight = weight * stats.nbinom(shape, rate / (rate + one.covered_ac / 1000)).pmf(
                    one.punctures
                )
        whole += integrate.simpson(weight, x=logs)
        for key, one in FARM.items():
            mean = (shape + one.punctures) / (rate + one.covered_ac / 1000)
            sums[key] += integrate.simpson(weight * mean, x=logs)
    for key in FARM:
        assert found[key].mean == pytest.approx(sums[key] / whole, rel=0.002), key


def test_the_interval_of_every_field_is_that_of_scipys_mixture_of_gammas() -> None:
    """Weights by scipy.stats.nbinom, the mixture's distribution by scipy.stats.gamma, its quantiles by scipy.optimize."""
    found = field_rates(FARM)
    shapes = np.array([one.shape for one in NODES])
    rates = shapes / np.array([one.mean for one in NODES])
    weights = np.array([one.weight for one in NODES])
    for one in FARM.values():
        if one.covered_ac:
            e = one.covered_ac / 1000
            weights = weights * stats.nbinom(shapes, rates / (rates + e)).pmf(one.punctures)
    weights = weights / weights.sum()
    for key, one in FARM.items():
        mixed = stats.gamma(shapes + one.punctures, scale=1 / (rates + one.covered_ac / 1000))

        def below(log_rate: float, of: Any = mixed) -> float:
            return float(np.sum(weights * of.cdf(math.exp(log_rate))))

        for share in (0.1, 0.5, 0.9):
            exact = math.exp(optimize.brentq(lambda x: below(x) - share, -25, 6))  # noqa: B023  (asked at once)
            assert found[key].quantile(share) == pytest.approx(exact, rel=0.005), (key, share)
        assert found[key].chance_above(1.0) == pytest.approx(1 - below(0.0), abs=5e-4)


def test_there_is_always_a_rate_above_none() -> None:
    found = field_rates(FARM)["gin"]
    assert (found.chance_above(0.0), found.chance_above(-1.0), found.chance_above(1e9)) == (1.0, 1.0, 0.0)


def test_punctures_on_acres_that_nobody_reported_say_nothing_of_the_rate() -> None:
    """Work may come in later than the flat tire: until then the field is believed to be like the farm."""
    with_some = field_rates({**FARM, "new": Counted(4, 0.0)})
    assert with_some["new"].mean == pytest.approx(field_rates(FARM)["new"].mean)
    assert with_some["new"].own_share == 0


def test_a_farm_of_one_field_without_a_puncture_is_believed_better_the_more_of_it_was_covered() -> None:
    means = [
        field_rates({"only": Counted(0, acres)})["only"].mean for acres in (0.0, 40.0, 4000.0, 400_000.0)
    ]
    assert means == sorted(means, reverse=True)
    assert 0 < means[-1] < 0.01


def test_one_bad_day_damns_no_field() -> None:
    """Raw, one puncture in 40 acres is 25 per 1,000; beside 4,000 clean acres it is believed to be a small part of that."""
    farm = {f"clean-{number}": Counted(0, 400.0) for number in range(10)} | {"bad-day": Counted(1, 40.0)}
    found = field_rates(farm)
    assert found["bad-day"].counted.raw_per_1000_ac == 25.0
    assert found["clean-1"].mean < found["bad-day"].mean < 2.5
    assert found["bad-day"].own_share < 0.15


def test_a_record_of_its_own_outweighs_the_farm() -> None:
    farm = {f"clean-{number}": Counted(0, 400.0) for number in range(10)} | {"gin": Counted(24, 6000.0)}
    found = field_rates(farm)["gin"]
    assert 3.4 < found.mean < 4.0
    assert found.own_share > 0.85
    assert found.quantile(0.1) < found.mean < found.quantile(0.9)


def test_a_field_never_worked_is_believed_to_be_like_the_farm_and_less_surely() -> None:
    found = field_rates(FARM)
    assert found["new"].own_share == 0
    assert found["new"].counted.raw_per_1000_ac is None
    others = [found[key].mean for key in ("pond", "gin", "creek")]
    assert min(others) < found["new"].mean < max(others)
    wide = found["new"].quantile(0.9) / found["new"].quantile(0.1)
    assert wide > found["creek"].quantile(0.9) / found["creek"].quantile(0.1)


def drawn(draw: np.random.Generator, mean: float, shape: float) -> tuple[int, float, float]:
    """Draw eight fields; return how many intervals hold the true rate, and the squared misses, shrunken and raw."""
    true = draw.gamma(shape, mean / shape, 8)
    acres = draw.uniform(100, 1500, 8)
    counts = draw.poisson(true * acres / 1000)
    found = field_rates({str(i): Counted(int(counts[i]), float(acres[i])) for i in range(8)})
    inside = 0
    shrunken = raw = 0.0
    for index in range(8):
        one = found[str(index)]
        inside += one.quantile(0.1) <= true[index] <= one.quantile(0.9)
        shrunken += (one.mean - true[index]) ** 2
        raw += (counts[index] / acres[index] * 1000 - true[index]) ** 2
    return inside, shrunken, raw


def test_of_farms_as_they_are_thought_possible_eight_of_ten_intervals_hold_the_true_rate() -> None:
    """Mean and shape drawn from the possibilities, then rates and counts from numpy's gamma and Poisson; fixed seed."""
    draw = np.random.default_rng(20261126)
    weights = np.array([one.weight for one in NODES])
    picked = draw.choice(len(NODES), size=75, p=weights / weights.sum())
    inside = sum(drawn(draw, NODES[at].mean, NODES[at].shape)[0] for at in picked)
    assert inside / 600 == pytest.approx(0.8, abs=0.04)


def test_the_estimate_misses_by_less_than_half_of_what_the_raw_rate_does() -> None:
    draw = np.random.default_rng(20261126)
    misses = [drawn(draw, 0.8, 2.0)[1:] for _farm in range(25)]
    assert sum(one[0] for one in misses) < sum(one[1] for one in misses) / 2


def test_the_order_and_the_names_of_fields_do_not_matter() -> None:
    turned = field_rates(dict(reversed(FARM.items())))
    for key, one in field_rates(FARM).items():
        assert turned[key].mean == pytest.approx(one.mean, rel=1e-12)


def test_numbers_that_no_field_has_are_refused() -> None:
    for punctures, covered_ac in ((-1, 10.0), (1, -0.5), (1, math.nan), (1, math.inf), (10_001, 1.0)):
        with pytest.raises(RateError):
            Counted(punctures, covered_ac)
    with pytest.raises(RateError, match="possible"):
        field_rates(FARM, nodes=())
    with pytest.raises(RateError, match="above 0"):
        field_rates(FARM, nodes=(Node(1.0, 0.0, 1.0),))
    with pytest.raises(RateError, match="between"):
        field_rates(FARM)["gin"].quantile(1.0)


def test_no_farm_at_all_has_no_rates() -> None:
    assert field_rates({}) == {}
    assert sum(one.weight for one in NODES) > 0
