"""A report of a phone whose clock is wrong is kept and dated by ours; one of a clock set in between waits."""

import datetime as dt

import pytest

from scheduling.models import FieldReport, HourReading, WorkRecord
from tests.ledger.makers import Place, make_place
from tests.scheduling.sending import NOW, code_of, send, work_body

pytestmark = pytest.mark.django_db


@pytest.fixture
def place() -> Place:
    return make_place(rated=False)


@pytest.mark.parametrize(
    ("made", "sent", "written"),
    [
        (dt.timedelta(minutes=9), None, dt.timedelta()),
        (dt.timedelta(days=-3), None, dt.timedelta(days=-3)),
        (dt.timedelta(days=-1), dt.timedelta(minutes=-9), dt.timedelta(days=-1)),
        (dt.timedelta(days=-1), dt.timedelta(days=-1), dt.timedelta()),
        (dt.timedelta(days=-366, hours=-2), dt.timedelta(days=-366), dt.timedelta(hours=-2)),
        (dt.timedelta(days=365), dt.timedelta(days=365, hours=5), dt.timedelta(hours=-5)),
        (dt.timedelta(days=1, minutes=5), dt.timedelta(days=1), dt.timedelta()),
        (dt.timedelta(minutes=11), None, None),
        (dt.timedelta(days=-20000), None, None),
        (dt.timedelta(days=1), dt.timedelta(), None),
        (dt.timedelta(days=-70), dt.timedelta(days=-1), None),
    ],
)
def test_a_report_is_dated_by_the_time_that_passed_on_the_senders_own_clock(
    place: Place, made: dt.timedelta, sent: dt.timedelta | None, written: dt.timedelta | None
) -> None:
    """Our clock shows NOW as it comes; `written` is by ours, None where the sender's clock was set in between."""
    received = send(
        place,
        "work",
        work_body(place),
        made_at=NOW + made,
        sent_at=None if sent is None else NOW + sent,
    )
    report = FieldReport.objects.get()
    assert report.written_at == (None if written is None else NOW + written)
    assert report.made_at == NOW + made
    assert received.state == ("parked" if written is None else "kept")
    assert WorkRecord.objects.count() == int(written is not None)
    if written is None:
        assert code_of(received) == "clock_off"


def test_a_reading_of_a_phone_that_is_a_year_behind_stands_at_the_hour_it_was_read(place: Place) -> None:
    year = dt.timedelta(days=365)
    body = {"machine": place.machine.code, "reading": "2404.5"}
    received = send(place, "meter", body, made_at=NOW - year - dt.timedelta(hours=3), sent_at=NOW - year)
    assert received.state == "kept"
    reading = HourReading.objects.get(client_id=received.report.client_id)
    assert reading.read_at == NOW - dt.timedelta(hours=3)
