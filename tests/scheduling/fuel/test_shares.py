"""Gallons shared out to the tenth."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.fuel import FuelError, share_gallons

TENTHS = st.integers(0, 10**6)
MINUTES = st.dictionaries(st.integers(0, 500), st.integers(0, 1440), min_size=1, max_size=20).filter(
    lambda minutes: any(minutes.values())
)


@pytest.mark.parametrize(
    ("gallons", "minutes", "parts"),
    [
        # the textbook case of ten seats, largest remainder by Hamilton's method, from memory
        ("1.0", [47_000, 16_000, 15_900, 12_000, 6_000, 3_100], ["0.5", "0.2", "0.1", "0.1", "0.1", "0.0"]),
        # worked by hand: 60.0 gal over 2 h 30, 5 h and 1 h 15 are 120/7, 240/7 and 60/7
        ("60.0", [150, 300, 75], ["17.1", "34.3", "8.6"]),
        ("0.1", [60, 60, 60], ["0.1", "0.0", "0.0"]),
        ("0", [60], ["0"]),
        # 5/3, 5/3 and 20/3 tenths: the same fraction of a tenth is left of each, so the first two keys get one each;
        # in binary fractions the third one's seems larger
        ("1.0", [1, 1, 4], ["0.2", "0.2", "0.6"]),
        ("25", [0, 90], ["0", "25"]),
    ],
)
def test_cases_worked_by_hand(gallons: str, minutes: list[int], parts: list[str]) -> None:
    shared = share_gallons(gallons=Decimal(gallons), minutes=dict(enumerate(minutes)))
    assert list(shared.values()) == [Decimal(part) for part in parts]


@given(TENTHS, MINUTES)
def test_the_parts_are_the_whole_and_within_a_tenth_of_the_true_share(
    tenths: int, minutes: dict[int, int]
) -> None:
    gallons = Decimal(tenths) / 10
    parts = share_gallons(gallons=gallons, minutes=minutes)
    assert sum(parts.values()) == gallons
    for key, part in parts.items():
        true = Fraction(tenths, 10) * minutes[key] / sum(minutes.values())
        assert abs(Fraction(part) - true) < Fraction(1, 10)
        assert minutes[key] or part == 0


@given(TENTHS, MINUTES)
def test_the_order_in_which_work_comes_does_not_matter(tenths: int, minutes: dict[int, int]) -> None:
    gallons = Decimal(tenths) / 10
    turned = dict(reversed(minutes.items()))
    assert share_gallons(gallons=gallons, minutes=turned) == share_gallons(gallons=gallons, minutes=minutes)


@pytest.mark.parametrize(
    ("gallons", "minutes", "says"),
    [
        ("1.25", {1: 5}, "tenths"),
        ("-0.1", {1: 5}, "0 or more"),
        ("NaN", {1: 5}, "tenths"),
        ("1", {1: 5, 2: -5}, "0 or more"),
        ("1", {1: 0}, "no minute"),
        ("1", {}, "no minute"),
    ],
)
def test_what_cannot_be_shared_is_refused(gallons: str, minutes: dict[int, int], says: str) -> None:
    with pytest.raises(FuelError, match=says):
        share_gallons(gallons=Decimal(gallons), minutes=minutes)
