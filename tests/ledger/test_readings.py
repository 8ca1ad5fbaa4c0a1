"""Hours that a meter ran and nobody reported go to the farm as a whole when a month closes."""

import datetime as dt
from decimal import Decimal

import pytest

from ledger.models import Entry, SourceKind
from ledger.selectors.pools import pool_balances, pool_costs
from ledger.services.periods import close_period
from ledger.services.posting import post_pending
from ledger.services.readings import post_readings
from ledger.services.verify import verify_ledger
from scheduling.models import HourReading, MeterReplaced
from tests.ledger.makers import NOON, Place, make_place, make_work
from tests.scheduling.care_facts import make_reading

APRIL = dt.date(2026, 4, 30)
MAY = dt.date(2026, 5, 31)
EVENING = dt.datetime(2026, 4, 28, 22, tzinfo=dt.UTC)


def held(place: Place) -> dict[str, dict[str, int]]:
    return {pool.key: dict(pool.by_category) for pool in pool_balances(farm=place.farm, through=MAY)}


def test_what_the_meter_ran_beside_its_work_is_booked_at_the_machines_hour(place: Place) -> None:
    """By hand: from 2,400.0 to 2,406.5 h are 390 min, 270 of them reported; 2 h at 40 dollars."""
    make_work(place, implement=None)
    make_reading(place.machine, "2406.5", EVENING)
    post_pending(farm=place.farm, now=NOON)
    done = post_readings(farm=place.farm, through=APRIL, now=NOON)
    [entry] = done.entries
    assert (entry.source_kind, entry.happened_on) == (SourceKind.HOUR_READING, dt.date(2026, 4, 28))
    assert held(place) == {
        "machine:tractor-1": {"machine": -180_00 - 80_00, "lubricants": -17_11},
        "overhead": {"machine": 80_00},
    }
    assert pool_costs(farm=place.farm)[0].charged_cents == 277_11, "both are charged, none is a bill"
    assert {line.says for line in entry.lines.all()} == {
        "tractor-1, run on no work record by its meter at 2406.5 h"
    }
    assert post_readings(farm=place.farm, through=APRIL, now=NOON).entries == [], "a second run books nothing"
    assert verify_ledger(farm=place.farm).faults == []


def test_late_work_and_a_later_reading_put_it_right_by_themselves(place: Place) -> None:
    """By hand: 390 min booked; then 270 of them are reported, so 270 go back; then 60 more by the next reading."""
    make_reading(place.machine, "2406.5", EVENING)
    [first] = post_readings(farm=place.farm, through=APRIL, now=NOON).entries
    assert held(place)["overhead"] == {"machine": 260_00}
    make_work(place, implement=None)
    [second] = post_readings(farm=place.farm, through=APRIL, now=NOON).entries
    assert (first.purpose, second.purpose) == ("cost", "cost-2")
    assert held(place)["overhead"] == {"machine": 80_00}
    make_reading(place.machine, "2407.5", EVENING + dt.timedelta(days=10))
    assert post_readings(farm=place.farm, through=APRIL, now=NOON).entries == [], "read in May"
    [third] = post_readings(farm=place.farm, through=MAY, now=NOON).entries
    assert third.happened_on == dt.date(2026, 5, 8)
    assert held(place)["overhead"] == {"machine": 120_00}


def test_reports_of_more_than_the_meter_ran_only_take_back_what_was_booked(place: Place) -> None:
    make_reading(place.machine, "2401.0", EVENING)
    post_readings(farm=place.farm, through=APRIL, now=NOON)
    assert held(place)["overhead"] == {"machine": 40_00}
    make_work(place, implement=None)
    post_readings(farm=place.farm, through=APRIL, now=NOON)
    assert "overhead" not in held(place)
    assert post_readings(farm=place.farm, through=APRIL, now=NOON).entries == []


@pytest.mark.parametrize(("reading_h", "booked"), [("2404.7", 0), ("2404.8", 1)])
def test_twelve_minutes_are_left_alone(place: Place, reading_h: str, booked: int) -> None:
    """270 min reported; 4.7 h are 282 min, 4.8 h are 288."""
    make_work(place, implement=None)
    make_reading(place.machine, reading_h, EVENING)
    assert len(post_readings(farm=place.farm, through=APRIL, now=NOON).entries) == booked


def test_hours_go_on_where_the_meter_was_replaced(place: Place) -> None:
    """By hand: 2,400.0 to 2,402.0 on the old meter and 0.0 to 1.5 on the new one are 3.5 h: 140 dollars."""
    MeterReplaced.objects.create(
        farm=place.farm,
        client_id="11111111-1111-4111-8111-111111111111",
        machine=place.machine,
        replaced_at=EVENING - dt.timedelta(days=5),
        old_reading_h=Decimal("2402.0"),
        new_reading_h=Decimal(0),
        recorded_at=NOON,
    )
    make_reading(place.machine, "1.5", EVENING)
    post_readings(farm=place.farm, through=APRIL, now=NOON)
    assert held(place)["overhead"] == {"machine": 140_00}


def test_readings_that_cannot_be_are_not_booked(place: Place) -> None:
    make_reading(place.machine, "2406.5", EVENING)
    make_reading(place.machine, "2403.0", EVENING + dt.timedelta(hours=1))
    assert post_readings(farm=place.farm, through=APRIL, now=NOON).entries == []
    assert HourReading.objects.count() == 2


def test_without_a_rate_it_waits_for_one_and_nothing_else_stops(db: None) -> None:
    bare = make_place(rated=False)
    make_reading(bare.machine, "2406.5", EVENING)
    done = post_readings(farm=bare.farm, through=APRIL, now=NOON)
    assert done.entries == []
    assert "No hourly rate of tractor-1 holds on 2026-04-28" in done.left_out[0]
    assert not Entry.objects.exists()


def test_the_close_of_a_month_books_them_before_its_mark(place: Place) -> None:
    make_work(place, implement=None)
    make_reading(place.machine, "2406.5", EVENING)
    closed = close_period(farm=place.farm, month=APRIL, now=dt.datetime(2026, 5, 3, 16, tzinfo=dt.UTC))
    kinds = list(Entry.objects.order_by("number").values_list("source_kind", flat=True))
    assert kinds == [SourceKind.WORK_RECORD, SourceKind.HOUR_READING, SourceKind.PERIOD]
    assert closed.entry.number == 3
