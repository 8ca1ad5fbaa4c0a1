"""Fuel by what was filled up: on the work that burned it, booked anew where late work shares it otherwise."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

import pytest

from ledger.models import Account, Entry, Line, PostingWait
from ledger.services.bills import NewBillItem
from ledger.services.books import choose_year
from ledger.services.journal import reverse_entry
from ledger.services.posting import post_pending
from ledger.services.rates import set_rate
from ledger.services.verify import verify_ledger
from scheduling.models import FuelFill, WorkRecord
from tests.factories import make_field, make_pass, make_season
from tests.ledger.makers import NEW_YEAR, NOON, Place, make_bill, make_place, make_work

EIGHT = dt.datetime(2026, 4, 20, 12, tzinfo=dt.UTC)
EVENING = dt.datetime(2026, 4, 20, 22, tzinfo=dt.UTC)


@pytest.fixture
def by_fills(place: Place) -> Place:
    choose_year(farm=place.farm, year=2026, stock_cost="average", fuel_by="fill_ups", now=NOON)
    return place


def fill_up(place: Place, gallons: str, at: dt.datetime = EVENING, **facts: Any) -> FuelFill:
    return FuelFill.objects.create(
        farm=place.farm,
        client_id=uuid.uuid4(),
        machine=place.machine,
        filled_at=at,
        gallons=Decimal(gallons),
        recorded_at=NOON,
        **facts,
    )


def run(place: Place, machine_min: int, hours_after_eight: int = 0, **facts: Any) -> WorkRecord:
    starts_at = EIGHT + dt.timedelta(hours=hours_after_eight)
    return make_work(place, starts_at=starts_at, hand_min=machine_min, machine_min=machine_min, **facts)


def fuel(place: Place) -> dict[str, tuple[int, int]]:
    """Return cents of fuel, and of oil and grease, that stand on each season and pool."""
    found: dict[str, tuple[int, int]] = {}
    lines = Line.objects.filter(
        farm=place.farm,
        category__in=["fuel", "lubricants"],
        account__in=[Account.SEASON, Account.MACHINE_POOL],
        entry__reversed_by=None,
        entry__reverses=None,
    )
    for line in lines.exclude(account=Account.MACHINE_POOL, category="lubricants"):
        gal, oil = found.get(line.subject, (0, 0))
        found[line.subject] = (gal + line.cents, oil) if line.category == "fuel" else (gal, oil + line.cents)
    return found


def test_a_fill_up_goes_to_the_work_that_burned_it(by_fills: Place) -> None:
    """By hand: 60 gal over 4 h and 2 h are 40 and 20 gal; at 3.20 a gallon 128.00 and 64.00, oil 15 % of each."""
    place = by_fills
    other = make_pass(make_season(make_field(place.farm, "sand-60")))
    run(place, 240)
    run(place, 120, 5, field_pass=other)
    fill_up(place, "60.0")
    report = post_pending(now=NOON)
    assert (report.posted, report.waiting) == (3, [])
    assert fuel(place) == {"pond-40 cotton 2026": (12_800, 1_920), "sand-60 cotton 2026": (6_400, 960)}
    entry = Entry.objects.get(source_kind="fuel_fill")
    assert (entry.happened_on, entry.purpose) == (dt.date(2026, 4, 20), "cost")
    line = entry.lines.get(account=Account.SEASON, category="fuel", season=place.season)
    assert (line.machine, line.implement, line.operation, line.item) == (
        place.machine,
        place.implement,
        "disk",
        "diesel",
    )
    assert line.says == "tractor-1, 40.0 of 60.0 gal filled up on 2026-04-20"
    assert verify_ledger().faults == []
    assert post_pending(now=NOON).posted == 0


def test_work_itself_books_no_fuel_in_such_a_year(by_fills: Place) -> None:
    make_work(by_fills)
    post_pending(now=NOON)
    assert fuel(by_fills) == {}


def test_a_year_without_the_choice_books_no_fill_up(place: Place) -> None:
    run(place, 240)
    fill_up(place, "60.0")
    post_pending(now=NOON)
    assert not Entry.objects.filter(source_kind="fuel_fill").exists()
    assert list(fuel(place)) == ["pond-40 cotton 2026"]


def test_late_work_shares_a_fill_up_anew(by_fills: Place) -> None:
    """By hand: first all 60 gal, 192.00; with 2 h more of another field 40 and 20 gal."""
    place = by_fills
    run(place, 240)
    fill_up(place, "60.0")
    post_pending(now=NOON)
    assert fuel(place) == {"pond-40 cotton 2026": (19_200, 2_880)}
    other = make_pass(make_season(make_field(place.farm, "sand-60")))
    run(place, 120, 5, field_pass=other)
    report = post_pending(now=NOON)
    assert (report.posted, report.reversed) == (2, 1)
    assert fuel(place) == {"pond-40 cotton 2026": (12_800, 1_920), "sand-60 cotton 2026": (6_400, 960)}
    entries = Entry.objects.filter(source_kind="fuel_fill").order_by("number")
    assert [entry.purpose for entry in entries] == ["cost", "cost-2"]
    assert entries[0].reversed_by.why == "its fuel is shared over work otherwise now"
    assert post_pending(now=NOON).posted == 0
    assert verify_ledger().faults == []


def test_a_fill_up_put_right_or_taken_back_is_undone(by_fills: Place) -> None:
    place = by_fills
    run(place, 240)
    wrong = fill_up(place, "60.0")
    post_pending(now=NOON)
    right = fill_up(place, "50.0", supersedes=wrong)
    report = post_pending(now=NOON)
    assert (report.posted, report.reversed) == (1, 1)
    assert fuel(place) == {"pond-40 cotton 2026": (16_000, 2_400)}
    fill_up(place, "50.0", supersedes=right, is_taken_back=True)
    report = post_pending(now=NOON)
    assert (report.posted, report.reversed) == (0, 1)
    assert fuel(place) == {}
    assert verify_ledger().faults == []


def test_what_no_work_burned_stays_in_the_pool_of_the_machine(by_fills: Place) -> None:
    """By hand: 30 gal and no work at all; 96.00 in the pool, oil and grease are in it already."""
    fill_up(by_fills, "30.0")
    post_pending(now=NOON)
    assert fuel(by_fills) == {"tractor-1": (9_600, 0)}


def test_a_machine_whose_rate_holds_its_fuel_bears_it_in_its_pool(by_fills: Place) -> None:
    place = by_fills
    set_rate(
        farm=place.farm,
        kind="machine",
        subject=place.machine.code,
        usd_per_unit="62.50",
        valid_from=NEW_YEAR,
        holds_fuel=True,
        now=NOON,
    )
    run(place, 240)
    fill_up(place, "60.0")
    post_pending(now=NOON)
    assert fuel(place) == {"tractor-1": (19_200, 0)}


def test_fuel_that_was_bought_leaves_at_what_it_had_cost(by_fills: Place) -> None:
    """By hand: 1,000 gal at 3.00; 60 gal are 180.00, 940 gal at 2,820.00 are left."""
    place = by_fills
    diesel = NewBillItem("fuel", "3000", item="diesel", quantity="1000", unit="gal")
    make_bill(place, "3000", items=[diesel], category="")
    run(place, 240)
    fill_up(place, "60.0")
    post_pending(now=NOON)
    assert fuel(place) == {"pond-40 cotton 2026": (18_000, 2_700)}
    tank = Line.objects.filter(farm=place.farm, account=Account.FUEL_STOCK)
    assert sum(line.cents for line in tank) == 282_000
    assert sum(line.quantity_e4 or 0 for line in tank) == 9_400_000
    assert verify_ledger().faults == []


@pytest.mark.django_db
def test_without_a_price_a_fill_up_waits_and_says_so() -> None:
    place = make_place(rated=False)
    choose_year(farm=place.farm, year=2026, stock_cost="average", fuel_by="fill_ups", now=NOON)
    fill = fill_up(place, "30.0")
    post_pending(now=NOON)
    wait = PostingWait.objects.get()
    assert (wait.source_kind, wait.source_id, wait.code) == ("fuel_fill", fill.pk, "no_rate_on_date")
    set_rate(farm=place.farm, kind="fuel", usd_per_unit="3.20", valid_from=NEW_YEAR, now=NOON)
    assert post_pending(now=NOON).posted == 1
    assert PostingWait.objects.count() == 0


def test_what_was_reversed_by_hand_is_not_booked_again(by_fills: Place) -> None:
    place = by_fills
    run(place, 240)
    fill_up(place, "60.0")
    post_pending(now=NOON)
    reverse_entry(entry=Entry.objects.get(source_kind="fuel_fill"), why="somebody else's tractor", now=NOON)
    run(place, 60, 5)
    post_pending(now=NOON)
    assert fuel(place) == {}
    assert Entry.objects.filter(source_kind="fuel_fill").count() == 1


def test_work_of_a_year_by_the_hour_is_not_charged_again_by_the_next_years_first_fill_up(
    place: Place,
) -> None:
    """The hour on New Year's Eve had its fuel by the average; of the 30 gal of both only those of January are booked."""
    choose_year(farm=place.farm, year=2027, stock_cost="average", fuel_by="fill_ups", now=NOON)
    eve = dt.datetime(2026, 12, 31, 14, tzinfo=dt.UTC)
    make_work(place, work_on=eve.date(), starts_at=eve, hand_min=120, machine_min=120)
    january = dt.datetime(2027, 1, 2, 14, tzinfo=dt.UTC)
    make_work(place, work_on=january.date(), starts_at=january, hand_min=60, machine_min=60)
    fill_up(place, "30.0", january + dt.timedelta(hours=4))
    post_pending(now=NOON)
    entry = Entry.objects.get(source_kind="fuel_fill")
    tank = entry.lines.get(account=Account.FUEL_STOCK)
    assert tank.quantity_e4 == -100_000


def test_a_price_of_nothing_is_booked_once_and_not_again(place: Place) -> None:
    set_rate(farm=place.farm, kind="fuel", usd_per_unit="0", valid_from=NEW_YEAR, corrects=True, now=NOON)
    choose_year(farm=place.farm, year=2026, stock_cost="average", fuel_by="fill_ups", now=NOON)
    run(place, 240)
    fill_up(place, "60.0")
    assert post_pending(now=NOON).posted == 2
    assert post_pending(now=NOON).posted == 0
    assert Entry.objects.get(source_kind="fuel_fill").line_count == 0
