"""Sharing out to the cent."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.costing.allocation import AllocationError, share_out

WEIGHTS = st.dictionaries(
    st.text("abcdef0123456789-", min_size=1, max_size=6),
    st.decimals(min_value=0, max_value=5000, places=2),
    min_size=1,
    max_size=20,
).filter(lambda weights: any(weights.values()))
TOTALS = st.integers(-(10**10), 10**10)


@pytest.mark.parametrize(
    ("total", "weights", "parts"),
    [
        (10_000, [1, 1, 1], [3334, 3333, 3333]),
        # one cent over seven fields
        (1, [1] * 7, [1, 0, 0, 0, 0, 0, 0]),
        # the textbook case of ten seats, largest remainder by Hamilton's method, from memory
        (10, [47_000, 16_000, 15_900, 12_000, 6_000, 3_100], [5, 2, 1, 1, 1, 0]),
        (-10_000, [1, 1, 1], [-3334, -3333, -3333]),
        (0, [3, 4], [0, 0]),
        (101, [0, 5], [0, 101]),
    ],
)
def test_textbook_cases(total: int, weights: list[int], parts: list[int]) -> None:
    named = {f"f{index}": weight for index, weight in enumerate(weights)}
    assert list(share_out(total_cents=total, weights=named).values()) == parts


@given(TOTALS, WEIGHTS)
def test_parts_sum_to_the_total_and_are_within_a_cent_of_the_true_share(
    total: int, weights: dict[str, Decimal]
) -> None:
    parts = share_out(total_cents=total, weights=weights)
    assert sum(parts.values()) == total
    whole = sum(Fraction(weight) for weight in weights.values())
    for key, part in parts.items():
        assert abs(part - total * Fraction(weights[key]) / whole) < 1
        assert weights[key] or part == 0


@given(TOTALS, WEIGHTS)
def test_order_does_not_matter_and_the_negative_undoes_it(total: int, weights: dict[str, Decimal]) -> None:
    parts = share_out(total_cents=total, weights=weights)
    assert share_out(total_cents=total, weights=dict(reversed(weights.items()))) == parts
    assert share_out(total_cents=-total, weights=weights) == {key: -part for key, part in parts.items()}


@pytest.mark.parametrize(
    ("weights", "says"),
    [
        ({}, "nobody"),
        ({"a": 0, "b": Decimal(0)}, "All weights are zero"),
        ({"a": 1, "b": -1}, "zero or more"),
        ({"a": Decimal("NaN")}, "exact number"),
        ({"a": 0.5}, "exact number"),
    ],
)
def test_weights_that_tell_nothing_are_refused(weights: dict[str, Decimal], says: str) -> None:
    with pytest.raises(AllocationError, match=says):
        share_out(total_cents=100, weights=weights)
