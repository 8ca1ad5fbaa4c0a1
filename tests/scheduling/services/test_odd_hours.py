"""Hours, days and readings that nobody means: each waits for the manager or is asked again, and none is taken as it is."""

import datetime as dt
from decimal import Decimal
from typing import Any

import pytest

from scheduling.models import HourReading, Incident, WorkDay, WorkRecord
from scheduling.services.report_body import BodyUnreadable
from tests.ledger.makers import Place, make_place
from tests.scheduling.ground import NEW_YORK
from tests.scheduling.sending import DAY, NOW, code_of, day_body, send, work_body

pytestmark = pytest.mark.django_db


@pytest.fixture
def place() -> Place:
    return make_place(rated=False)


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("meter", {"machine": "tractor-1", "reading": "2405", "read_at": "9999-12-31T23:59"}),
        ("meter", {"machine": "tractor-1", "reading": "2405", "read_at": "0001-01-01T00:00"}),
        ("fuel", {"machine": "tractor-1", "gallons": "20", "filled_at": "9999-12-31T23:59"}),
        ("incident", {"kind": "stuck", "happened_at": "0001-01-01T00:00"}),
    ],
)
def test_an_hour_of_a_year_that_no_calendar_here_has_is_asked_again(
    place: Place, kind: str, body: dict[str, Any]
) -> None:
    """Near the ends of its years the clock cannot be put on another zone at all (datetime, `OverflowError`)."""
    with pytest.raises(BodyUnreadable, match="is not a day and hour"):
        send(place, kind, body)


@pytest.mark.parametrize("told_at", ["1970-01-01T00:00:00Z", "1979-12-31T10:00"])
def test_a_reading_or_an_incident_of_a_year_that_nobody_means_waits(place: Place, told_at: str) -> None:
    reading = send(place, "meter", {"machine": "tractor-1", "reading": "2405", "read_at": told_at})
    incident = send(place, "incident", {"kind": "stuck", "happened_at": told_at})
    assert (code_of(reading), code_of(incident)) == ("bad_record", "bad_record")
    assert not HourReading.objects.exists()
    assert not Incident.objects.exists()


@pytest.mark.parametrize(
    ("reading", "state"), [("24012", "parked"), ("11184", "kept"), ("11184.1", "parked")]
)
def test_a_first_reading_far_above_the_meter_as_it_was_entered_waits(
    place: Place, reading: str, state: str
) -> None:
    """2401.2 without its point. The tractor was entered with 2,400 h, and a year has 366 x 24 = 8,784 at most."""
    assert place.machine.meter_start_h == 2400
    assert send(place, "meter", {"machine": "tractor-1", "reading": reading}).state == state


@pytest.mark.parametrize(
    ("body", "state"),
    [
        (
            day_body(starts="17:00", ends="07:00"),
            "parked",
        ),  # the wrong way round: it would end tomorrow at seven
        (day_body(ends="19:30"), "kept"),
        (day_body(ends="19:31"), "parked"),
        (day_body(worked_hours="10"), "kept"),
        (day_body(worked_hours="10.1"), "parked"),
    ],
)
def test_a_day_that_is_not_over_or_has_more_hours_than_from_start_to_stop_waits(
    place: Place, body: dict[str, Any], state: str
) -> None:
    """It is half past six in the evening."""
    received = send(place, "day", body)
    assert received.state == state
    if body["starts"] > body["ends"]:
        assert code_of(received) == "hours_ahead"
        assert received.says.endswith("is it morning for evening, or another day?")
    assert WorkDay.objects.exists() is (state == "kept")


@pytest.mark.parametrize(
    ("facts", "state"),
    [
        ({"hours": "8"}, "parked"),
        ({"hours": "7.5"}, "kept"),
        ({"starts": "05:00", "hours": "2.6"}, "parked"),
        ({"starts": "05:00", "hours": "2.5"}, "kept"),
    ],
)
def test_hours_that_have_not_been_worked_yet_wait(place: Place, facts: dict[str, str], state: str) -> None:
    """At half past six in the morning a day has had six and a half hours, and one more is let through."""
    now = dt.datetime.combine(DAY, dt.time(6, 30), NEW_YORK)
    assert send(place, "work", work_body(place, **facts), now=now).state == state
    assert WorkRecord.objects.exists() is (state == "kept")


def test_the_same_hours_sent_the_next_morning_are_kept(place: Place) -> None:
    send(place, "work", work_body(place, hours="14"), now=NOW + dt.timedelta(hours=12))
    assert WorkRecord.objects.get().hand_min == Decimal(14 * 60)
