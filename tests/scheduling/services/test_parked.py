"""What waits is taken over, corrected where need be, or set aside with a reason; the report stays as it was sent."""

import datetime as dt

import pytest

from farmops.core.models import User
from scheduling.models import FieldReport, HourReading, ParkedReport, ParkedState, WorkDay, WorkRecord
from scheduling.selectors.reports import became_of, settled_reports, waiting_reports
from scheduling.services.parked import set_aside, take_over
from scheduling.services.refusals import BadRecord, Over24Hours, ParkedSettled
from scheduling.services.report_body import BodyUnreadable
from scheduling.services.work import CALLED_OFF_NOTE, call_off
from tests.factories import make_hand
from tests.ledger.makers import Place, make_place
from tests.scheduling.sending import NOW, day_body, parked_of, send, send_plan, work_body

pytestmark = pytest.mark.django_db
LATER = NOW + dt.timedelta(hours=2)


@pytest.fixture
def place() -> Place:
    return make_place(rated=False)


@pytest.fixture
def boss(db: None) -> User:
    return User.objects.create_user("mona")


@pytest.fixture
def long_day(place: Place) -> ParkedReport:
    return parked_of(send(place, "work", work_body(place, hours="25")))


def test_a_report_is_taken_over_with_corrected_hours(long_day: ParkedReport, boss: User) -> None:
    settled = take_over(
        parked=long_day, changes={"hours": "9"}, note="Asked him.", settled_by=boss, now=LATER
    )
    record = WorkRecord.objects.get()
    assert (record.hand_min, record.client_id, record.recorded_by) == (540, long_day.report.client_id, boss)
    assert (settled.state, settled.settled_by, settled.settled_at) == (ParkedState.TAKEN, boss, LATER)
    assert (settled.settled_note, settled.changes) == ("Asked him.", {"hours": "9"})
    report = FieldReport.objects.get()
    assert (report.body["hours"], became_of(report)) == ("25", "kept")
    assert not waiting_reports(farm=report.farm).exists()
    assert settled_reports(farm=report.farm).get() == settled


def test_what_still_cannot_be_goes_on_waiting(long_day: ParkedReport, boss: User) -> None:
    with pytest.raises(Over24Hours):
        take_over(parked=long_day, settled_by=boss, now=LATER)
    with pytest.raises(BodyUnreadable):
        take_over(parked=long_day, changes={"hours": "nine"}, settled_by=boss, now=LATER)
    long_day.refresh_from_db()
    assert (long_day.state, WorkRecord.objects.count()) == (ParkedState.WAITING, 0)


def test_the_manager_may_overrule_what_was_doubted(place: Place, boss: User) -> None:
    call_off(field_pass=place.field_pass, why="rain", now=NOW)
    send_plan(place, make_hand(place.farm, "odell"))
    late = NOW + dt.timedelta(days=8)
    parked = parked_of(send(place, "work", work_body(place), now=late, sent_at=NOW))
    take_over(parked=parked, settled_by=boss, now=late)
    record = WorkRecord.objects.get()
    assert (record.hand_min, record.note) == (300, CALLED_OFF_NOTE)
    assert (record.machine, record.machine_min) == (
        place.machine,
        300,
    )  # the outfit that the plan gives the pass


def test_a_value_can_be_taken_out(place: Place, boss: User) -> None:
    send(place, "meter", {"machine": "tractor-1", "reading": "2405"}, now=NOW - dt.timedelta(hours=1))
    send_plan(place, place.hand)
    parked = parked_of(send(place, "work", work_body(place, meter="2401")))
    take_over(parked=parked, changes={"meter": None}, settled_by=boss, now=LATER)
    assert (WorkRecord.objects.count(), HourReading.objects.count()) == (1, 1)


def test_a_day_and_a_meter_are_taken_over_as_well(place: Place, boss: User) -> None:
    day = parked_of(send(place, "day", day_body(starts="17:00", ends="16:00")))
    take_over(parked=day, changes={"starts": "07:00"}, settled_by=boss, now=LATER)
    assert WorkDay.objects.get().worked_min == 510
    meter = parked_of(send(place, "meter", {"machine": "tractor-1", "reading": "5"}))
    take_over(parked=meter, changes={"reading": "2405"}, settled_by=boss, now=LATER)
    assert HourReading.objects.get().client_id == meter.report.client_id


def test_a_report_is_set_aside_with_a_reason(long_day: ParkedReport, boss: User) -> None:
    with pytest.raises(BadRecord):
        set_aside(parked=long_day, reason=" ", settled_by=boss, now=LATER)
    settled = set_aside(parked=long_day, reason="A test of the phone.", settled_by=boss, now=LATER)
    assert (settled.state, settled.settled_note) == (ParkedState.SET_ASIDE, "A test of the phone.")
    assert (WorkRecord.objects.count(), became_of(FieldReport.objects.get())) == (0, "set_aside")


def test_what_is_settled_is_not_settled_again(long_day: ParkedReport, boss: User) -> None:
    take_over(parked=long_day, changes={"hours": "9"}, settled_by=boss, now=LATER)
    with pytest.raises(ParkedSettled):
        take_over(parked=long_day, changes={"hours": "10"}, settled_by=boss, now=LATER)
    with pytest.raises(ParkedSettled):
        set_aside(parked=long_day, reason="no", settled_by=boss, now=LATER)
    assert WorkRecord.objects.get().hand_min == 540


def test_of_what_came_twice_both_stand_or_one_is_taken_back(place: Place, boss: User) -> None:
    body = work_body(place, hours="4", done_ac="5", starts="08:00")
    send(place, "work", body)
    second, third = (parked_of(send(place, "work", body)) for _time in range(2))
    with pytest.raises(BadRecord):
        take_over(parked=second, changes={"hours": "3"}, settled_by=boss, now=LATER)
    take_over(parked=second, settled_by=boss, now=LATER)
    set_aside(parked=third, reason="sent twice", settled_by=boss, now=LATER)
    standing = WorkRecord.objects.filter(superseded_by__isnull=True)
    assert sorted(standing.values_list("hand_min", flat=True)) == [0, 240, 240]
    place.field_pass.refresh_from_db()
    assert place.field_pass.done_ac == 10
    became = {became_of(report) for report in FieldReport.objects.select_related("parked")}
    assert became == {"kept", "set_aside"}


def test_a_report_taken_over_and_sent_again_is_the_same_report(
    place: Place, long_day: ParkedReport, boss: User
) -> None:
    take_over(parked=long_day, changes={"hours": "9"}, settled_by=boss, now=LATER)
    again = send(place, "work", long_day.report.body, client_id=long_day.report.client_id, now=LATER)
    assert (again.state, WorkRecord.objects.count()) == ("again", 1)
