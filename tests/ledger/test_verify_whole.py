"""What no single entry shows is found too: names that changed, months that were closed, stocks, sources of every kind."""

import datetime as dt
import io
import uuid
from decimal import Decimal

import pytest
from django.core.management import call_command

from farmops.farms.models import Field, Machine
from ledger.models import Entry, Payee, PeriodMark, SharedBy
from ledger.selectors.pools import pool_balances
from ledger.services.bill_items import NewBillItem
from ledger.services.books import choose_puncture, choose_year
from ledger.services.opening import enter_opening_stock
from ledger.services.periods import close_period
from ledger.services.posting import post_pending
from ledger.services.rates import set_rate
from ledger.services.readings import post_readings
from ledger.services.share_outs import share_out_pool
from ledger.services.verify import verify_ledger
from scheduling.models import FuelFill, Incident, InputUse
from tests.factories import make_machine
from tests.ledger.makers import DAY, NEW_YEAR, NOON, Place, behind_the_back, make_bill, make_work
from tests.scheduling.care_facts import make_reading

IN_JUNE = dt.datetime(2026, 6, 2, 16, tzinfo=dt.UTC)
pytestmark = pytest.mark.django_db


def says_of(place: Place) -> list[str]:
    return [f"{fault.place}: {fault.says}" for fault in verify_ledger(farm=place.farm).faults]


def test_a_machine_with_another_code_is_a_note_and_no_fault(booked: Place) -> None:
    Machine.objects.filter(pk=booked.machine.pk).update(code="tractor-01")
    Field.objects.filter(pk=booked.season.field_id).update(code="lake-40")
    make_work(booked, hand_min=30)
    post_pending(now=NOON)
    report = verify_ledger()
    assert report.faults == []
    told = {note.place: note.says for note in report.notes}
    assert set(told) == {"tractor-1", "tractor-1+disk-1", "pond-40 cotton 2026"}
    assert told["tractor-1"].startswith("is called tractor-01 now; ")
    assert told["tractor-1+disk-1"].startswith("is called tractor-01+disk-1 now; ")
    assert told["pond-40 cotton 2026"].startswith("is called lake-40 cotton 2026 now; ")
    call_command("verify_ledger", stdout=(out := io.StringIO()))
    assert "note: heron-slough, tractor-1: is called tractor-01 now; " in out.getvalue()


def test_lines_that_point_to_another_machine_are_a_fault_and_no_new_name(booked: Place) -> None:
    """Some or all of them: the code that was booked is still a machine's own."""
    other = make_machine(booked.farm, "tractor-2")
    behind_the_back(f"UPDATE ledger_line SET machine_id = {other.pk} WHERE account = 'machine_pool'")
    assert "entry 1: line 4 was booked on tractor-1 and now points elsewhere" in says_of(booked)
    assert verify_ledger().notes == []


def test_a_line_that_points_to_a_machine_that_took_over_the_code_is_a_fault(booked: Place) -> None:
    """The old tractor was given another code, and its code to a new one: who did the work is not hidden by that."""
    Machine.objects.filter(pk=booked.machine.pk).update(code="old-tractor")
    make_machine(booked.farm, "tractor-1")
    assert "entry 1: line 4 was booked on tractor-1 and now points elsewhere" in says_of(booked)


def test_a_booking_day_in_a_closed_month_is_named(booked: Place) -> None:
    close_period(farm=booked.farm, month=DAY, now=IN_JUNE)
    make_work(booked)
    post_pending(now=IN_JUNE)
    assert says_of(booked) == []
    behind_the_back("UPDATE ledger_entry SET booked_on = '2026-04-30' WHERE number = 7")
    says = says_of(booked)
    assert "entry 7: it is booked on 2026-04-30, and 2026-04 was closed before" in says
    assert "entry 7: its content is not what was booked: the digest differs" in says


def test_a_booking_day_in_another_month_than_an_open_one_is_named(booked: Place) -> None:
    behind_the_back("UPDATE ledger_entry SET booked_on = '2026-05-01' WHERE number = 2")
    assert (
        "entry 2: it happened on 2026-04-20 and is booked on 2026-05-01, and its month was open"
        in says_of(booked)
    )


def test_a_close_without_its_entry_is_named(booked: Place) -> None:
    PeriodMark.objects.create(farm=booked.farm, month=DAY.replace(day=1), turn=1, is_close=True, made_at=NOON)
    assert says_of(booked) == ["month 2026-04: it was closed by no entry"]


def test_a_superseded_source_that_stands_beside_what_superseded_it_is_named(place: Place) -> None:
    first = make_work(place)
    post_pending(now=NOON)
    make_work(place, hand_min=60, supersedes=first)
    post_pending(now=NOON)
    reversal = Entry.objects.get(number=2)
    behind_the_back(
        f"DELETE FROM ledger_entrybalance WHERE entry_id = {reversal.pk}",
        f"DELETE FROM ledger_line WHERE entry_id = {reversal.pk}",
        f"DELETE FROM ledger_entry WHERE id = {reversal.pk}",
    )
    assert "entry 1: its work record was superseded and posted anew, and it still stands" in says_of(place)


@pytest.mark.parametrize(
    ("statement", "says"),
    [
        ("UPDATE ledger_openingstock SET quantity_e4 = 1", "line 1 is not what was counted of urea"),
        ("UPDATE ledger_openingstock SET lot = 'K7'", "line 1 is not what was counted of urea"),
        (
            "UPDATE ledger_shareoutpart SET cents = cents + 1",
            "its parts are not what was booked on the seasons",
        ),
        ("UPDATE ledger_shareout SET total_cents = 7", "its parts do not sum to the 0.07 dollars"),
        ("UPDATE ledger_shareout SET last_on = '2026-05-02'", "its source happened on 2026-05-02"),
        ("UPDATE ledger_periodmark SET turn = 2", "is another one than was booked"),
        (
            "UPDATE ledger_billitem SET category = 'seed' WHERE item_no = 1",
            "its bill is of the category repairs, seed, and it was booked as another",
        ),
        (
            "UPDATE ledger_line SET category = 'seed' WHERE category = 'fertilizer' AND account = 'input_stock'",
            "it takes from one category what it gives to another",
        ),
    ],
)
def test_other_sources_are_compared_too(place: Place, statement: str, says: str) -> None:
    enter_opening_stock(
        farm=place.farm,
        client_id=uuid.uuid4(),
        item="urea",
        category="fertilizer",
        quantity="100",
        unit="lb",
        amount_usd="31",
        on=DAY,
        now=NOON,
    )
    items = (
        NewBillItem("fertilizer", "60.00", item="urea", quantity="100", unit="lb"),
        NewBillItem("repairs", "40.00"),
    )
    make_bill(place, "100.00", category="fertilizer", items=items, paid_on=DAY)
    post_pending(now=NOON)
    [pool] = pool_balances(farm=place.farm, through=DAY)
    share_out_pool(
        farm=place.farm,
        client_id=uuid.uuid4(),
        pool=pool,
        shared_by=SharedBy.ACRES,
        crop_year=2026,
        first_on=DAY,
        last_on=DAY,
        why="end of the month",
        now=NOON,
    )
    close_period(farm=place.farm, month=DAY, now=IN_JUNE)
    assert says_of(place) == []
    behind_the_back(statement)
    assert [one for one in says_of(place) if says in one]


@pytest.mark.parametrize(
    ("statement", "says"),
    [
        ("UPDATE scheduling_incident SET kind = 'breakage'", "and its incident is a breakage"),
        ("UPDATE scheduling_incident SET season_id = NULL", "is on another field than its incident"),
        ("UPDATE scheduling_incident SET machine_id = NULL", "names another machine than its incident"),
        (
            "UPDATE scheduling_incident SET hand_id = NULL",
            "was priced for another hand than that of its incident",
        ),
        ("UPDATE scheduling_incident SET happened_at = '2026-04-22 16:00+00:00'", "happened on 2026-04-22"),
        ("UPDATE scheduling_fuelfill SET gallons = 61", " of 61.0 gal filled up on 2026-04-20"),
        ("UPDATE scheduling_hourreading SET reading_h = 2407.5", "and its reading is 2407.5 h"),
        ("UPDATE scheduling_hourreading SET read_at = '2026-04-29 16:00+00:00'", "happened on 2026-04-29"),
    ],
)
def test_incidents_fills_and_readings_are_compared_with_what_was_booked_of_them(
    place: Place, statement: str, says: str
) -> None:
    choose_year(farm=place.farm, year=2026, stock_cost="average", fuel_by="fill_ups", now=NOON)
    choose_puncture(farm=place.farm, puncture_to="machine_pool")
    set_rate(farm=place.farm, kind="wage", subject="imani", usd_per_unit="17", valid_from=NEW_YEAR, now=NOON)
    make_work(place, starts_at=NOON)
    told = {"farm": place.farm, "client_id": uuid.uuid4(), "machine": place.machine, "recorded_at": NOON}
    Incident.objects.create(
        kind="puncture", happened_at=NOON, season=place.season, hand=place.hand, lost_min=90, **told
    )
    FuelFill.objects.create(gallons=60, filled_at=NOON + dt.timedelta(hours=5), **told)
    make_reading(place.machine, "2406.5", dt.datetime(2026, 4, 28, 22, tzinfo=dt.UTC))
    post_pending(now=NOON)
    post_readings(farm=place.farm, through=dt.date(2026, 4, 30), now=NOON)
    kinds = set(Entry.objects.values_list("source_kind", flat=True))
    assert {"incident", "fuel_fill", "hour_reading"} <= kinds
    assert says_of(place) == []
    behind_the_back(statement)
    assert [one for one in says_of(place) if says in one]


def test_a_layer_that_gave_more_than_it_held_is_named(place: Place) -> None:
    """At actual cost a draw names its layer; here the layer is made smaller behind the back."""
    choose_year(farm=place.farm, year=2026, stock_cost="actual", fuel_by="average_hour", now=NOON)
    item = NewBillItem("fertilizer", "50.00", item="urea", quantity="100", unit="lb")
    make_bill(place, "50.00", category="fertilizer", items=(item,))
    record = make_work(place)
    InputUse.objects.create(
        farm=place.farm, work_record=record, input_code="urea", quantity=Decimal(60), unit="lb"
    )
    post_pending(now=NOON)
    assert says_of(place) == []
    behind_the_back("UPDATE ledger_line SET quantity_e4 = 400000 WHERE quantity_e4 = 1000000")
    assert (
        "entry 1: line 1 brought 400000 ten-thousandths of a lb of urea, and 600000 were drawn from it"
        in says_of(place)
    )


def test_more_of_an_input_than_was_used_is_named_whatever_its_price(place: Place) -> None:
    item = NewBillItem("fertilizer", "50.00", item="urea", quantity="100", unit="lb")
    make_bill(place, "50.00", category="fertilizer", items=(item,))
    record = make_work(place)
    InputUse.objects.create(
        farm=place.farm, work_record=record, input_code="urea", quantity=Decimal(60), unit="lb"
    )
    post_pending(now=NOON)
    behind_the_back("UPDATE scheduling_inputuse SET quantity = 59")
    assert says_of(place) == ["entry 2: another amount of urea was booked than its work record says"]


def test_who_was_paid_and_by_which_check_is_what_was_booked(place: Place) -> None:
    """Payees are no records and can be written over; the tax forms go by their names."""
    bill = make_bill(place, "900", number="A-7", paid_on=DAY, check_no="1041")
    post_pending(now=NOON)
    assert verify_ledger().faults == []
    Payee.objects.filter(pk=bill.payee_id).update(name="Quiet Cousin")
    says = [str(fault) for fault in verify_ledger().faults]
    assert len(says) == 2
    assert (
        "“bill of Three Rivers Supply no. A-7” and its source says “bill of Quiet Cousin no. A-7” now"
        in says[0]
    )
    assert "“paid to Three Rivers Supply by check 1041”" in says[1]
