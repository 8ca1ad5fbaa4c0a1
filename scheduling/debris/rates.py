"""How often a field punctures a tire: gamma-Poisson over the fields of a farm, so that one bad day damns no field.

The punctures of a field are Poisson with its own rate times the thousands of acres covered. The rates of a farm's
fields are gamma with a mean and a shape of the farm's own. Neither is known: both are taken from a list of
possibilities (`NODES`), each weighed by how well all fields' counts together agree with it, which is the negative
binomial. A field's rate is then a mixture of gammas, one for each possibility. The numbers of another field enter only
through those weights.

Model: Clayton and Kaldor, "Empirical Bayes estimates of age-standardized relative risks", Biometrics 43 (1987); here
mean and shape are averaged over and not fixed, since a farm has few punctures (from memory).
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

THOUSAND = 1000.0
MOST_COUNT = 10_000
MOST_AC = 10_000_000.0
EIGHT_OF_TEN = (0.1, 0.9)
"""The ends of the interval that is shown."""

MIDDLE_PER_1000_AC = 0.5
SPREAD_FACTOR = 4.5
"""What is believed of a farm before anything is counted: one puncture in 2,000 acres, give or take a factor of 4.5 (one
standard deviation). Farm judgement, no source; a few punctures of the farm's own outweigh it."""
SHAPES = (0.5, 1.0, 2.0, 4.0, 8.0, 16.0)
"""How alike a farm's fields may be: at 0.5 a few fields have all the debris, at 16 they differ by a quarter. All alike
likely beforehand. Farm judgement, no source."""
MEAN_STEPS = 51
STEPS_WIDE = 3.5
LEAST_WEIGHT = 1e-5
GRID = np.concatenate(
    [np.linspace(math.log(1e-12), math.log(1e-4), 128)[:-1], np.linspace(math.log(1e-4), math.log(1e3), 1408)]
)
"""Logarithms of rates at which the mixture is added up; what is shown is good to 1 part in 2,000."""


class RateError(ValueError):
    """Counts or acres of which no rate can be made."""


@dataclass(frozen=True)
class Node:
    """One possible farm: the mean of its fields' rates per 1,000 acres, the shape of their spread, and its weight."""

    mean: float
    shape: float
    weight: float


def _nodes() -> tuple[Node, ...]:
    steps = np.linspace(-STEPS_WIDE, STEPS_WIDE, MEAN_STEPS)
    return tuple(
        Node(MIDDLE_PER_1000_AC * SPREAD_FACTOR**step, shape, math.exp(-(step**2) / 2))
        for step in steps
        for shape in SHAPES
    )


NODES = _nodes()


@dataclass(frozen=True)
class Counted:
    """A field's punctures, and the acres that machines covered on it while they were counted.

    Acres covered after a walk count by the share of the debris that was left: on them a field's own rate was lower.
    """

    punctures: int
    covered_ac: float

    def __post_init__(self) -> None:
        if not 0 <= self.punctures <= MOST_COUNT:
            raise RateError(f"{self.punctures} punctures: a count is 0 to {MOST_COUNT:,}.")
        if not (math.isfinite(self.covered_ac) and 0 <= self.covered_ac <= MOST_AC):
            raise RateError(f"{self.covered_ac} acres covered: they are 0 to {MOST_AC:,.0f}.")

    @property
    def thousands(self) -> float:
        """Return the thousands of acres covered."""
        return self.covered_ac / THOUSAND

    @property
    def raw_per_1000_ac(self) -> float | None:
        """Return the punctures per 1,000 acres as counted; None where no acre was covered."""
        return self.punctures / self.thousands if self.covered_ac else None


@dataclass(frozen=True)
class FieldRate:
    """What may be believed of a field's punctures per 1,000 acres: a mixture of gammas (weights, shapes, rates)."""

    counted: Counted
    weights: np.ndarray
    shapes: np.ndarray
    rates: np.ndarray
    own_share: float
    """How much of the estimate is the field's own record, 0 to 1; the rest is the farm's."""

    @property
    def mean(self) -> float:
        """Return the expected punctures per 1,000 acres."""
        return float(np.sum(self.weights * self.shapes / self.rates))

    def quantile(self, share: float) -> float:
        """Return the rate below which the true one lies with that chance (0 < share < 1)."""
        if not 0 < share < 1:
            raise RateError(f"A chance is between 0 and 1, not {share}.")
        return float(math.exp(np.interp(share, self._below, GRID)))

    @cached_property
    def ends(self) -> tuple[float, float]:
        """The interval that is shown: the true rate lies in it in eight of ten chances."""
        low, high = EIGHT_OF_TEN
        return self.quantile(low), self.quantile(high)

    def chance_above(self, per_1000_ac: float) -> float:
        """Return the chance that the true rate is above that one."""
        if not per_1000_ac > 0:
            return 1.0
        return 1.0 - float(np.interp(math.log(per_1000_ac), GRID, self._below, left=0.0, right=1.0))

    def thinned(self, left: float) -> "FieldRate":
        """Return the rate where only that share of the debris is left, above 0 to 1: each gamma's scale times it.

        A gamma times a number is a gamma of the same shape (scale family). Raises RateError for another share.
        """
        if not 0 < left <= 1:
            raise RateError(f"The share of debris that is left is above 0 to 1, not {left}.")
        if left == 1:
            return self
        return replace(self, rates=self.rates / left)

    @cached_property
    def _below(self) -> np.ndarray:
        """The chance of a rate below each of GRID, by the trapezoid rule over the logarithm."""
        norms = self.shapes * np.log(self.rates) - np.array([math.lgamma(one) for one in self.shapes])
        heights = np.exp(
            norms[:, None] + self.shapes[:, None] * GRID - self.rates[:, None] * np.exp(GRID)
        )  # of the logarithm, hence shape and not shape - 1
        height = self.weights @ heights
        steps = (height[1:] + height[:-1]) / 2 * np.diff(GRID)
        below = np.concatenate([[0.0], np.cumsum(steps)])
        return below / below[-1]


@dataclass(frozen=True)
class FarmRate:
    """What may be believed of any field of a farm before its own record: a mixture of gammas (weights, shapes, rates).

    Rates are in thousands of acres. The arrays are of one length, and the weights add up to 1.
    """

    weights: np.ndarray
    shapes: np.ndarray
    rates: np.ndarray

    def of(self, counted: Counted) -> FieldRate:
        """Return what may be believed of a field with its own record beside the farm's."""
        with_own = self.rates + counted.thousands
        punctures = (
            counted.punctures if counted.covered_ac else 0
        )  # of acres that nobody reported they say nothing
        own_share = float(np.sum(self.weights * counted.thousands / with_own))
        return FieldRate(counted, self.weights, self.shapes + punctures, with_own, own_share)


def farm_rate(fields: Iterable[Counted], *, nodes: Sequence[Node] = NODES) -> FarmRate:
    """Return what may be believed of any field, from the punctures and acres of all.

    Counts are whole and 0 or more; acres 0 or more. `nodes` are the farms thought possible, with weights above 0 in any
    unit. Raises RateError for no nodes or numbers out of range.
    """
    if not nodes:
        raise RateError("At least one farm must be thought possible.")
    for one in nodes:
        if not (one.mean > 0 and one.shape > 0 and one.weight > 0):
            raise RateError(f"A possible farm has a mean, a shape and a weight above 0, not {one}.")
    shapes = np.array([one.shape for one in nodes])
    rates = shapes / np.array([one.mean for one in nodes])
    logs = np.log(np.array([one.weight for one in nodes]))
    logs = np.vstack([logs, _agreement([one for one in fields if one.covered_ac], shapes, rates)]).sum(axis=0)
    weights = np.exp(logs - logs.max())
    weights /= weights.sum()
    kept = weights > LEAST_WEIGHT
    return FarmRate(weights[kept] / weights[kept].sum(), shapes[kept], rates[kept])


def field_rates(fields: Mapping[str, Counted], *, nodes: Sequence[Node] = NODES) -> dict[str, FieldRate]:
    """Return what may be believed of each field's punctures per 1,000 acres, by its key.

    A field without any acres is believed to be like the farm. `nodes` as in `farm_rate`, which says what is refused.
    """
    farm = farm_rate(fields.values(), nodes=nodes)
    return {key: farm.of(counted) for key, counted in fields.items()}


def _agreement(fields: Sequence[Counted], shapes: np.ndarray, rates: np.ndarray) -> np.ndarray:
    """Return the logarithm of the chance of each field's count under each node: negative binomial; fields by nodes."""
    gammas = {n: _gammas(n, shapes) for n in {one.punctures for one in fields}}
    n = np.array([one.punctures for one in fields]).reshape(-1, 1)
    e = np.array([one.thousands for one in fields]).reshape(-1, 1)
    seen = np.array([gammas[one.punctures] for one in fields]).reshape(len(fields), len(shapes))
    return seen + shapes * np.log(rates / (rates + e)) + n * np.log(e / (rates + e))


def _gammas(n: int, shapes: np.ndarray) -> np.ndarray:
    return np.array([math.lgamma(one + n) - math.lgamma(one) for one in shapes]) - math.lgamma(n + 1)
