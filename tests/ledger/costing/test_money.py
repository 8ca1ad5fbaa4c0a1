"""Money is whole cents: what is read, what is refused, and where a half goes."""

from decimal import ROUND_HALF_EVEN, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.costing.money import (
    MoneyError,
    cents_from,
    cents_of,
    divide_half_even,
    per_acre_usd,
    price_e4_from,
    price_e4_of,
    priced_cents,
    quantity_e4_from,
    usd_from,
    usd_said,
    usd_text,
)

CENTS = st.integers(min_value=-(10**12), max_value=10**12)


@pytest.mark.parametrize(
    ("amount", "cents"),
    [
        ("12.5", 1250),
        ("0", 0),
        ("-0", 0),
        ("-3.07", -307),
        (Decimal("1E+2"), 10_000),
        (Decimal("7.10000"), 710),
        (41, 4100),
        ("10000000000", 10**12),
    ],
)
def test_amounts_are_read_exactly(amount: str | int | Decimal, cents: int) -> None:
    assert cents_from(amount) == cents


@pytest.mark.parametrize("amount", ["12.345", "12.500", Decimal("0.001"), "-1.005"])
def test_three_decimals_are_refused_with_a_sentence(amount: str | Decimal) -> None:
    with pytest.raises(MoneyError, match="more than two decimals; nothing smaller than a cent is booked"):
        cents_from(amount)


@pytest.mark.parametrize(
    "amount",
    [
        *(
            "1,234.00",
            "$5",
            "1_000",
            "1e3",
            "NaN",
            "inf",
            "",
            " ",
            ".5",
            "5.",
            "٣",
            "１２",
            "0x10",
            "--1",
            "+1",
        ),
        *(Decimal("NaN"), Decimal("Infinity"), Decimal("1E+400"), 1.5, True, None),
        *("10000000000.01", "999999999999999"),
    ],
)
def test_what_is_no_plain_amount_is_refused(amount: object) -> None:
    with pytest.raises(MoneyError):
        cents_from(amount)  # type: ignore[arg-type]


def test_prices_take_four_decimals_and_nothing_below_zero() -> None:
    assert price_e4_from("3.2599") == 32_599
    assert price_e4_from("0") == 0
    with pytest.raises(MoneyError, match="more than four decimals"):
        price_e4_from("3.25991")
    with pytest.raises(MoneyError, match="negative"):
        price_e4_from("-0.01")


def test_quantities_are_exact_or_refused() -> None:
    assert quantity_e4_from(Decimal("12.125")) == 121_250
    with pytest.raises(MoneyError):
        quantity_e4_from(Decimal("0.00001"))


@given(CENTS)
def test_text_goes_there_and_back(cents: int) -> None:
    assert cents_from(usd_text(cents)) == cents
    assert cents_from(usd_from(cents)) == cents


@pytest.mark.parametrize(
    ("cents", "said"),
    [(0, "$0.00"), (7, "$0.07"), (-5, "−$0.05"), (1_234_567, "$12,345.67"), (-100_000_000, "−$1,000,000.00")],
)
def test_a_sentence_says_dollars_with_their_thousands_told_apart(cents: int, said: str) -> None:
    assert usd_said(cents) == said


@given(st.integers(-(10**15), 10**15), st.integers(1, 10**9))
def test_halves_go_to_the_even_neighbor_as_in_the_decimal_module(numerator: int, denominator: int) -> None:
    exact = Decimal(numerator) / Decimal(denominator)
    if exact * denominator == numerator:
        assert divide_half_even(numerator, denominator) == exact.quantize(
            Decimal(1), rounding=ROUND_HALF_EVEN
        )
    assert divide_half_even(-numerator, denominator) == -divide_half_even(numerator, denominator)
    assert abs(divide_half_even(numerator, denominator) * denominator - numerator) * 2 <= denominator


@pytest.mark.parametrize(("half", "even"), [(1, 0), (3, 2), (5, 2), (-1, 0), (-3, -2)])
def test_a_half_is_rounded_to_even(half: int, even: int) -> None:
    assert divide_half_even(half, 2) == even
    assert cents_of(Decimal(half) / 200) == even
    assert price_e4_of(Decimal(half) / 20_000) == even


def test_a_line_is_quantity_times_price() -> None:
    """By hand: 37 min at $18.50 are 11.408333; 12.125 gal at $3.2599 are 39.5262875; half cents go to even."""
    assert priced_cents(quantity_e4=37 * 10_000, unit="min", price_e4=185_000) == 1141
    assert priced_cents(quantity_e4=121_250, unit="gal", price_e4=32_599) == 3953
    assert priced_cents(quantity_e4=10_000, unit="lb", price_e4=50) == 0
    assert priced_cents(quantity_e4=30_000, unit="lb", price_e4=50) == 2


@given(CENTS, st.decimals(min_value="0.01", max_value="99999", places=2))
def test_per_acre_is_the_quotient_to_the_cent(cents: int, area_ac: Decimal) -> None:
    per_acre = per_acre_usd(cents=cents, area_ac=area_ac)
    assert abs(per_acre * area_ac - usd_from(cents)) <= area_ac * Decimal("0.005")
    assert per_acre.as_tuple().exponent == -2


def test_no_area_has_no_cost_per_acre() -> None:
    with pytest.raises(MoneyError, match="no cost per acre"):
        per_acre_usd(cents=100, area_ac=Decimal(0))
