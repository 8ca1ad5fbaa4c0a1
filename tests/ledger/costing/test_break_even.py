"""Break-even price and yield against sums done by hand."""

from decimal import Decimal

import pytest

from ledger.costing.break_even import NoBreakEven, break_even_price, break_even_yield


def test_cost_over_yield_is_the_price_and_cost_over_price_the_yield() -> None:
    """785.90 an acre at 1,100 lb: 0.714454... a lb; at 0.75 a lb: 1,047.8666... lb (long division by hand)."""
    assert break_even_price(cost_cents=78_590, quantity=Decimal(1100)) == Decimal("0.7145")
    assert break_even_yield(cost_cents=78_590, price_e4=7_500) == Decimal("1047.867")


def test_one_undoes_the_other() -> None:
    """At the break-even price the break-even yield is the yield, to what rounding the price leaves."""
    price = break_even_price(cost_cents=12_345_678, quantity=Decimal("48200.5"))
    again = break_even_yield(cost_cents=12_345_678, price_e4=int(price * 10_000))
    assert abs(again - Decimal("48200.5")) < Decimal("48200.5") * Decimal("0.00005") / price + 1


def test_ties_go_to_the_even_digit() -> None:
    assert break_even_price(cost_cents=1, quantity=Decimal(200)) == Decimal("0.0000")
    assert break_even_price(cost_cents=3, quantity=Decimal(200)) == Decimal("0.0002")


@pytest.mark.parametrize(("cents", "quantity"), [(-1, 1), (1, 0), (1, -5)])
def test_no_price_comes_out_even_without_a_yield(cents: int, quantity: int) -> None:
    with pytest.raises(NoBreakEven, match="have no break-even price"):
        break_even_price(cost_cents=cents, quantity=Decimal(quantity))


@pytest.mark.parametrize(("cents", "price_e4"), [(-1, 1), (1, 0), (1, -5)])
def test_no_yield_comes_out_even_without_a_price(cents: int, price_e4: int) -> None:
    with pytest.raises(NoBreakEven, match="has no break-even yield"):
        break_even_yield(cost_cents=cents, price_e4=price_e4)
