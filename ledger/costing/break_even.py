"""At which price, and at which yield, a crop pays for what it cost. Pure: no framework."""

from decimal import ROUND_HALF_EVEN, Decimal

from ledger.costing.refusals import CostingError

PRICE_STEP = Decimal("0.0001")
YIELD_STEP = Decimal("0.001")


class NoBreakEven(CostingError):
    """There is no price, or no yield, at which it comes out even."""


def break_even_price(*, cost_cents: int, quantity: Decimal) -> Decimal:
    """Return the price of one unit [USD] at which a yield [units, above zero] pays for a cost [cents, zero or more].

    To a hundredth of a cent, half to even. Raises NoBreakEven outside the range.
    Source: total cost divided by yield, as in any extension crop budget (common practice).
    """
    if cost_cents < 0 or not quantity > 0:
        raise NoBreakEven(f"A cost of {cost_cents} cents and a yield of {quantity} have no break-even price.")
    return (Decimal(cost_cents).scaleb(-2) / quantity).quantize(PRICE_STEP, rounding=ROUND_HALF_EVEN)


def break_even_yield(*, cost_cents: int, price_e4: int) -> Decimal:
    """Return the yield [units] that pays for a cost [cents, zero or more] at a price [0.0001 USD a unit, above zero].

    To a thousandth of the unit, half to even. Raises NoBreakEven outside the range.
    Source: total cost divided by price, as in any extension crop budget (common practice).
    """
    if cost_cents < 0 or price_e4 <= 0:
        raise NoBreakEven(f"A cost of {cost_cents} cents at a price of {price_e4} has no break-even yield.")
    return (Decimal(cost_cents) * 100 / Decimal(price_e4)).quantize(YIELD_STEP, rounding=ROUND_HALF_EVEN)
