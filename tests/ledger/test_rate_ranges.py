"""Prices that say how long they hold: none overlaps another, and after the last day there is none."""

import datetime as dt
from pathlib import Path

import pytest
from django.db import IntegrityError, transaction

from ledger.models import Rate
from ledger.selectors.rates import NoRateOnDate, rate_book
from ledger.services.rate_files import RatesFileRefused, load_rates
from ledger.services.rates import RateDiffers, RateRefused, set_rate
from tests.factories import make_hand
from tests.ledger.makers import NEW_YEAR, NOON, Place, make_place

MARCH_END = dt.date(2026, 3, 31)
APRIL = dt.date(2026, 4, 1)
MAY = dt.date(2026, 5, 1)
JUNE_END = dt.date(2026, 6, 30)


@pytest.fixture
def bare(db: None) -> Place:
    return make_place(rated=False)


def fuel(
    bare: Place, usd: str, first: dt.date, last: dt.date | None = None, *, corrects: bool = False
) -> Rate:
    rate, _new = set_rate(
        farm=bare.farm,
        kind="fuel",
        usd_per_unit=usd,
        valid_from=first,
        valid_until=last,
        corrects=corrects,
        now=NOON,
    )
    return rate


def test_a_price_ends_with_its_last_day_and_leaves_a_gap(bare: Place) -> None:
    fuel(bare, "3.10", NEW_YEAR, MARCH_END)
    fuel(bare, "3.40", MAY)
    book = rate_book(farm=bare.farm)
    assert book.fuel(day=MARCH_END).price_e4 == 31_000
    assert book.fuel(day=MAY).price_e4 == 34_000
    with pytest.raises(NoRateOnDate, match="No price of fuel holds on 2026-04-01"):
        book.fuel(day=APRIL)


def test_a_price_of_ones_own_that_has_ended_gives_way_to_that_for_all(bare: Place) -> None:
    for subject, usd, last in (("imani", "22", MARCH_END), ("", "18", None)):
        set_rate(
            farm=bare.farm,
            kind="wage",
            subject=subject,
            usd_per_unit=usd,
            valid_from=NEW_YEAR,
            valid_until=last,
            now=NOON,
        )
    book = rate_book(farm=bare.farm)
    assert book.wage(hand=bare.hand, day=MARCH_END).price_e4 == 220_000
    assert book.wage(hand=bare.hand, day=APRIL).price_e4 == 180_000


@pytest.mark.parametrize(
    ("first", "last"),
    [(NEW_YEAR + dt.timedelta(days=1), None), (MARCH_END, MAY), (dt.date(2025, 12, 1), NEW_YEAR)],
)
def test_a_price_that_would_hold_beside_another_is_refused_by_name(
    bare: Place, first: dt.date, last: dt.date | None
) -> None:
    fuel(bare, "3.10", NEW_YEAR, MARCH_END)
    with pytest.raises(RateDiffers) as refused:
        fuel(bare, "3.40", first, last)
    assert refused.value.says == (
        "The fuel of all from 2026-01-01 to 2026-03-31 holds at 3.1000 dollars a gal on days of this one; "
        "two prices of the same cannot overlap."
    )
    assert Rate.objects.count() == 1


def test_prices_that_follow_each_other_and_prices_of_others_are_no_overlap(bare: Place) -> None:
    make_hand(bare.farm, "odell")
    fuel(bare, "3.10", NEW_YEAR, MARCH_END)
    fuel(bare, "3.40", APRIL, JUNE_END)
    for subject in ("", "imani", "odell"):
        set_rate(
            farm=bare.farm,
            kind="wage",
            subject=subject,
            usd_per_unit="18",
            valid_from=APRIL,
            valid_until=JUNE_END,
            now=NOON,
        )
    assert Rate.objects.count() == 5


def test_a_correction_may_end_a_price_sooner_and_make_room(bare: Place) -> None:
    fuel(bare, "3.10", NEW_YEAR, MARCH_END)
    with pytest.raises(RateDiffers, match="cannot overlap"):
        fuel(bare, "3.20", dt.date(2026, 3, 1))
    fuel(bare, "3.10", NEW_YEAR, dt.date(2026, 2, 28), corrects=True)
    fuel(bare, "3.20", dt.date(2026, 3, 1))
    assert rate_book(farm=bare.farm).fuel(day=MARCH_END).price_e4 == 32_000


def test_a_correction_may_not_reach_into_the_next_price(bare: Place) -> None:
    fuel(bare, "3.10", NEW_YEAR, MARCH_END)
    fuel(bare, "3.40", APRIL)
    with pytest.raises(RateDiffers, match=r"fuel of all from 2026-04-01 holds at 3\.4000"):
        fuel(bare, "3.10", NEW_YEAR, MAY, corrects=True)


def test_the_database_refuses_an_overlap_by_itself(bare: Place) -> None:
    fuel(bare, "3.10", NEW_YEAR, MARCH_END)
    with pytest.raises(IntegrityError, match="overlaps another price"), transaction.atomic():
        Rate.objects.create(
            farm=bare.farm, kind="fuel", unit="gal", price_e4=1, valid_from=MARCH_END, entered_at=NOON
        )


def test_a_price_cannot_end_before_it_begins(bare: Place) -> None:
    with pytest.raises(RateRefused, match="from 2026-04-01 cannot end before, on 2026-03-31") as refused:
        fuel(bare, "3.10", APRIL, MARCH_END)
    assert "valid_until" in refused.value.fields


def test_a_repeat_with_another_last_day_is_another_price(bare: Place) -> None:
    fuel(bare, "3.10", NEW_YEAR, MARCH_END)
    with pytest.raises(RateDiffers, match="was set before"):
        fuel(bare, "3.10", NEW_YEAR, MAY)


def test_a_file_may_say_the_last_day_and_an_overlap_in_it_stores_nothing(bare: Place, tmp_path: Path) -> None:
    path = tmp_path / "rates.csv"
    path.write_text(
        "kind,subject,unit,usd_per_unit,valid_from,valid_until\n"
        "fuel,,gal,3.10,2026-01-01,2026-03-31\n"
        "payroll_burden,,,0.0765,2026-01-01,\n"
        "fuel,,gal,3.40,2026-04-01,\n",
        encoding="utf-8",
    )
    assert load_rates(farm=bare.farm, path=path, now=NOON).new == 3
    assert str(load_rates(farm=bare.farm, path=path, now=NOON)) == "0 new, 3 known before"
    path.write_text(
        "kind,subject,unit,usd_per_unit,valid_from,valid_until\n"
        "implement,,h,12,2026-01-01,2026-06-30\n"
        "implement,,h,13,2026-06-30,\n",
        encoding="utf-8",
    )
    with pytest.raises(RatesFileRefused) as refused:
        load_rates(farm=bare.farm, path=path, now=NOON)
    assert refused.value.says.startswith(
        "rates.csv, line 3: The implement of all from 2026-01-01 to 2026-06-30 holds at 12.0000 dollars a h"
    )
    assert Rate.objects.count() == 3


def test_payroll_burden_is_dollars_on_a_dollar_of_wages(bare: Place) -> None:
    """7.65 % is the employer's part of FICA (26 USC 3111), so 0.0765; as a percentage it would be a slip."""
    with pytest.raises(RateRefused, match=r"such as 0\.0765; 7\.65 is more than the wage"):
        set_rate(farm=bare.farm, kind="payroll_burden", usd_per_unit="7.65", valid_from=NEW_YEAR, now=NOON)
    rate, _new = set_rate(
        farm=bare.farm,
        kind="payroll_burden",
        subject="imani",
        usd_per_unit="0.0765",
        valid_from=NEW_YEAR,
        now=NOON,
    )
    assert (rate.hand, rate.unit, rate.price_e4) == (bare.hand, "$ of wages", 765)
