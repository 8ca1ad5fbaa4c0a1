"""Fuel by the interface: a hand's own fill-ups, the office's deliveries and readings."""

import uuid
from decimal import Decimal
from typing import Any

import pytest

from scheduling.models import FuelDelivery, FuelFill, HourReading, TankReading
from tests.api.conftest import Yard, client_of

AT = "2026-04-20T11:30:00-04:00"


def fill(**facts: Any) -> dict[str, Any]:
    return {
        "client_id": str(uuid.uuid4()),
        "machine": "tractor-1",
        "tank": "yard-diesel",
        "filled_at": AT,
        "gallons": "55.5",
        **facts,
    }


def test_a_hands_fill_up_is_his_own_and_comes_with_the_meter(yard: Yard) -> None:
    hand, at = client_of("hand-a"), f"{yard.at}fuel-fills/"
    body = fill(meter_h="2410.5")
    first = hand.post(at, body, format="json")
    assert first.status_code == 201, first.content
    assert (first.json()["hand"], first.json()["fuel"]) == (yard.place.hand.code, "diesel")
    assert hand.post(at, body, format="json").status_code == 200
    assert HourReading.objects.filter(read_at=AT).count() == 1
    other = client_of("manager-a").post(at, fill(hand=yard.other_hand.code), format="json").json()
    assert other["id"] not in {row["id"] for row in hand.get(at).json()["results"]}
    assert hand.post(at, fill(hand=yard.other_hand.code), format="json").status_code == 403
    wrong = hand.post(at, fill(supersedes=other["id"]), format="json")
    assert wrong.status_code == 403


def test_taking_back_leaves_the_meter_alone(yard: Yard) -> None:
    client, at = client_of("manager-a"), f"{yard.at}fuel-fills/"
    kept = client.post(at, fill(meter_h="2410.5"), format="json").json()
    gone = client.post(at, fill(meter_h="2410.5", is_taken_back=True, supersedes=kept["id"]), format="json")
    assert gone.status_code == 201, gone.content
    assert HourReading.objects.filter(read_at=AT).count() == 1
    assert client.get(f"{at}{kept['id']}/").json()["superseded_by"] == gone.json()["id"]


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"gallons": 55.5}, "invalid"),
        ({"gallons": "0"}, "bad_record"),
        ({"gallons": "1000.1"}, "bad_record"),
        ({"fuel": "kerosene"}, "invalid"),
        ({"fuel": "gasoline"}, "bad_record"),
        ({"filled_at": "2190-04-24T07:30:00-04:00"}, "bad_record"),
        ({"meter_h": "12.0"}, "meter_runs_backwards"),
        ({"is_staff": True}, "invalid"),
    ],
)
def test_a_fill_up_that_cannot_be_is_refused(yard: Yard, change: dict[str, Any], code: str) -> None:
    before = FuelFill.objects.count()
    answer = client_of("hand-a").post(f"{yard.at}fuel-fills/", fill(**change), format="json")
    assert (answer.status_code, answer.json()["code"]) == (422, code), answer.content
    assert FuelFill.objects.count() == before


def test_the_office_books_deliveries_and_readings(yard: Yard) -> None:
    client = client_of("bookkeeper-a")
    delivery = {
        "client_id": str(uuid.uuid4()),
        "tank": "yard-diesel",
        "delivered_at": AT,
        "gallons": "500.0",
        "ticket_no": "T-7",
    }
    assert client.post(f"{yard.at}fuel-deliveries/", delivery, format="json").status_code == 201
    assert FuelDelivery.objects.filter(ticket_no="T-7", gallons=Decimal(500)).count() == 1
    reading = {"client_id": str(uuid.uuid4()), "tank": "yard-diesel", "read_at": AT, "gallons": "0"}
    assert client.post(f"{yard.at}tank-readings/", reading, format="json").status_code == 201
    assert TankReading.objects.filter(gallons=0).count() == 1
    over = {**reading, "client_id": str(uuid.uuid4()), "gallons": "1000.1"}
    assert client.post(f"{yard.at}tank-readings/", over, format="json").json()["code"] == "bad_record"


def test_rows_are_found_by_their_tank_and_machine(yard: Yard) -> None:
    client = client_of("manager-a")
    client.post(f"{yard.at}fuel-fills/", fill(tank=None), format="json")
    assert len(client.get(f"{yard.at}fuel-fills/").json()["results"]) == 2
    assert len(client.get(f"{yard.at}fuel-fills/?tank=yard-diesel").json()["results"]) == 1
    assert len(client.get(f"{yard.at}fuel-deliveries/?tank=yard-gas").json()["results"]) == 0


def test_a_tank_is_entered_and_changed(yard: Yard) -> None:
    client, at = client_of("manager-a"), f"{yard.at}fuel-tanks/"
    tank = {"code": "yard-gas", "name": "yard gasoline", "fuel": "gasoline", "holds_gal": "300.0"}
    assert client.post(at, tank, format="json").json() == tank
    assert client.patch(f"{at}yard-gas/", {"holds_gal": "0"}, format="json").status_code == 422
    assert client.patch(f"{at}yard-gas/", {"holds_gal": "280"}, format="json").json()["holds_gal"] == "280.0"
