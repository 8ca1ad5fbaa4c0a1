"""What a hand's minutes cost: the wage, what overtime adds, and what payroll taxes and insurance add to both."""

import datetime as dt
from dataclasses import dataclass

from farmops.farms.models import Hand
from ledger.costing.labor import labor_charge
from ledger.costing.money import priced_cents
from ledger.models import Account, Category, Rate
from ledger.selectors.drafts import DraftLine
from ledger.selectors.rates import OF_WAGES, RateBook

MINUTES_E4 = 10_000


@dataclass(frozen=True)
class LaborCost:
    """One cost of a hand's time, not yet put anywhere, and the account that is owed it."""

    category: Category
    cents: int
    quantity_e4: int
    unit: str
    rate: Rate
    owed: Account
    says: str

    def line(self, place: DraftLine) -> DraftLine:
        """Return the cost on the place of a line that has no money yet."""
        return DraftLine(
            place.account,
            self.cents,
            self.category,
            season=place.season,
            machine=place.machine,
            implement=place.implement,
            operation=place.operation,
            quantity_e4=self.quantity_e4,
            unit=self.unit,
            price_e4=self.rate.price_e4,
            rate=self.rate,
            says=self.says,
        )


def labor_costs(
    *, hand: Hand, day: dt.date, hand_min: int, overtime_min: int = 0, says: str, book: RateBook
) -> list[LaborCost]:
    """Return what a hand's minutes on a day cost; raise NoRateOnDate where the wage is missing.

    The owner's time has neither overtime nor burden, and nobody is owed it.
    """
    if hand_min == 0:
        return []
    wage = book.wage(hand=hand, day=day)
    extra = None if hand.is_owner else book.overtime_extra(hand=hand, day=day)
    charge = labor_charge(
        hand_min=hand_min,
        overtime_min=overtime_min,
        wage_e4_per_h=wage.price_e4,
        overtime_extra_e4_per_h=extra.price_e4 if extra else 0,
    )
    category, owed = (
        (Category.OWNER_TIME, Account.OWNER_TIME) if hand.is_owner else (Category.LABOR, Account.WAGES_OWED)
    )
    costs = [LaborCost(category, charge.wage_cents, hand_min * MINUTES_E4, "min", wage, owed, says)]
    if extra is not None:
        minutes_e4, cents = overtime_min * MINUTES_E4, charge.overtime_extra_cents
        costs.append(LaborCost(Category.OVERTIME, cents, minutes_e4, "min", extra, owed, says))
    burden = None if hand.is_owner else book.burden(hand=hand, day=day)
    if burden is not None:
        costs.append(burden_cost(burden=burden, wages_cents=charge.cents, says=says))
    return costs


def burden_cost(*, burden: Rate, wages_cents: int, says: str) -> LaborCost:
    """Return what payroll taxes and insurance add to wages, rounded half to even to the cent."""
    wages_e4 = wages_cents * 100
    cents = priced_cents(quantity_e4=wages_e4, unit=OF_WAGES, price_e4=burden.price_e4)
    return LaborCost(
        Category.PAYROLL_BURDEN,
        cents,
        wages_e4,
        OF_WAGES,
        burden,
        Account.PAYROLL_OWED,
        f"on the wages: {says}",
    )
