"""What leaves a stock, and at which cost: textbook sums by hand, and that nothing is lost on the way."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.costing.stock import Draw, Layer, Stock, StockError, draw_actual, draw_average

UNIT = 10_000


def layer(key: int, quantity: int, usd_each: int, lot: str = "") -> Layer:
    return Layer(key, quantity * UNIT, quantity * usd_each * 100, lot)


def back_of(draw: Draw) -> Layer:
    return Layer(draw.key, draw.quantity_e4, draw.cents)


def test_first_in_first_out_by_hand() -> None:
    """The usual sum of a textbook (common practice, no source): 10 at $5, then 20 at $6; 15 leave.

    10 x 5 = 50.00 and 5 x 6 = 30.00, together 80.00; 15 x 6 = 90.00 are left.
    """
    stock = Stock().came(layer(1, 10, 5)).came(layer(2, 20, 6))
    draws, short_e4 = draw_actual(layers=stock.layers, quantity_e4=15 * UNIT)
    assert (draws, short_e4) == ([Draw(1, 10 * UNIT, 5_000), Draw(2, 5 * UNIT, 3_000)], 0)
    left = stock.drawn(draws)
    assert (left.held_e4, left.held_cents) == (15 * UNIT, 9_000)


def test_moving_average_by_hand() -> None:
    """The usual sum of a textbook (common practice, no source): 100 at $10 and 100 at $12 are 200 at $11.

    50 leave at 550.00, 150 at 1,650.00 are left; 50 more at $15 make 200 at 2,400.00, so 25 leave at $12: 300.00.
    """
    stock = Stock().came(layer(1, 100, 10)).came(layer(2, 100, 12))
    out = draw_average(held_e4=stock.held_e4, held_cents=stock.held_cents, quantity_e4=50 * UNIT)
    assert out == (50 * UNIT, 55_000, 0)
    stock = stock.went_at_average(50 * UNIT, 55_000)
    assert (stock.held_e4, stock.held_cents) == (150 * UNIT, 165_000)
    stock = stock.came(layer(3, 50, 15))
    out = draw_average(held_e4=stock.held_e4, held_cents=stock.held_cents, quantity_e4=25 * UNIT)
    assert out == (25 * UNIT, 30_000, 0)


def test_a_lot_leaves_before_what_is_older() -> None:
    stock = Stock().came(layer(1, 10, 5, "A")).came(layer(2, 20, 6, "B")).came(layer(3, 5, 7, "A"))
    draws, short_e4 = draw_actual(layers=stock.layers, quantity_e4=22 * UNIT, lot="B")
    assert (draws, short_e4) == ([Draw(2, 20 * UNIT, 12_000), Draw(1, 2 * UNIT, 1_000)], 0)
    draws, _short = draw_actual(layers=stock.layers, quantity_e4=12 * UNIT, lot="A")
    assert [draw.key for draw in draws] == [1, 3]


def test_thirds_of_a_dollar_leave_no_cent_behind() -> None:
    """By hand: 3 for $1.00; after one 33 cents are gone, after two 67 (66.67), after three 100."""
    stock = Stock().came(Layer(1, 3 * UNIT, 100))
    cents = []
    for _step in range(3):
        draws, _short = draw_actual(layers=stock.layers, quantity_e4=UNIT)
        cents.append(draws[0].cents)
        stock = stock.drawn(draws)
    assert cents == [33, 34, 33]
    assert (stock.held_e4, stock.held_cents) == (0, 0)


def test_what_is_short_is_said_and_costs_nothing() -> None:
    stock = Stock().came(layer(1, 10, 5))
    draws, short_e4 = draw_actual(layers=stock.layers, quantity_e4=12 * UNIT)
    assert (draws, short_e4) == ([Draw(1, 10 * UNIT, 5_000)], 2 * UNIT)
    assert draw_average(held_e4=10 * UNIT, held_cents=5_000, quantity_e4=12 * UNIT) == (
        10 * UNIT,
        5_000,
        2 * UNIT,
    )
    assert draw_average(held_e4=0, held_cents=0, quantity_e4=UNIT) == (0, 0, UNIT)


def test_a_purchase_that_comes_after_its_use_is_not_drawn_twice() -> None:
    """By hand: 40 used before the bill of 100 at $2.00 = 200.00 came; 60 are left, at 120.00."""
    stock = Stock().unpriced(40 * UNIT).came(layer(1, 100, 2))
    assert (stock.held_e4, stock.held_cents, stock.unmet_e4) == (60 * UNIT, 12_000, 0)
    stock = Stock().unpriced(40 * UNIT).came(layer(1, 30, 2))
    assert (stock.held_e4, stock.held_cents, stock.unmet_e4) == (0, 0, 10 * UNIT)


def test_a_purchase_entered_anew_keeps_what_was_drawn_of_it() -> None:
    """By hand: 100 bought, 42 used, the bill taken back and entered as 90: 90 - 42 = 48 are left."""
    stock = Stock().came(layer(1, 100, 2)).drawn([Draw(1, 42 * UNIT, 8_400)])
    stock = stock.drawn([Draw(1, 100 * UNIT, 20_000)])
    assert (stock.held_e4, stock.unmet_e4) == (0, 42 * UNIT)
    stock = stock.came(layer(2, 90, 3))
    assert (stock.held_e4, stock.held_cents, stock.unmet_e4) == (48 * UNIT, 14_400, 0)


def test_a_draw_undone_is_there_again_to_the_cent() -> None:
    stock = Stock().came(Layer(1, 7 * UNIT, 1_000))
    first, _short = draw_actual(layers=stock.layers, quantity_e4=2 * UNIT)
    stock = stock.drawn(first)
    second, _short = draw_actual(layers=stock.layers, quantity_e4=3 * UNIT)
    stock = stock.drawn(second).came_back(back_of(first[0]))
    assert (stock.held_e4, stock.held_cents) == (4 * UNIT, 1_000 - second[0].cents)


def test_a_year_at_the_average_leaves_every_lot_at_one_price() -> None:
    """By hand: 10 at $5 and 10 at $7 are 20 at $6; after 5 the lots of 5 and 10 hold 30.00 and 60.00."""
    stock = Stock().came(layer(1, 10, 5, "A")).came(layer(2, 10, 7, "B")).went_at_average(5 * UNIT, 3_000)
    assert [(one.lot, one.held_e4, one.held_cents) for one in stock.priced().layers] == [
        ("A", 5 * UNIT, 3_000),
        ("B", 10 * UNIT, 6_000),
    ]


@pytest.mark.parametrize("quantity_e4", [0, -1])
def test_nothing_and_less_leave_no_stock(quantity_e4: int) -> None:
    with pytest.raises(StockError, match="it is above zero"):
        draw_actual(layers=[], quantity_e4=quantity_e4)
    with pytest.raises(StockError, match="it is above zero"):
        draw_average(held_e4=1, held_cents=1, quantity_e4=quantity_e4)


QUANTITIES = st.integers(1, 5_000_000)
CAME = st.tuples(st.just("came"), QUANTITIES, st.integers(0, 10**7), st.sampled_from(["", "A", "B"]))
OUT = st.tuples(st.sampled_from(["actual", "average"]), QUANTITIES, st.just(0), st.sampled_from(["", "A"]))
UNDO = st.tuples(st.just("undo"), st.integers(0, 20), st.just(0), st.just(""))


@given(st.lists(CAME | OUT | UNDO, min_size=1, max_size=30))
def test_no_cent_and_no_quantity_is_lost_whatever_is_drawn_and_undone(
    steps: list[tuple[str, int, int, str]],
) -> None:
    """What came less what left is what is held, in quantity and money; and an empty stock holds no money."""
    stock, came_e4, came_cents, drawn = Stock(), 0, 0, list[Draw]()
    for key, (step, amount, cents, lot) in enumerate(steps):
        if step == "came":
            stock = stock.came(Layer(key, amount, cents, lot))
            came_e4, came_cents = came_e4 + amount, came_cents + cents
        elif step == "actual":
            draws, short_e4 = draw_actual(layers=stock.layers, quantity_e4=amount, lot=lot)
            assert sum(draw.quantity_e4 for draw in draws) + short_e4 == amount
            stock = stock.drawn(draws)
            drawn += draws
            came_e4 -= amount - short_e4
            came_cents -= sum(draw.cents for draw in draws)
        elif step == "average":
            out_e4, out_cents, _short = draw_average(
                held_e4=stock.held_e4, held_cents=stock.held_cents, quantity_e4=amount
            )
            if out_e4:
                stock = stock.went_at_average(out_e4, out_cents, lot)
            came_e4, came_cents = came_e4 - out_e4, came_cents - out_cents
        elif drawn:
            draw = drawn.pop(amount % len(drawn))
            stock = stock.came_back(back_of(draw))
            came_e4, came_cents = came_e4 + draw.quantity_e4, came_cents + draw.cents
        assert (stock.held_e4, stock.held_cents, stock.unmet_e4) == (came_e4, came_cents, 0)
        priced = stock.priced()
        assert (priced.held_e4, priced.held_cents) == (came_e4, came_cents)
        assert all(one.held_e4 > 0 and one.held_cents >= 0 for one in priced.layers)
        assert stock.held_e4 > 0 or stock.held_cents == 0
