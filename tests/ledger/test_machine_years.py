"""Owning machines: worth and recovery of a year, booked once into the pool, and never anything of a tax form."""

import datetime as dt
import io
import uuid
from decimal import Decimal
from pathlib import Path

import numpy_financial
import pytest
from django.core.management import CommandError, call_command

from ledger.exports.journal_csv import write_journal
from ledger.exports.journal_file import import_journal
from ledger.models import Account, Entry, Line, MachineCostFacts, MachineYear, PeriodMark
from ledger.selectors.fixed_costs import Owned, fixed_costs, left_to_book
from ledger.selectors.pools import Pool, PoolKind, pool_balances, pool_costs
from ledger.selectors.sources import key_of
from ledger.services.journal import reverse_entry
from ledger.services.machine_years import MachineYearRefused, book_machine_year, book_machine_years
from ledger.services.periods import PeriodClosedError, close_period, reopen_period
from ledger.services.posting import post_pending
from ledger.services.share_outs import share_out_pool
from ledger.services.verify import verify_ledger
from tests.ledger.makers import Place, make_bill, make_place, make_work

NEXT_YEAR = dt.datetime(2027, 1, 15, 16, tzinfo=dt.UTC)
YEARS_END = dt.date(2026, 12, 31)


@pytest.fixture
def place(db: None) -> Place:
    return make_place()


def make_facts(place: Place, **facts: object) -> MachineCostFacts:
    """Bought new on January 1, 2022 for 130,000; 15 years at 400 h; 8 % interest."""
    return MachineCostFacts.objects.create(
        farm=place.farm,
        **{
            "machine": place.machine,
            "cost_class": "tractor_2wd",
            "list_price_cents": 150_000_00,
            "paid_cents": 130_000_00,
            "bought_on": dt.date(2022, 1, 1),
            "bought_at_h": Decimal(0),
            "life_h": Decimal(6_000),
            "annual_h": Decimal(400),
            "interest_pct": Decimal(8),
            "insurance_housing_pct": Decimal(1),
            "repair_rf1_factor": Decimal("0.007"),
            "repair_rf2_factor": Decimal("2.0"),
            "entered_at": NEXT_YEAR,
            **facts,
        },
    )


def owned(place: Place, year: int = 2026) -> Owned:
    found = fixed_costs(farm=place.farm, year=year)[0].owned
    assert found is not None
    return found


def test_the_worked_tractor_in_a_year(place: Place) -> None:
    """Iowa State University Extension A3-29, from memory: factor .117, recovery 13,934 and taxes, insurance and housing
    823 a year, 36.89 an hour; the example rounds the remaining value to 23 %, hence 0.3 %. Worth by ASAE D497 by hand:
    150,000 x (0.976 - 0.119 x sqrt n - 0.0019 x 20)^2 after 4 years of 365.25 days is 150,000 x 0.7^2 = 73,500."""
    make_facts(place)
    one = owned(place)
    assert float(one.recovery_factor) == pytest.approx(0.117, abs=0.0005)
    assert float(one.recovery_usd) == pytest.approx(13_934, rel=0.003)
    assert float(one.insurance_housing_usd) == pytest.approx(823, rel=0.003)
    assert float(one.per_h_usd) == pytest.approx(36.89, rel=0.003)
    assert one.year_share == 1
    assert one.value_start_usd == Decimal(73_500)
    assert 66_000 < one.value_end_usd < 68_000
    assert one.depreciation_usd == one.value_start_usd - one.value_end_usd
    salvage = 150_000 * (0.938 - 0.119 * 15**0.5) ** 2
    assert float(one.recovery_usd) == pytest.approx(
        -numpy_financial.pmt(0.08, 15, 130_000, -salvage), rel=1e-9
    ), "a second library's payment on the price less the worth at the end"


def test_a_used_machine_is_as_old_as_its_hours_when_it_was_bought(place: Place) -> None:
    """By hand: 2,000 h at 400 a year are 5 years, and 4 since: 150,000 x (0.976 - 0.119 x sqrt 9 - 0.0019 x 20)^2."""
    make_facts(place, bought_at_h=Decimal(2_000))
    assert owned(place).value_start_usd == Decimal("50634.15")


def test_years_from_purchase_to_the_end_of_life_lose_what_was_paid_less_what_is_left(place: Place) -> None:
    make_facts(place)
    years = [owned(place, year) for year in range(2022, 2037)]
    assert sum(one.depreciation_usd for one in years) == 130_000 - years[-1].value_end_usd
    assert all(one.depreciation_usd >= 0 for one in years)
    assert owned(place, 2022).value_start_usd == 130_000


def test_the_year_of_purchase_and_the_last_go_by_days(place: Place) -> None:
    """From July 1 a year has 184 days; 15 years of 365.25 days are 5,478 whole days, to June 30, 2037: 180
    days of that year lie before."""
    make_facts(place, bought_on=dt.date(2022, 7, 1))
    whole = owned(place, 2026)
    assert round(owned(place, 2022).year_share * 365, 20) == 184
    assert abs(owned(place, 2022).recovery_usd - whole.recovery_usd * 184 / 365) < Decimal("0.0001")
    assert whole.until_on == dt.date(2037, 6, 30)
    assert round(owned(place, 2037).year_share * 365, 20) == 180
    assert owned(place, 2038).recovery_usd == 0


def test_without_cost_facts_it_says_what_lacks(place: Place) -> None:
    make_facts(place, bought_on=dt.date(2027, 2, 1))
    machine, implement = fixed_costs(farm=place.farm, year=2026)
    assert (machine.owned, implement.owned) == (None, None)
    assert machine.lacks == "No price, life and yearly hours of tractor-1 are known for 2026."
    with pytest.raises(MachineYearRefused, match="enter its cost facts first"):
        book_machine_year(farm=place.farm, thing=place.machine, year=2026, now=NEXT_YEAR)


def test_a_year_goes_into_the_pool_once_against_an_account_no_bill_knows(place: Place) -> None:
    make_facts(place)
    cents = round(owned(place).recovery_usd * 100)
    row, is_new = book_machine_year(farm=place.farm, thing=place.machine, year=2026, now=NEXT_YEAR)
    again, is_new_again = book_machine_year(farm=place.farm, thing=place.machine, year=2026, now=NEXT_YEAR)
    assert (is_new, is_new_again, again) == (True, False, row)
    entry = Entry.objects.get(machine_year=row)
    assert (entry.happened_on, entry.source_key) == (YEARS_END, "tractor-1 2026")
    lines = [(line.account, line.category, line.cents) for line in entry.lines.all()]
    assert lines == [
        (Account.MACHINE_POOL, "ownership", cents),
        (Account.OWNERSHIP, "ownership", -cents),
    ]
    assert [dict(pool.by_category) for pool in pool_balances(farm=place.farm, through=YEARS_END)] == [
        {"ownership": cents}
    ]
    assert fixed_costs(farm=place.farm, year=2026)[0].booked == row
    assert verify_ledger(farm=place.farm).faults == []


def test_with_owning_in_it_the_rest_of_a_pool_is_what_the_hours_came_to_more_or_less(place: Place) -> None:
    """By hand: 400 h charged by EP496 at ownership and repairs pay recovery, insurance and housing, and repairs; with a
    bill for each the pool comes out at nothing but the cents of rounding, and the rest goes back by hours."""
    make_facts(place)
    for _day in range(80):
        make_work(place, implement=None, machine_min=300)
    post_pending(farm=place.farm, now=NEXT_YEAR)
    [charged] = pool_balances(farm=place.farm, through=YEARS_END)
    repairs, oil = -charged.by_category["repairs"], -charged.by_category["lubricants"]
    insurance = round(owned(place).insurance_housing_usd * 100)
    for category, cents in (("repairs", repairs + 100), ("lubricants", oil), ("insurance", insurance)):
        make_bill(place, f"{Decimal(cents) / 100:.2f}", machine=place.machine, category=category)
    book_machine_year(farm=place.farm, thing=place.machine, year=2026, now=NEXT_YEAR)
    post_pending(farm=place.farm, now=NEXT_YEAR)
    [pool] = pool_costs(farm=place.farm)
    assert abs(pool.left_cents - 100) <= 80, (
        "half a cent for each of 80 charges of two parts, and a dollar of repairs"
    )
    outcome = share_out_pool(
        farm=place.farm,
        client_id=uuid.uuid4(),
        pool=Pool(PoolKind.MACHINE, place.machine, {}),
        shared_by="hours",
        crop_year=2026,
        first_on=dt.date(2026, 1, 1),
        last_on=YEARS_END,
        why="rest of the year",
        now=NEXT_YEAR,
    )
    assert outcome.total_cents == pool.left_cents
    assert pool_costs(farm=place.farm)[0].left_cents == 0


def test_a_year_that_was_booked_wrong_is_reversed_and_booked_anew_at_what_is_right(place: Place) -> None:
    """Recovery at 5 % is less than at 8 %: the pool holds what the newest row says, and each row keeps its own key."""
    make_facts(place)
    row, _new = book_machine_year(farm=place.farm, thing=place.machine, year=2026, now=NEXT_YEAR)
    reverse_entry(entry=Entry.objects.get(machine_year=row), why="interest was wrong", now=NEXT_YEAR)
    assert fixed_costs(farm=place.farm, year=2026)[0].booked is None
    make_facts(place, interest_pct=Decimal(5), correction_no=1)
    anew, is_new = book_machine_year(farm=place.farm, thing=place.machine, year=2026, now=NEXT_YEAR)
    assert (is_new, anew.correction_no, anew.pk != row.pk) == (True, 1, True)
    assert anew.recovery_cents == round(owned(place).recovery_usd * 100) < row.recovery_cents
    assert book_machine_year(farm=place.farm, thing=place.machine, year=2026, now=NEXT_YEAR) == (anew, False)
    assert fixed_costs(farm=place.farm, year=2026)[0].booked == anew
    [pool] = pool_balances(farm=place.farm, through=YEARS_END)
    assert pool.left_cents == anew.recovery_cents
    keys = (
        Entry.objects.filter(machine_year__isnull=False)
        .order_by("number")
        .values_list("source_key", flat=True)
    )
    assert list(keys) == ["tractor-1 2026", "tractor-1 2026 1"]
    assert verify_ledger(farm=place.farm).faults == []


def test_keys_of_machine_years_stay_apart_however_long_the_code_is(place: Place) -> None:
    place.machine.code = "x" * 40
    rows = [MachineYear(machine=place.machine, calendar_year=2026, correction_no=number) for number in (0, 1)]
    keys = [key_of(row) for row in rows]
    assert keys == ["x" * 35 + " 2026", "x" * 33 + " 2026 1"]


def test_a_year_that_is_not_over_or_shut_or_past_its_life_is_refused(place: Place) -> None:
    make_facts(place)
    with pytest.raises(MachineYearRefused, match="2027 is not over; owning tractor-1 is booked once it is"):
        book_machine_year(farm=place.farm, thing=place.machine, year=2027, now=NEXT_YEAR)
    PeriodMark.objects.create(
        farm=place.farm, month=dt.date(2026, 12, 1), turn=1, is_close=True, made_at=NEXT_YEAR
    )
    with pytest.raises(PeriodClosedError, match="2026-12-31 is in a closed month"):
        book_machine_year(farm=place.farm, thing=place.machine, year=2026, now=NEXT_YEAR)
    make_facts(place, bought_on=dt.date(2023, 1, 1), life_h=Decimal(800))
    with pytest.raises(MachineYearRefused, match="The planned life of tractor-1 ended on 2024-12-31"):
        book_machine_year(farm=place.farm, thing=place.machine, year=2026, now=NEXT_YEAR)
    assert not MachineYear.objects.exists()


def test_all_of_a_farm_are_booked_in_one_go_and_the_rest_is_named(place: Place) -> None:
    make_facts(place)
    done = book_machine_years(farm=place.farm, year=2026, now=NEXT_YEAR)
    assert [str(row) for row in done.booked] == ["tractor-1 in 2026"]
    assert done.left_out == ["No price, life and yearly hours of disk-1 are known for 2026."]
    again = book_machine_years(farm=place.farm, year=2026, now=NEXT_YEAR)
    assert (again.booked, again.known) == ([], done.booked)
    assert Line.objects.filter(account=Account.OWNERSHIP).count() == 1


def test_the_command_says_each_step_and_books_once(place: Place) -> None:
    make_facts(place, bought_on=dt.date(2020, 1, 1))
    out, err = io.StringIO(), io.StringIO()
    call_command("machine_year", farm="heron-slough", year=2024, dry_run=True, stdout=out)
    assert "For management, not for taxes." in out.getvalue()
    assert "tractor-1: worth 73500.00 to " in out.getvalue()
    assert not MachineYear.objects.exists()
    call_command("machine_year", farm="heron-slough", year=2024, stdout=out, stderr=err)
    assert "1 booked, 0 known before, 1 left out." in out.getvalue()
    assert "left out: No price, life and yearly hours of disk-1" in err.getvalue()
    with pytest.raises(CommandError, match="3 is not a year between 1990 and 2100"):
        call_command("machine_year", farm="heron-slough", year=3, stdout=out)


def test_a_december_that_closes_without_its_machine_years_says_so(place: Place) -> None:
    make_facts(place)
    make_bill(place, "10.00", bill_on=dt.date(2026, 12, 3), now=NEXT_YEAR)
    post_pending(farm=place.farm, now=NEXT_YEAR)
    assert left_to_book(farm=place.farm, month=dt.date(2026, 11, 1)) == 0
    assert left_to_book(farm=place.farm, month=dt.date(2026, 12, 1)) == 1
    done = close_period(farm=place.farm, month=dt.date(2026, 12, 1), now=NEXT_YEAR)
    assert done.machine_years == 1
    reopen_period(farm=place.farm, month=dt.date(2026, 12, 1), why="machines", now=NEXT_YEAR)
    book_machine_years(farm=place.farm, year=2026, now=NEXT_YEAR)
    assert close_period(farm=place.farm, month=dt.date(2026, 12, 1), now=NEXT_YEAR).machine_years == 0


def test_a_year_that_was_read_with_a_journal_is_not_booked_again(place: Place, tmp_path: Path) -> None:
    """Once in the books it came from is once in the books that read it; reversed there it can be booked here."""
    make_facts(place)
    book_machine_year(farm=place.farm, thing=place.machine, year=2026, now=NEXT_YEAR)
    write_journal(farm=place.farm, path=tmp_path / "journal.csv")
    other = make_place("otter-run")
    make_facts(other)
    import_journal(farm=other.farm, path=tmp_path / "journal.csv")
    says = "Owning tractor-1 in 2026 is booked by entry 1 of the journal that was read."
    with pytest.raises(MachineYearRefused, match=says):
        book_machine_year(farm=other.farm, thing=other.machine, year=2026, now=NEXT_YEAR)
    done = book_machine_years(farm=other.farm, year=2026, now=NEXT_YEAR)
    assert (done.booked, says in done.left_out) == ([], True)
    assert left_to_book(farm=other.farm, month=YEARS_END) == 0
    assert Entry.objects.filter(farm=other.farm).count() == 1
    assert book_machine_year(farm=other.farm, thing=other.machine, year=2025, now=NEXT_YEAR)[1]
    reverse_entry(entry=Entry.objects.get(farm=other.farm, number=1), why="worked out anew", now=NEXT_YEAR)
    assert book_machine_year(farm=other.farm, thing=other.machine, year=2026, now=NEXT_YEAR)[1]
    assert verify_ledger(farm=other.farm).faults == []
