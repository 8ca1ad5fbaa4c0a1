"""Sharing a whole amount out to the cent."""

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction

from ledger.costing.refusals import CostingError


class AllocationError(CostingError):
    """Weights over which nothing can be shared out."""


def share_out(*, total_cents: int, weights: Mapping[str, int | Decimal]) -> dict[str, int]:
    """Return each key's whole cents of a total, by weight; the parts always sum to the total.

    Largest remainder (the method of Hamilton): everybody gets the whole cents of the true share, the cents left over
    go one each to the biggest fractions, ties in the order of the keys. A negative total is shared as its positive
    and turned round, so that a reversal undoes every part. Weights are zero or more, finite, not all zero; a zero
    weight gets nothing. Raises AllocationError. Source: Hamilton 1792, as in any text on apportionment.
    """
    if not weights:
        raise AllocationError("There is nobody to share the amount out to.")
    exact: dict[str, Fraction] = {}
    for key in sorted(weights):
        weight = weights[key]
        if isinstance(weight, float) or (isinstance(weight, Decimal) and not weight.is_finite()):
            raise AllocationError(f"The weight of {key} is {weight!r}, not an exact number.")
        if weight < 0:
            raise AllocationError(f"The weight of {key} is {weight}; a weight is zero or more.")
        exact[key] = Fraction(weight)
    whole_weight = sum(exact.values())
    if whole_weight == 0:
        raise AllocationError("All weights are zero, so no share can be told from another.")
    size = abs(total_cents)
    true = {key: size * weight / whole_weight for key, weight in exact.items()}
    parts = {key: int(share) for key, share in true.items()}
    left = size - sum(parts.values())
    for key in sorted(true, key=lambda key: (parts[key] - true[key], key))[:left]:
        parts[key] += 1
    sign = -1 if total_cents < 0 else 1
    return {key: sign * parts[key] for key in weights}
