"""A hand's report of an incident becomes one incident with its place and mending."""

import uuid
from decimal import Decimal
from typing import Any

import pytest

from farmops.farms.models import Field, Hand
from scheduling.models import FieldReport, Incident, IncidentMended, IncidentPlace, ParkedReport
from scheduling.services.receiving import receive_report
from scheduling.services.refusals import NotThisFarm
from scheduling.services.report_body import BodyUnreadable
from scheduling.services.report_incident import take
from tests.factories import make_farm, make_field, make_hand, make_machine
from tests.scheduling.incident_makers import NOON

pytestmark = pytest.mark.django_db


@pytest.fixture
def hand() -> Hand:
    farm = make_farm()
    make_field(farm)
    make_machine(farm)
    return make_hand(farm)


def taken(hand: Hand, body: dict[str, Any], *, client_id: int = 5, times: int = 1) -> Incident:
    report = FieldReport(
        farm=hand.farm,
        client_id=uuid.UUID(int=client_id),
        hand=hand,
        kind="incident",
        body=body,
        received_at=NOON,
    )
    for _time in range(times):
        take(farm=hand.farm, hand=hand, report=report, body=body, now=NOON, sent_by=None)
    return Incident.objects.get()


FULL = {
    "kind": "puncture",
    "field": "pond-40",
    "machine": "tractor-1",
    "wheel": "rear left, inner",
    "met": "hueso",
    "happened_at": "2026-04-20T09:15:00-04:00",
    "lost_minutes": 75,
    "latitude_deg": "31.6021",
    "longitude_deg": "-83.5171",
    "placed_by": "phone",
    "mending": "repair",
    "note": "Near the old fence.",
}


def test_all_that_was_said_is_kept_and_taken_twice_it_is_kept_once(hand: Hand) -> None:
    found = taken(hand, FULL, times=2)
    assert (found.field, found.hand, found.wheel, found.met) == (
        Field.objects.get(),
        hand,
        "rear left, inner",
        "hueso",
    )
    assert (found.machine.code if found.machine else "", found.lost_min) == ("tractor-1", 75)
    assert f"{found.happened_at:%H:%M}" == "13:15"
    place = IncidentPlace.objects.get()
    assert (place.latitude_deg, place.longitude_deg, place.placed_by) == (
        Decimal("31.6021"),
        Decimal("-83.5171"),
        "phone",
    )
    assert (IncidentMended.objects.get().mending, IncidentMended.objects.get().lost_min) == ("repair", 75)


def test_only_the_kind_is_needed_and_the_hour_is_that_of_the_report(hand: Hand) -> None:
    found = taken(hand, {"kind": "stuck"})
    assert (found.kind, found.happened_at, found.field, found.machine) == ("stuck", NOON, None, None)
    assert not IncidentPlace.objects.exists()
    assert not IncidentMended.objects.exists()


def test_the_place_names_the_field_where_the_report_does_not(hand: Hand) -> None:
    body = {"kind": "puncture", "latitude_deg": "31.6018", "longitude_deg": "-83.5179"}
    assert taken(hand, body).field == Field.objects.get()


@pytest.mark.parametrize(
    "body",
    [
        {},
        {"kind": "flat"},
        {"kind": "puncture", "wheels": "two"},
        {"kind": "puncture", "lost_minutes": "an hour"},
        {"kind": "puncture", "latitude_deg": 91, "longitude_deg": 0},
        {"kind": "puncture", "mending": "glue"},
    ],
)
def test_what_cannot_be_read_is_refused_whole(hand: Hand, body: dict[str, Any]) -> None:
    with pytest.raises(BodyUnreadable):
        taken(hand, body)
    assert not Incident.objects.exists()


def test_what_does_not_fit_is_refused_so_that_it_is_parked(hand: Hand) -> None:
    with pytest.raises(NotThisFarm):
        taken(hand, {"kind": "puncture", "field": "no-such"})
    assert not Incident.objects.exists()


@pytest.mark.parametrize(
    ("place", "says"),
    [
        ({"latitude_deg": "31.6"}, "Place not kept: latitude 31.6 alone."),
        ({"latitude_deg": "-83.51", "longitude_deg": "31.6"}, "Place not kept: -83.51, 31.6. The place lies"),
        ({"latitude_deg": "0", "longitude_deg": "0"}, "Place not kept: 0, 0. The place lies"),
    ],
)
def test_a_place_that_cannot_be_holds_nothing_up(hand: Hand, place: dict[str, str], says: str) -> None:
    found = taken(hand, {"kind": "puncture", "note": "By the gate.", **place}, times=2)
    assert found.note.startswith(f"By the gate.\n{says}")
    assert not IncidentPlace.objects.exists()


def test_it_comes_in_like_every_report_and_an_unknown_field_waits_for_the_manager(hand: Hand) -> None:
    def sent(number: int, body: dict[str, Any]) -> str:
        found = receive_report(
            farm=hand.farm,
            hand=hand,
            client_id=uuid.UUID(int=number),
            kind="incident",
            body=body,
            sent_by=None,
            now=NOON,
        )
        return found.state

    assert [sent(1, FULL), sent(1, FULL)] == ["kept", "again"]
    assert Incident.objects.get().client_id == uuid.UUID(int=1)
    assert sent(2, {"kind": "puncture", "field": "no-such"}) == "parked"
    assert Incident.objects.count() == 1
    assert ParkedReport.objects.get().code == "not_this_farm"
