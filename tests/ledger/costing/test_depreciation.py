"""Worth, age and parts of a year, for management."""

import datetime as dt
from decimal import Decimal

import pytest

from ledger.costing.depreciation import share_of_year, value_usd, years_between
from ledger.costing.machine_cost import MachineCostError
from ledger.costing.remaining_value import RemainingValue, RemainingValueError

BIG_TRACTOR = RemainingValue(Decimal("0.976"), Decimal("0.119"), Decimal("0.0019"))


def worth(**facts: Decimal) -> Decimal:
    asked = {
        "list_price_usd": Decimal(110_000),
        "paid_usd": Decimal(93_500),
        "age_years": Decimal(15),
        "annual_h": Decimal(400),
    }
    return value_usd(remaining=BIG_TRACTOR, **{**asked, **facts})


def test_the_formula_by_hand() -> None:
    """ASAE D497: 110,000 x (0.976 - 0.119 x sqrt 4 - 0.0019 x sqrt 400)^2 = 110,000 x 0.7^2."""
    assert worth(age_years=Decimal(4)) == Decimal("53900")


def test_the_worked_tractor_loses_68_200_over_its_life() -> None:
    """Iowa State University Extension A3-29, older edition: 93,500 less a salvage of 25,300, of a share rounded to 23 %."""
    assert abs(93_500 - worth() - 68_200) <= 550


def test_nothing_is_worth_more_than_was_paid_for_it() -> None:
    """New, the formula leaves 0.938^2 = 87.98 % of the list price, more than was paid."""
    assert worth(age_years=Decimal(0), paid_usd=Decimal(80_000)) == 80_000
    assert worth(age_years=Decimal(0)) == 93_500
    assert worth(age_years=Decimal(0), paid_usd=Decimal(110_000)) == Decimal("96782.840")


def test_a_year_is_365_and_a_quarter_days() -> None:
    assert years_between(dt.date(2020, 1, 1), dt.date(2024, 1, 1)) == 4
    assert years_between(dt.date(2026, 1, 1), dt.date(2026, 1, 1)) == 0
    with pytest.raises(MachineCostError, match="2025-12-31 is before 2026-01-01"):
        years_between(dt.date(2026, 1, 1), dt.date(2025, 12, 31))


@pytest.mark.parametrize(
    ("year", "from_on", "until_on", "days", "of"),
    [
        (2026, dt.date(2020, 5, 1), dt.date(2035, 5, 1), 365, 365),
        (2024, dt.date(2020, 5, 1), dt.date(2035, 5, 1), 366, 366),
        (2024, dt.date(2024, 3, 1), dt.date(2035, 5, 1), 306, 366),
        (2026, dt.date(2026, 7, 1), dt.date(2035, 5, 1), 184, 365),
        (2026, dt.date(2020, 5, 1), dt.date(2026, 1, 1), 0, 365),
        (2026, dt.date(2020, 5, 1), dt.date(2026, 1, 2), 1, 365),
        (2026, dt.date(2027, 1, 1), dt.date(2035, 5, 1), 0, 365),
        (2026, dt.date(2026, 12, 31), dt.date(2035, 5, 1), 1, 365),
    ],
)
def test_parts_of_a_year_go_by_days(
    year: int, from_on: dt.date, until_on: dt.date, days: int, of: int
) -> None:
    """Days counted on a calendar: from March 1 a year has 306, from July 1 184."""
    share = share_of_year(year=year, from_on=from_on, until_on=until_on)
    assert abs(share - Decimal(days) / of) < Decimal("1e-25")


@pytest.mark.parametrize(
    ("facts", "error", "says"),
    [
        ({"list_price_usd": Decimal(0)}, MachineCostError, "list_price_usd is 0"),
        ({"paid_usd": Decimal(-1)}, MachineCostError, "paid_usd is -1"),
        ({"age_years": Decimal(61)}, RemainingValueError, "age_years is 61"),
        ({"annual_h": Decimal(9000)}, RemainingValueError, "annual_h is 9000"),
    ],
)
def test_what_the_formula_does_not_cover_is_refused(
    facts: dict[str, Decimal], error: type[Exception], says: str
) -> None:
    with pytest.raises(error, match=says):
        worth(**facts)
