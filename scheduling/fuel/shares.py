"""Sharing gallons out so that the parts are the whole."""

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction

TENTH = Decimal("0.1")


class FuelError(ValueError):
    """Numbers of fuel that make no sense."""


def share_gallons(*, gallons: Decimal, minutes: Mapping[int, int]) -> dict[int, Decimal]:
    """Return each key's gallons in tenths, by its minutes; the parts always sum to the whole.

    Largest remainder (the method of Hamilton): everybody gets the whole tenths of the true share, the tenths left over
    go one each to the biggest fractions, ties to the smaller key. `gallons` is 0 or more, in tenths; minutes are 0 or
    more, not all 0; 0 minutes get nothing. Raises FuelError.
    """
    if not gallons.is_finite() or gallons < 0 or gallons != gallons.quantize(TENTH):
        raise FuelError(f"{gallons} gallons: fuel is shared in tenths of a gallon, 0 or more")
    if any(one < 0 for one in minutes.values()):
        raise FuelError("minutes are 0 or more")
    whole_min = sum(minutes.values())
    if whole_min == 0:
        raise FuelError("no minute was run, so no share can be told from another")
    size = int(gallons * 10)
    true = {key: Fraction(size * one, whole_min) for key, one in minutes.items()}
    parts = {key: int(share) for key, share in true.items()}
    left = size - sum(parts.values())
    for key in sorted(true, key=lambda key: (parts[key] - true[key], key))[:left]:
        parts[key] += 1
    return {key: part * TENTH for key, part in parts.items()}
