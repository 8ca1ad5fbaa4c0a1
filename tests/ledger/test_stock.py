"""Inputs and fuel that were bought into stock leave it at what they had cost, by lot, once."""

import datetime as dt
import re
import uuid
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection, transaction
from django.db.models import Sum
from django.test.utils import CaptureQueriesContext

from ledger.models import Account, Bill, Category, Entry, Line, PostingWait
from ledger.selectors.stock import stock_on_hand
from ledger.services.bills import NewBillItem
from ledger.services.books import choose_year
from ledger.services.opening import enter_opening_stock
from ledger.services.posting import post_pending
from ledger.services.rates import set_rate
from ledger.services.verify import verify_ledger
from scheduling.models import InputUse, WorkRecord
from tests.ledger.makers import NEW_YEAR, NOON, Place, make_bill, make_place, make_work

UNIT = 10_000


@pytest.fixture
def place(db: None) -> Place:
    """A farm where labor and machines have prices, and no input has."""
    return make_place()


@pytest.fixture
def at_actual_cost(place: Place) -> Place:
    choose_year(farm=place.farm, year=2026, stock_cost="actual", fuel_by="average_hour", now=NOON)
    return place


def buy_seed(place: Place, bags: str, usd: str, lot: str = "", **facts: Any) -> Bill:
    item = NewBillItem("seed", usd, item="cotton-seed", lot=lot, quantity=bags, unit="bag")
    return make_bill(place, usd, items=[item], category="", **facts)


def plant(place: Place, bags: str, lot: str = "", **facts: Any) -> WorkRecord:
    """Record 5 h of a hand, no machine, with bags of seed."""
    record = make_work(place, machine=None, implement=None, machine_min=0, **facts)
    put_on(record, bags, lot)
    return record


def put_on(record: WorkRecord, bags: str, lot: str = "", unit: str = "bag") -> None:
    InputUse.objects.create(
        farm=record.farm,
        work_record=record,
        input_code="cotton-seed",
        quantity=Decimal(bags),
        unit=unit,
        lot=lot,
    )


def price_seed(place: Place, usd: str) -> None:
    set_rate(
        farm=place.farm,
        kind="input",
        subject="cotton-seed",
        unit="bag",
        usd_per_unit=usd,
        category="seed",
        valid_from=NEW_YEAR,
        now=NOON,
    )


def seed_lines(record: WorkRecord) -> list[tuple[str, int, int | None]]:
    """Return lot, cents and quantity of the seed that a work record cost its season."""
    lines = Line.objects.filter(entry__work_record=record, account=Account.SEASON, category=Category.SEED)
    return list(lines.order_by("line_no").values_list("lot", "cents", "quantity_e4"))


def seed_left(place: Place) -> tuple[Decimal, int]:
    """Return bags and cents of seed that are left."""
    (on_hand,) = stock_on_hand(farm=place.farm)
    return Decimal(on_hand.stock.held_e4) / UNIT, on_hand.stock.held_cents


def shed_cents(place: Place) -> int:
    found = Line.objects.filter(farm=place.farm, account=Account.INPUT_STOCK).aggregate(Sum("cents"))
    return int(found["cents__sum"])


def test_seed_leaves_at_the_average_of_what_is_there(place: Place) -> None:
    """By hand: 10 bags at 250 and 30 at 270 are 40 at 265; 8 bags cost 2,120.00, and 8,480.00 are left."""
    buy_seed(place, "10", "2500.00")
    buy_seed(place, "30", "8100.00")
    record = plant(place, "8")
    assert post_pending(now=NOON).waiting == []
    assert seed_lines(record) == [("", 212_000, 8 * UNIT)]
    assert seed_left(place) == (32, 848_000)
    assert shed_cents(place) == 848_000
    assert verify_ledger().faults == []


def test_at_actual_cost_the_lot_leaves_first_and_then_the_oldest(at_actual_cost: Place) -> None:
    """By hand: 12 bags of lot B, of which 10 came at 270 each: 2,700.00; 2 of lot A at 250 each: 500.00."""
    place = at_actual_cost
    buy_seed(place, "20", "5000.00", "A")
    buy_seed(place, "10", "2700.00", "B")
    record = plant(place, "12", "B")
    assert post_pending(now=NOON).waiting == []
    assert seed_lines(record) == [("B", 270_000, 10 * UNIT), ("A", 50_000, 2 * UNIT)]
    assert seed_left(place) == (18, 450_000)
    drawn = Line.objects.filter(entry__work_record=record, account=Account.INPUT_STOCK).order_by("line_no")
    assert [(line.lot, line.layer and line.layer.lot, line.price_e4) for line in drawn] == [
        ("B", "B", None),
        ("A", "A", None),
    ]
    assert "bought 2026-04-20: bill of Three Rivers Supply" in drawn[0].says
    assert verify_ledger().faults == []


def test_a_line_of_work_names_the_work_and_what_did_it(at_actual_cost: Place) -> None:
    place = at_actual_cost
    buy_seed(place, "20", "5000.00", "A")
    record = make_work(place)
    put_on(record, "2", "A")
    post_pending(now=NOON)
    lines = Line.objects.filter(entry__work_record=record)
    costs = lines.filter(account=Account.SEASON)
    assert {(line.operation, line.machine, line.implement, line.outfit) for line in costs} == {
        ("disk", place.machine, place.implement, "tractor-1+disk-1")
    }
    assert {line.operation for line in lines.exclude(account=Account.SEASON)} == {""}
    assert {(line.item, line.lot) for line in lines.filter(category=Category.SEED)} == {("cotton-seed", "A")}


def test_what_is_short_is_priced_by_the_rate_and_met_by_the_next_bill(place: Place) -> None:
    """By hand: 10 bags came at 250; 14 are used: 2,500.00 and 4 at the rate of 280: 1,120.00.

    Of the next 6 bags at 260 four are used already; two are left, at 520.00.
    """
    price_seed(place, "280")
    buy_seed(place, "10", "2500.00")
    record = plant(place, "14")
    post_pending(now=NOON)
    assert seed_lines(record) == [("", 250_000, 10 * UNIT), ("", 112_000, 4 * UNIT)]
    assert seed_left(place) == (0, 0)
    buy_seed(place, "6", "1560.00")
    post_pending(now=NOON)
    assert seed_left(place) == (2, 52_000)
    assert seed_lines(record) == [("", 250_000, 10 * UNIT), ("", 112_000, 4 * UNIT)]
    assert verify_ledger().faults == []


def test_a_bill_after_its_use_does_not_price_it_anew_and_is_not_used_twice(place: Place) -> None:
    price_seed(place, "280")
    record = plant(place, "10")
    post_pending(now=NOON)
    buy_seed(place, "10", "2500.00")
    later = plant(place, "1")
    post_pending(now=NOON)
    assert seed_lines(record) == [("", 280_000, 10 * UNIT)]
    assert seed_left(place) == (0, 0)
    assert seed_lines(later) == [("", 28_000, 1 * UNIT)]
    assert shed_cents(place) == 250_000 - 280_000 - 28_000


def test_without_a_price_work_waits_for_the_bill_that_is_missing(place: Place) -> None:
    buy_seed(place, "10", "2500.00")
    record = plant(place, "14")
    post_pending(now=NOON)
    wait = PostingWait.objects.get()
    assert wait.code == "stock_short"
    assert wait.says == (
        "14 bag of cotton-seed were used on 2026-04-20, 4 bag more than is in stock; enter the bill that is missing, "
        "or set a price from that day or earlier."
    )
    assert seed_left(place) == (10, 250_000)
    buy_seed(place, "6", "1560.00")
    post_pending(now=NOON)
    assert PostingWait.objects.count() == 0
    assert seed_lines(record) == [("", 355_250, 14 * UNIT)]


def test_work_that_waits_leaves_the_stock_to_the_work_after_it(place: Place) -> None:
    buy_seed(place, "10", "2500.00")
    no_price = plant(place, "9", work_on=NEW_YEAR)
    InputUse.objects.create(
        farm=place.farm, work_record=no_price, input_code="zinc", quantity=Decimal(1), unit="lb"
    )
    record = plant(place, "8")
    report = post_pending(now=NOON)
    assert [wait.source_id for wait in report.waiting] == [no_price.pk]
    assert seed_lines(record) == [("", 200_000, 8 * UNIT)]


def test_a_use_in_another_unit_than_the_stock_waits(place: Place) -> None:
    buy_seed(place, "10", "2500.00")
    put_on(make_work(place), "50", unit="lb")
    report = post_pending(now=NOON)
    assert [(wait.code, wait.says) for wait in report.waiting] == [
        (
            "unit_differs",
            "50 lb of cotton-seed were reported on 2026-04-20, but it is in stock by the bag.",
        )
    ]


def test_a_correction_gives_back_what_was_drawn_before_it_draws_anew(at_actual_cost: Place) -> None:
    place = at_actual_cost
    buy_seed(place, "10", "2500.00", "A")
    first = plant(place, "9", "A")
    post_pending(now=NOON)
    second = plant(place, "8", "A", supersedes=first)
    assert post_pending(now=NOON).reversed == 1
    assert seed_lines(second) == [("A", 200_000, 8 * UNIT)]
    assert seed_left(place) == (2, 50_000)
    assert verify_ledger().faults == []


def test_a_correction_at_the_average_gives_back_too(place: Place) -> None:
    buy_seed(place, "10", "2500.00")
    first = plant(place, "10")
    post_pending(now=NOON)
    second = plant(place, "4", supersedes=first)
    post_pending(now=NOON)
    assert seed_lines(second) == [("", 100_000, 4 * UNIT)]
    assert seed_left(place) == (6, 150_000)


def test_a_corrected_bill_keeps_what_was_used_of_the_wrong_one(at_actual_cost: Place) -> None:
    """By hand: 10 bags came, 4 were used; the bill is put right to 12 bags: 8 are left, at 3,000 / 12 each."""
    place = at_actual_cost
    wrong = buy_seed(place, "10", "2500.00", "A")
    record = plant(place, "4", "A")
    post_pending(now=NOON)
    buy_seed(place, "12", "3000.00", "A", supersedes=wrong)
    post_pending(now=NOON)
    assert seed_left(place) == (8, 200_000)
    assert seed_lines(record) == [("A", 100_000, 4 * UNIT)]
    assert verify_ledger().faults == []


def test_a_credit_for_bags_that_went_back_takes_them_out_of_stock(at_actual_cost: Place) -> None:
    place = at_actual_cost
    buy_seed(place, "10", "2500.00", "A")
    buy_seed(place, "3", "-750.00", "A")
    post_pending(now=NOON)
    assert seed_left(place) == (7, 175_000)
    assert shed_cents(place) == 175_000


def test_opening_stock_is_a_layer_and_holds_no_use_from_before_the_count(place: Place) -> None:
    """Used at the rate before the count of 20 bags; the count stays 20, of which 5 leave at 240 each."""
    price_seed(place, "280")
    plant(place, "6", work_on=NEW_YEAR)
    post_pending(now=NOON)
    enter_opening_stock(
        farm=place.farm,
        client_id=uuid.uuid4(),
        item="cotton-seed",
        category="seed",
        quantity="20",
        unit="bag",
        amount_usd="4800",
        on=dt.date(2026, 4, 1),
        now=NOON,
    )
    record = plant(place, "5")
    post_pending(now=NOON)
    assert seed_lines(record) == [("", 120_000, 5 * UNIT)]
    assert seed_left(place) == (15, 360_000)


def test_fuel_of_an_average_hour_leaves_the_tank_at_what_it_had_cost(place: Place) -> None:
    """By hand: 35.64 gal (0.044 x 180 hp x 4.5 h) of 1,000 gal at 3.00 are 106.92; oil and grease 15 %: 16.04."""
    diesel = NewBillItem("fuel", "3000", item="diesel", quantity="1000", unit="gal")
    make_bill(place, "3000", items=[diesel], category="")
    record = make_work(place)
    post_pending(now=NOON)
    lines = Line.objects.filter(entry__work_record=record)
    costs = dict(lines.filter(account=Account.SEASON).values_list("category", "cents"))
    assert (costs["fuel"], costs["lubricants"]) == (10_692, 1_604)
    tank = lines.get(account=Account.FUEL_STOCK)
    assert (tank.quantity_e4, tank.item, tank.price_e4) == (-356_400, "diesel", None)
    assert verify_ledger().faults == []


def test_two_lots_of_one_input_in_one_record_are_two_draws(at_actual_cost: Place) -> None:
    place = at_actual_cost
    buy_seed(place, "5", "1000.00", "A")
    buy_seed(place, "5", "1500.00", "B")
    record = plant(place, "2", "B")
    put_on(record, "3", "A")
    post_pending(now=NOON)
    assert seed_lines(record) == [("A", 60_000, 3 * UNIT), ("B", 60_000, 2 * UNIT)]
    assert verify_ledger().faults == []


def test_many_records_in_one_run_draw_one_after_another_to_the_last_cent(at_actual_cost: Place) -> None:
    """3 bags for 1,000.00 in 30 draws of a tenth: nothing is left, no cent over; the same one by one and together."""
    place = at_actual_cost
    buy_seed(place, "3", "1000.00", "A")
    for _number in range(30):
        plant(place, "0.1", "A", hand_min=0)
    assert post_pending(now=NOON).posted == 31
    assert seed_left(place) == (0, 0)
    assert shed_cents(place) == 0
    assert Entry.objects.filter(farm=place.farm).count() == 31


def test_farms_do_not_draw_on_each_others_stock(place: Place) -> None:
    other = make_place("other-bend")
    buy_seed(other, "10", "2500.00")
    plant(place, "2")
    report = post_pending(now=NOON)
    assert [wait.code for wait in report.waiting] == ["no_rate_on_date"]
    assert seed_left(other) == (10, 250_000)


def test_a_second_run_reads_only_what_it_had_not_read_before(place: Place) -> None:
    buy_seed(place, "10", "2500.00")
    plant(place, "2")
    post_pending(now=NOON)
    bought = Line.objects.get(entry__bill__isnull=False, account=Account.INPUT_STOCK)
    plant(place, "3")
    with CaptureQueriesContext(connection) as asked:
        post_pending(now=NOON)
    reads = [query["sql"] for query in asked if "'cotton-seed'" in query["sql"]]
    begins = [int(found[1]) for text in reads if (found := re.search(r'"ledger_line"."id" > (\d+)', text))]
    assert begins
    assert set(begins) == {bought.pk}
    assert seed_left(place) == (5, 125_000)


def test_what_was_read_of_books_that_were_undone_is_forgotten(place: Place) -> None:
    """The seed is bought, posted and drawn in a transaction that goes back; then none was ever there."""
    with transaction.atomic():
        buy_seed(place, "10", "2500.00")
        plant(place, "2")
        post_pending(now=NOON)
        assert seed_left(place) == (8, 200_000)
        transaction.set_rollback(True)
    plant(place, "2")
    report = post_pending(now=NOON)
    assert [wait.code for wait in report.waiting] == ["no_rate_on_date"]
    assert stock_on_hand(farm=place.farm) == []
