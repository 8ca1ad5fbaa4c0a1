"""What owning a machine takes in a year, for management: what it loses in worth, and capital recovery.

None of it is a figure of any tax form. The remaining value is that of ASAE D497; no value stands above the price that
was paid. Money is Decimal dollars.
"""

import calendar
import datetime as dt
from decimal import Decimal, localcontext

from ledger.costing.machine_cost import MachineCostError
from ledger.costing.remaining_value import RemainingValue, remaining_value_pct

ENOUGH_DIGITS = 40
DAYS_A_YEAR = Decimal("365.25")
MOST_USD = Decimal(10_000_000)


def value_usd(
    *,
    list_price_usd: Decimal,
    paid_usd: Decimal,
    remaining: RemainingValue,
    age_years: Decimal,
    annual_h: Decimal,
) -> Decimal:
    """Return what a machine is still worth at an age and use, at most what was paid for it. [USD]

    Formula: list price x remaining value in percent / 100. List price 1 to 10 000 000, paid 0 to 10 000 000, age 0 to 60
    years from new, use 0 to 8760 h a year. Raises MachineCostError and RemainingValueError. Source: ASAE D497,
    remaining farm value.
    """
    if not 1 <= list_price_usd <= MOST_USD:
        raise MachineCostError(f"list_price_usd is {list_price_usd}; it lies between 1 and {MOST_USD}.")
    if not 0 <= paid_usd <= MOST_USD:
        raise MachineCostError(f"paid_usd is {paid_usd}; it lies between 0 and {MOST_USD}.")
    share_pct = remaining_value_pct(remaining=remaining, age_years=age_years, annual_h=annual_h)
    with localcontext() as context:
        context.prec = ENOUGH_DIGITS
        return min(list_price_usd * share_pct / 100, paid_usd)


def years_between(first_on: dt.date, last_on: dt.date) -> Decimal:
    """Return the years from a day to a later one, of 365.25 days each. [yr]

    Raises MachineCostError for a day that is not later. Source: the mean year of the Julian calendar.
    """
    if last_on < first_on:
        raise MachineCostError(f"{last_on} is before {first_on}.")
    with localcontext() as context:
        context.prec = ENOUGH_DIGITS
        return (last_on - first_on).days / DAYS_A_YEAR


def share_of_year(*, year: int, from_on: dt.date, until_on: dt.date) -> Decimal:
    """Return which part of a calendar year lies from a day up to, and without, another, by days. [1]

    0 where none of it does, 1 where all does. Source: actual days over the days of that year, as in the actual/actual
    day count of interest.
    """
    first, after = dt.date(year, 1, 1), dt.date(year + 1, 1, 1)
    days = (min(until_on, after) - max(from_on, first)).days
    with localcontext() as context:
        context.prec = ENOUGH_DIGITS
        return max(Decimal(days), Decimal(0)) / (366 if calendar.isleap(year) else 365)
