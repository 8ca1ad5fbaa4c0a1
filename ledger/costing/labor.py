"""What an hour of a hand costs."""

from dataclasses import dataclass

from ledger.costing.money import priced_cents
from ledger.costing.refusals import CostingError


class LaborError(CostingError):
    """Minutes that no day holds."""


@dataclass(frozen=True)
class LaborCharge:
    """Whole cents for the hours at the wage, and for what overtime adds to them."""

    wage_cents: int
    overtime_extra_cents: int

    @property
    def cents(self) -> int:
        """Return both together."""
        return self.wage_cents + self.overtime_extra_cents


def labor_charge(
    *, hand_min: int, overtime_min: int, wage_e4_per_h: int, overtime_extra_e4_per_h: int = 0
) -> LaborCharge:
    """Return the cost of a hand's minutes.

    `hand_min` 0 to 1440 of which `overtime_min` are overtime; prices in ten-thousandths of a dollar an hour. The
    overtime price is what is added to the wage, and 0 by default: farm work is exempt from the premium of the Fair
    Labor Standards Act, 29 USC 213(b)(12). Raises LaborError.
    """
    if not 0 <= overtime_min <= hand_min <= 1440:
        raise LaborError(f"{hand_min} minutes, {overtime_min} of them overtime, do not fit in a day.")
    return LaborCharge(
        wage_cents=priced_cents(quantity_e4=hand_min * 10_000, unit="min", price_e4=wage_e4_per_h),
        overtime_extra_cents=priced_cents(
            quantity_e4=overtime_min * 10_000, unit="min", price_e4=overtime_extra_e4_per_h
        ),
    )
