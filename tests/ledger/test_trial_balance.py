"""The trial balance and the general ledger: the columns agree, and every balance follows from the lines before it."""

import datetime as dt
from collections import defaultdict
from typing import Any

from django.db.models import Sum

from ledger.models import Account, Line
from ledger.selectors.chain import chain_head
from ledger.selectors.general_ledger import account_days, account_page, general_ledger
from ledger.selectors.trial_balance import trial_balance
from ledger.services.journal import reverse_entry
from ledger.services.periods import close_period
from ledger.services.posting import post_pending
from tests.ledger.makers import DAY, NEW_YEAR, NOON, Place, make_bill, make_place, make_work

YEAR_END = dt.date(2026, 12, 31)
IN_MAY = dt.datetime(2026, 5, 4, 16, tzinfo=dt.UTC)


def test_the_columns_of_a_small_farm_as_worked_by_hand(place: Place) -> None:
    """Two bills, one of them paid: 500.00 were asked, 350.00 of it paid.

    A trial balance lists what is left of each account on its side, and the sides agree. Source: double entry, common
    practice.
    """
    make_bill(place, "350.00", machine=place.machine, category="repairs", paid_on=DAY)
    make_bill(place, "150.00", category="fuel")
    post_pending(now=NOON)
    found = trial_balance(farm=place.farm, through=DAY)
    told = {row.account: (row.in_cents, row.out_cents) for row in found.rows if row.line_count}
    assert told == {
        Account.MACHINE_POOL: (350_00, 0),
        Account.FUEL_STOCK: (150_00, 0),
        Account.BILLS_OWED: (350_00, 500_00),
        Account.BANK: (0, 350_00),
    }
    sides = {row.account: (row.debit_cents, row.credit_cents) for row in found.rows if row.line_count}
    assert sides == {
        Account.MACHINE_POOL: (350_00, 0),
        Account.FUEL_STOCK: (150_00, 0),
        Account.BILLS_OWED: (0, 150_00),
        Account.BANK: (0, 350_00),
    }
    assert (found.debit_cents, found.credit_cents, found.difference_cents) == (500_00, 500_00, 0)
    assert [row.account for row in found.rows] == list(Account)  # also those at zero
    assert found.head == chain_head(farm=place.farm)


def test_it_counts_what_was_booked_by_its_day_and_nothing_of_another_farm(place: Place) -> None:
    make_bill(place, "10.00")
    make_bill(place, "20.00", bill_on=DAY + dt.timedelta(days=1))
    make_bill(make_place("fox-hollow"), "999.00")
    post_pending(now=NOON)
    days = [trial_balance(farm=place.farm, through=DAY + dt.timedelta(days=step)) for step in (-1, 0, 1)]
    assert [one.debit_cents for one in days] == [0, 10_00, 30_00]


def test_late_work_counts_in_the_month_that_it_is_booked_into(place: Place) -> None:
    make_bill(place, "10.00")
    close_period(farm=place.farm, month=DAY, now=IN_MAY)
    make_bill(place, "20.00", bill_on=DAY, number="late")
    post_pending(now=IN_MAY)
    assert trial_balance(farm=place.farm, through=dt.date(2026, 4, 30)).debit_cents == 10_00
    assert trial_balance(farm=place.farm, through=dt.date(2026, 5, 1)).debit_cents == 30_00
    late = list(general_ledger(farm=place.farm, account=Account.BILLS_OWED, first=NEW_YEAR, last=YEAR_END))[
        -1
    ]
    assert (late.booked_on, late.happened_on, late.balance_cents) == (dt.date(2026, 5, 1), DAY, -30_00)


def test_a_reversal_leaves_nothing_but_what_went_through(place: Place) -> None:
    make_bill(place, "10.00")
    post_pending(now=NOON)
    reverse_entry(entry=Line.objects.all()[0].entry, why="entered twice", now=NOON)
    found = trial_balance(farm=place.farm, through=DAY)
    assert (found.debit_cents, found.credit_cents) == (0, 0)
    owed = next(row for row in found.rows if row.account == Account.BILLS_OWED)
    assert (owed.line_count, owed.in_cents, owed.out_cents, owed.balance_cents) == (2, 10_00, 10_00, 0)


def test_each_line_of_an_account_has_the_balance_after_it(place: Place) -> None:
    make_bill(place, "10.00", number="A 1", paid_on=DAY, check_no="1001")
    make_bill(place, "-2.50", number="A 2", bill_on=DAY + dt.timedelta(days=2))
    make_bill(place, "40.00", number="A 0", bill_on=DAY - dt.timedelta(days=30))
    post_pending(now=NOON)
    lines = list(general_ledger(farm=place.farm, account=Account.BILLS_OWED, first=NEW_YEAR, last=YEAR_END))
    assert [(line.booked_on.isoformat(), line.cents, line.balance_cents) for line in lines] == [
        ("2026-03-21", -40_00, -40_00),
        ("2026-04-20", -10_00, -50_00),
        ("2026-04-20", 10_00, -40_00),
        ("2026-04-22", 2_50, -37_50),
    ]
    assert lines[2].source_says == "payment of Three Rivers Supply A 1"
    assert lines[2].says == "paid to Three Rivers Supply by check 1001"


def test_some_days_begin_with_the_balance_before_them_and_pages_go_on_from_it(place: Place) -> None:
    for day in range(5):
        make_bill(place, f"{day + 1}.00", number=str(day), bill_on=DAY + dt.timedelta(days=day))
    post_pending(now=NOON)
    asked: dict[str, Any] = {
        "farm": place.farm,
        "account": Account.BILLS_OWED,
        "first": DAY + dt.timedelta(days=2),
        "last": DAY + dt.timedelta(days=4),
    }
    days = account_days(**asked)
    assert (days.before_cents, days.line_count, days.cents, days.after_cents) == (-3_00, 3, -12_00, -15_00)
    whole = [line.balance_cents for line in general_ledger(**asked)]
    assert whole == [-6_00, -10_00, -15_00]
    for most in (1, 2, 3):
        found = [account_page(**asked, skip=skip, most=most) for skip in range(0, 6, most)]
        assert [line.balance_cents for _days, page in found for line in page] == whole
        assert {told for told, _page in found} == {days}


def test_both_come_to_what_the_lines_come_to(place: Place) -> None:
    make_work(place)
    make_bill(place, "350.00", machine=place.machine, category="repairs")
    post_pending(now=NOON)
    sums: dict[str, int] = defaultdict(int)
    for account, cents in Line.objects.values_list("account").annotate(Sum("cents")):
        sums[account] += cents
    rows = trial_balance(farm=place.farm, through=YEAR_END).rows
    assert {row.account.value: row.balance_cents for row in rows if row.line_count} == dict(sums)
    for account, cents in sums.items():
        lines = general_ledger(farm=place.farm, account=Account(account), first=NEW_YEAR, last=YEAR_END)
        assert [line.balance_cents for line in lines][-1] == cents
