"""Services and checks as hands report them, meters put right, and what does not fit."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

import pytest

from farmops.farms.models import CareRule, Farm, Hand, Implement, Machine
from scheduling.models import (
    CareDone,
    CheckTicked,
    HourReading,
    MeterReplaced,
    ParkedReport,
)
from scheduling.selectors.care import care_due
from scheduling.selectors.meters import shown_h
from scheduling.services.care import take_back_care
from scheduling.services.meters import record_meter_replaced, set_reading_aside
from scheduling.services.receiving import Received, receive_report
from scheduling.services.refusals import BadRecord, MeterRunsBackwards, MeterRunsTooFast
from scheduling.services.report_body import BodyUnreadable
from scheduling.services.work import record_hour_reading
from tests.factories import make_farm, make_field, make_hand, make_implement, make_machine
from tests.scheduling.care_facts import make_pivot, make_reading, make_rule, make_stop
from tests.scheduling.ground import MONDAY, NEW_YORK

pytestmark = pytest.mark.django_db
NOW = MONDAY + dt.timedelta(hours=18)
NOON = MONDAY + dt.timedelta(hours=12)


@pytest.fixture
def farm() -> Farm:
    farm = make_farm()
    make_machine(farm)
    make_implement(farm)
    make_hand(farm)
    return farm


@pytest.fixture
def tractor(farm: Farm) -> Machine:
    return Machine.objects.get(farm=farm)


@pytest.fixture
def oil(tractor: Machine) -> CareRule:
    return make_rule(tractor)


def report(
    farm: Farm, kind: str, body: dict[str, Any], *, client_id: uuid.UUID | None = None, language: str = "en"
) -> Received:
    hand = Hand.objects.get(farm=farm)
    hand.language = language
    hand.save()
    return receive_report(
        farm=farm,
        hand=hand,
        client_id=client_id or uuid.uuid4(),
        kind=kind,
        body=body,
        made_at=NOON,
        made_offset_min=-240,
        sent_by=None,
        now=NOW,
    )


SERVED: dict[str, Any] = {
    "rule": "oil",
    "minutes": 55,
    "meter": "2410,5",
    "parts": "4 gal oil, filter",
    "parts_dollars": "86.40",
    "note": "drain plug was loose",
}


def test_a_service_from_the_phone_says_who_when_at_what_meter_and_with_what_parts(
    farm: Farm, oil: CareRule
) -> None:
    client_id = uuid.uuid4()
    assert report(farm, "care", SERVED, client_id=client_id).state == "kept"
    assert report(farm, "care", SERVED, client_id=client_id).state == "again"
    done = CareDone.objects.get()
    assert (done.client_id, done.done_at, done.hand, done.hand_min) == (
        client_id,
        NOON,
        Hand.objects.get(farm=farm),
        55,
    )
    assert (done.meter_h, done.parts, done.parts_cents, done.note) == (
        Decimal("2410.5"),
        "4 gal oil, filter",
        86_40,
        "drain plug was loose",
    )
    reading = HourReading.objects.get()
    assert (reading.reading_h, reading.read_at, reading.read_by) == (Decimal("2410.5"), NOON, done.hand)
    (due,) = care_due(farm=farm, at=NOW)
    assert (due.last_done, due.left.hours) == (done, Decimal(250))


def test_a_service_is_named_by_its_stop_in_the_plan(farm: Farm, oil: CareRule) -> None:
    stop = make_stop(oil, NOON)
    assert report(farm, "care", {"stop_id": stop.pk, "minutes": 30}).state == "kept"
    assert CareDone.objects.get().rule == oil
    assert CareDone.objects.get().parts_cents is None


@pytest.mark.parametrize(
    ("odd", "code"),
    [
        ({"meter": "2300.0"}, "meter_runs_backwards"),
        ({"meter": "2900.0"}, "meter_runs_too_fast"),
        ({"rule": "filters"}, "not_this_farm"),
        ({"rule": ""}, "bad_record"),
        ({"stop_id": 77}, "not_this_farm"),
        ({"done_at": "2026-04-22T08:00:00-04:00"}, "bad_record"),
    ],
)
def test_a_service_that_does_not_fit_is_parked_whole_and_loses_nothing(
    farm: Farm, tractor: Machine, oil: CareRule, odd: dict[str, Any], code: str
) -> None:
    make_reading(tractor, "2409.0")
    received = report(farm, "care", SERVED | odd)
    assert (received.state, received.parked and received.parked.code) == ("parked", code)
    assert received.report.body == SERVED | odd
    assert not CareDone.objects.exists()
    assert HourReading.objects.count() == 1


@pytest.mark.parametrize(
    "odd",
    [{"minutes": "an hour"}, {"minutes": -5}, {"parts_dollars": "1.234"}, {"oil": 1}, {"meter": "24O0"}],
)
def test_a_service_that_cannot_be_read_is_refused_and_nothing_is_kept(
    farm: Farm, oil: CareRule, odd: dict[str, Any]
) -> None:
    with pytest.raises(BodyUnreadable) as refused:
        report(farm, "care", SERVED | odd, language="es")
    assert next(iter(odd)) in refused.value.fields
    assert not CareDone.objects.exists()


def test_a_meter_on_an_implement_or_a_pivot_is_parked(farm: Farm) -> None:
    make_rule(Implement.objects.get(farm=farm), "grease")
    make_rule(make_pivot(make_field(farm)), "gearboxes")
    for code in ("grease", "gearboxes"):
        received = report(farm, "care", {"rule": code, "minutes": 20, "meter": 5})
        assert received.parked is not None
        assert received.parked.why == "Only a machine has an hour meter; leave meter_h out."


def test_a_service_taken_back_counts_no_more_and_twice_is_once(farm: Farm, oil: CareRule) -> None:
    report(farm, "care", SERVED)
    done = CareDone.objects.get()
    first, is_new = take_back_care(done=done, recorded_by=None, now=NOW)
    second, is_new_again = take_back_care(done=done, recorded_by=None, now=NOW)
    assert (is_new, is_new_again, first) == (True, False, second)
    (due,) = care_due(farm=farm, at=NOW)
    assert (due.last_done, due.run.hours) == (None, Decimal("10.5"))


CHECK: dict[str, Any] = {
    "work_on": "2026-04-20",
    "check_key": "rule:grease",
    "implement": "disk-1",
    "fine": True,
}


def test_a_check_that_is_fine_is_kept_and_one_that_is_not_is_told_to_the_manager(farm: Farm) -> None:
    assert report(farm, "check", CHECK).state == "kept"
    assert not ParkedReport.objects.exists()
    received = report(farm, "check", CHECK | {"fine": False, "note": "bolt missing"}, language="es")
    assert received.state == "kept"
    assert "Algo de disk-1 no está bien: bolt missing" in received.says
    parked = ParkedReport.objects.get()
    assert (parked.code, parked.why) == ("check_not_fine", "A check of disk-1 is not fine: bolt missing")
    assert list(CheckTicked.objects.values_list("is_fine", "check_key")) == [
        (True, "rule:grease"),
        (False, "rule:grease"),
    ]


def test_a_check_of_nothing_or_of_a_day_to_come_is_not_kept(farm: Farm) -> None:
    with pytest.raises(BodyUnreadable, match="check_key is missing"):
        report(farm, "check", CHECK | {"check_key": ""})
    with pytest.raises(BodyUnreadable, match="fine is missing"):
        report(farm, "check", {name: value for name, value in CHECK.items() if name != "fine"})
    assert report(farm, "check", CHECK | {"work_on": "2026-04-22"}).state == "parked"
    assert report(farm, "check", CHECK | {"implement": "disk-9"}).state == "parked"
    assert not CheckTicked.objects.exists()


def april(day: int, hour: int = 12) -> dt.datetime:
    return dt.datetime(2026, 4, day, hour, tzinfo=NEW_YORK)


def replace_meter(tractor: Machine, old_h: str, new_h: str = "0.0", **facts: Any) -> MeterReplaced:
    row, _is_new = record_meter_replaced(
        farm=tractor.farm,
        client_id=facts.pop("client_id", uuid.uuid4()),
        machine=tractor,
        replaced_at=facts.pop("at", april(15)),
        old_reading_h=Decimal(old_h),
        new_reading_h=Decimal(new_h),
        recorded_by=None,
        now=NOW,
        **facts,
    )
    return row


def read_meter(tractor: Machine, reading_h: str, at: dt.datetime) -> HourReading:
    row, _is_new = record_hour_reading(
        farm=tractor.farm,
        client_id=uuid.uuid4(),
        machine=tractor,
        reading_h=Decimal(reading_h),
        read_at=at,
        now=NOW,
    )
    return row


def test_after_a_meter_was_replaced_readings_follow_the_new_one(tractor: Machine) -> None:
    make_reading(tractor, "2410.0", april(14))
    client_id = uuid.uuid4()
    assert replace_meter(tractor, "2412.0", client_id=client_id) == replace_meter(
        tractor, "2412.0", client_id=client_id
    )
    with pytest.raises(MeterRunsTooFast):
        read_meter(tractor, "2413.0", april(16))
    read_meter(tractor, "7.5", april(16))
    with pytest.raises(MeterRunsBackwards, match=r"cannot go back: 7.0 h after 7.5 h"):
        read_meter(tractor, "7.0", april(17))
    with pytest.raises(MeterRunsBackwards, match=r"2413.0 h before 2412.0 h, read later"):
        read_meter(tractor, "2413.0", april(15, 11))
    assert shown_h(machine=tractor, at=NOW) == Decimal("7.5")


@pytest.mark.parametrize(
    ("old_h", "says"), [("2409.0", "cannot go back: 2409.0 h after 2410.0 h"), ("2500.0", "would gain 90")]
)
def test_the_last_hours_of_an_old_meter_follow_its_readings(tractor: Machine, old_h: str, says: str) -> None:
    make_reading(tractor, "2410.0", april(14))
    with pytest.raises((MeterRunsBackwards, MeterRunsTooFast), match=says):
        replace_meter(tractor, old_h)
    assert not MeterReplaced.objects.exists()


def test_a_reading_of_the_old_meter_kept_later_stands_in_the_way_until_it_is_set_aside(
    tractor: Machine,
) -> None:
    make_reading(tractor, "2410.0", april(14))
    late = make_reading(tractor, "2411.0", april(16))
    with pytest.raises(
        BadRecord, match=r"The 2411.0 h read on 2026-04-16 cannot be of the new meter of tractor-1"
    ):
        replace_meter(tractor, "2410.5")
    set_reading_aside(reading=late, why="read after the meter was changed", set_aside_by=None, now=NOW)
    replace_meter(tractor, "2410.5")
    assert shown_h(machine=tractor, at=NOW) == 0


def test_a_wrong_reading_lets_no_right_one_in_until_it_is_set_aside(tractor: Machine) -> None:
    make_reading(tractor, "2410.0", april(14))
    wrong = make_reading(tractor, "2433.0", april(15))
    with pytest.raises(MeterRunsBackwards):
        read_meter(tractor, "2415.0", april(16))
    first, is_new = set_reading_aside(reading=wrong, why=" a slip of the pen ", set_aside_by=None, now=NOW)
    again, is_new_again = set_reading_aside(reading=wrong, why="other words", set_aside_by=None, now=NOW)
    assert (first, is_new, is_new_again, first.why) == (again, True, False, "a slip of the pen")
    read_meter(tractor, "2415.0", april(16))
    with pytest.raises(BadRecord, match="something must stand there"):
        set_reading_aside(reading=wrong, why="  ", set_aside_by=None, now=NOW)


def test_meters_of_another_farm_are_out_of_reach(tractor: Machine) -> None:
    other = make_farm("egret-bend")
    with pytest.raises(Exception, match="is not one of Egret Bend"):
        record_meter_replaced(
            farm=other,
            client_id=uuid.uuid4(),
            machine=tractor,
            replaced_at=april(15),
            old_reading_h=Decimal(2400),
            recorded_by=None,
            now=NOW,
        )
