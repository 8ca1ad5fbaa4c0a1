"""The edges of meters and services: the last hour that is let through, a meter changed in the day, a second correction."""

import datetime as dt
import uuid
from decimal import Decimal

import pytest

from farmops.farms.models import Machine
from scheduling.models import CareDone, HourReading
from scheduling.selectors.meters import shown_h
from scheduling.services.care import record_care, take_back_care
from scheduling.services.meters import record_meter_replaced
from scheduling.services.refusals import BadRecord, MeterRunsBackwards, MeterRunsTooFast, SupersededAlready
from scheduling.services.work import record_hour_reading
from tests.factories import make_farm, make_machine
from tests.scheduling.care_facts import make_rule
from tests.scheduling.sending import NOW

pytestmark = pytest.mark.django_db
HOUR = dt.timedelta(hours=1)


@pytest.fixture
def tractor() -> Machine:
    return make_machine(make_farm())


def read(tractor: Machine, hours: str, at: dt.datetime = NOW) -> None:
    facts = {"farm": tractor.farm, "machine": tractor, "client_id": uuid.uuid4()}
    record_hour_reading(**facts, reading_h=Decimal(hours), read_at=at, now=NOW)


def replace(tractor: Machine, old_h: str, new_h: str, at: dt.datetime) -> None:
    record_meter_replaced(
        farm=tractor.farm,
        client_id=uuid.uuid4(),
        machine=tractor,
        replaced_at=at,
        old_reading_h=Decimal(old_h),
        new_reading_h=Decimal(new_h),
        recorded_by=None,
        now=NOW,
    )


def test_a_meter_gains_what_the_clock_gained_and_a_day_and_no_tenth_more(tractor: Machine) -> None:
    read(tractor, "2410.0", NOW - 6 * HOUR)
    with pytest.raises(MeterRunsTooFast, match=r"would gain 30.1 h in 6.0 h"):
        read(tractor, "2440.1")
    read(tractor, "2440.0")


def test_a_meter_may_stand_still_and_shows_no_tenth_less(tractor: Machine) -> None:
    read(tractor, "2410.0", NOW - 6 * HOUR)
    read(tractor, "2410.0")
    with pytest.raises(MeterRunsBackwards):
        read(tractor, "2409.9")


def test_a_meter_that_was_replaced_at_noon_is_read_before_and_after_on_that_day(tractor: Machine) -> None:
    read(tractor, "2410.0", NOW - 10 * HOUR)
    replace(tractor, "2413.0", "0.0", NOW - 6 * HOUR)
    read(tractor, "2412.0", NOW - 8 * HOUR)
    read(tractor, "4.5", NOW - HOUR)
    assert shown_h(machine=tractor, at=NOW) == Decimal("4.5")
    with pytest.raises(MeterRunsBackwards, match=r"4.4 h after 4.5 h"):
        read(tractor, "4.4")
    with pytest.raises(MeterRunsBackwards, match=r"2413.1 h before 2413.0 h"):
        read(tractor, "2413.1", NOW - 7 * HOUR)


def test_a_meter_of_four_digits_that_began_anew_is_told_as_replaced(tractor: Machine) -> None:
    Machine.objects.update(meter_start_h=Decimal("9990.0"))
    tractor.refresh_from_db()
    read(tractor, "9998.0", NOW - 10 * HOUR)
    with pytest.raises(MeterRunsBackwards):
        read(tractor, "1.5", NOW - HOUR)
    replace(tractor, "9999.9", "0.0", NOW - 8 * HOUR)
    read(tractor, "1.5", NOW - HOUR)
    assert HourReading.objects.count() == 2


def test_a_service_is_corrected_once_and_what_was_never_done_is_not_taken_back(tractor: Machine) -> None:
    rule = make_rule(tractor, "oil", every_h=Decimal(250))

    def served(supersedes: CareDone | None = None, **facts: bool) -> CareDone:
        done, _is_new = record_care(
            farm=tractor.farm,
            client_id=uuid.uuid4(),
            rule=rule,
            done_at=NOW,
            supersedes=supersedes,
            recorded_by=None,
            now=NOW,
            **facts,
        )
        return done

    with pytest.raises(BadRecord, match="Name the row"):
        served(is_taken_back=True)
    first = served()
    second = served(first)
    with pytest.raises(SupersededAlready, match="correct the newer one"):
        served(first)
    with pytest.raises(SupersededAlready, match="correct the newer one"):
        take_back_care(done=first, recorded_by=None, now=NOW)
    gone, _is_new = take_back_care(done=second, recorded_by=None, now=NOW)
    with pytest.raises(SupersededAlready, match="took another back"):
        served(gone)
    assert CareDone.objects.count() == 3
