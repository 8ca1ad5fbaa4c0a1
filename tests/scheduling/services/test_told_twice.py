"""The same service or fill-up told by two hands: both are kept, the manager is asked, and one can be taken back."""

import datetime as dt
from decimal import Decimal
from typing import Any

import pytest

from scheduling.models import CareDone, WorkRecord
from scheduling.selectors.care import standing_care
from scheduling.selectors.fuel import standing_fills
from scheduling.selectors.incidents import incident_facts
from scheduling.services.parked import set_aside, take_over
from scheduling.services.receiving import Received
from tests.factories import make_hand, make_machine
from tests.ledger.makers import Place, make_place
from tests.scheduling.care_facts import make_rule
from tests.scheduling.sending import NOW, parked_of, send

pytestmark = pytest.mark.django_db
SERVED: dict[str, Any] = {"rule": "oil", "minutes": 45, "parts_dollars": "86.40"}
FILLED: dict[str, Any] = {"machine": "tractor-1", "gallons": "61.5"}
FLAT: dict[str, Any] = {"kind": "puncture", "machine": "tractor-1", "wheel": "rear left", "lost_minutes": 75}


@pytest.fixture
def place() -> Place:
    place = make_place(rated=False)
    make_rule(place.machine, "oil", every_h=Decimal(250))
    return place


def told_by_odell(place: Place, kind: str, body: dict[str, Any], later: dt.timedelta) -> Received:
    odell = make_hand(place.farm, "odell", name="Odell", language="es")
    return send(place, kind, body, hand=odell, now=NOW + later)


@pytest.mark.parametrize(
    ("kind", "body", "hours", "state"),
    [
        ("care", SERVED, 12, "flagged"),
        ("care", SERVED, 12.1, "kept"),
        ("fuel", FILLED, 2, "flagged"),
        ("fuel", FILLED, 2.1, "kept"),
        ("fuel", {**FILLED, "gallons": "61.4"}, 1, "kept"),
    ],
)
def test_what_a_second_hand_tells_of_about_the_same_hour_is_kept_and_shown_to_the_manager(
    place: Place, kind: str, body: dict[str, Any], hours: float, state: str
) -> None:
    send(place, kind, {"care": SERVED, "fuel": FILLED}[kind])
    received = told_by_odell(place, kind, body, dt.timedelta(hours=hours))
    assert received.state == "kept"
    assert standing_care(farm=place.farm).count() + standing_fills(farm=place.farm).count() == 2
    if state == "flagged":
        assert "ya dijo lo mismo a esa hora" in received.says
        assert parked_of(received).why.startswith(f"{place.hand.name} told of the same")
    else:
        assert received.parked is None


def test_set_aside_the_second_one_counts_no_more_and_takes_nothing_else_with_it(place: Place) -> None:
    first = send(place, "care", SERVED)
    fill = send(place, "fuel", FILLED)
    again = told_by_odell(place, "care", SERVED, dt.timedelta(hours=1))
    filled_again = send(place, "fuel", FILLED)
    for one in (again, filled_again):
        set_aside(parked=parked_of(one), reason="the same", settled_by=None, now=NOW)
    assert [one.client_id for one in standing_care(farm=place.farm)] == [first.report.client_id]
    assert [one.client_id for one in standing_fills(farm=place.farm)] == [fill.report.client_id]
    assert not WorkRecord.objects.exists()


def test_taken_over_both_stand(place: Place) -> None:
    send(place, "care", SERVED)
    again = told_by_odell(place, "care", SERVED, dt.timedelta(hours=1))
    take_over(parked=parked_of(again), settled_by=None, now=NOW)
    assert standing_care(farm=place.farm).count() == CareDone.objects.count() == 2


@pytest.mark.parametrize(
    ("body", "hours", "state"),
    [
        (FLAT, 4, "flagged"),
        (FLAT, 4.1, "kept"),
        ({**FLAT, "wheel": ""}, 1, "flagged"),
        ({**FLAT, "wheel": "Rear left "}, 1, "flagged"),
        ({**FLAT, "wheel": "front left"}, 1, "kept"),
        ({**FLAT, "kind": "stuck"}, 1, "kept"),
        ({"kind": "puncture"}, 1, "kept"),
    ],
)
def test_a_flat_tire_that_a_second_hand_tells_of_is_kept_and_shown_to_the_manager(
    place: Place, body: dict[str, Any], hours: float, state: str
) -> None:
    send(place, "incident", FLAT)
    received = told_by_odell(place, "incident", body, dt.timedelta(hours=hours))
    assert received.state == "kept"
    assert len(incident_facts(farm=place.farm)) == 2
    if state == "flagged":
        assert "¿pasó dos veces?" in received.says
        assert parked_of(received).why.endswith("did it happen twice?")
    else:
        assert received.parked is None


def test_two_flats_of_one_hand_and_one_of_another_machine_are_two(place: Place) -> None:
    send(place, "incident", FLAT)
    assert send(place, "incident", FLAT, now=NOW + dt.timedelta(hours=1)).parked is None
    make_machine(place.farm, "tractor-9")
    assert told_by_odell(place, "incident", {**FLAT, "machine": "tractor-9"}, dt.timedelta(0)).parked is None


def test_a_flat_set_aside_as_the_same_counts_once(place: Place) -> None:
    first = send(place, "incident", FLAT)
    again = told_by_odell(place, "incident", FLAT, dt.timedelta(hours=1))
    set_aside(parked=parked_of(again), reason="the same", settled_by=None, now=NOW)
    facts = incident_facts(farm=place.farm)
    counted = [one for one in facts if not one.is_mistake]
    assert [one.incident.client_id for one in counted] == [first.report.client_id]
    assert sum(one.lost_min for one in facts) == 75


def test_a_flat_that_was_entered_by_mistake_is_no_first_one(place: Place) -> None:
    send(place, "incident", FLAT)
    again = told_by_odell(place, "incident", FLAT, dt.timedelta(hours=1))
    set_aside(parked=parked_of(again), reason="the same", settled_by=None, now=NOW)
    third = send(place, "incident", FLAT, now=NOW + dt.timedelta(hours=2))
    assert third.parked is None
