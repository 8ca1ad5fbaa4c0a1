"""Reports of fuel and of sprayings through the one door: kept once, parked where they do not fit, lost never."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

import pytest

from farmops.farms.models import HandLicense
from scheduling.models import FuelFill, HourReading, ParkedState, Spraying
from scheduling.services.parked import take_over
from scheduling.services.report_body import BodyUnreadable
from scheduling.services.spray_details import NoValidLicense
from tests.ledger.makers import Place, make_place
from tests.scheduling.sending import DAY, NOW, code_of, count, parked_of, send

pytestmark = pytest.mark.django_db


@pytest.fixture
def place() -> Place:
    place = make_place(rated=False)
    place.hand.language = "es"
    place.hand.save()
    return place


def fuel_body(**facts: Any) -> dict[str, Any]:
    return {"machine": "tractor-1", "gallons": "61.5", "meter": "2410.5", **facts}


def spray_body(*, restricted: bool = True, **facts: Any) -> dict[str, Any]:
    return {
        "field": "pond-40",
        "started_at": f"{DAY}T07:30",
        "ended_at": f"{DAY}T09:30",
        "products": [
            {
                "name": "Row Insecticide B",
                "registration_no": "99999-345",
                "rate": "3.2",
                "unit": "oz",
                "total": "128",
                "restricted": restricted,
            }
        ],
        "reentry_h": "24",
        "treated_ac": "40",
        "crop": "cotton",
        **facts,
    }


def test_a_fill_up_sent_again_is_one_fill_up(place: Place) -> None:
    one_id = uuid.uuid4()
    assert [send(place, "fuel", fuel_body(), client_id=one_id).state for _again in range(3)] == [
        "kept",
        "again",
        "again",
    ]
    assert FuelFill.objects.get().gallons == Decimal("61.5")
    assert HourReading.objects.count() == 1


def test_a_meter_that_runs_back_parks_the_whole_fill_up(place: Place) -> None:
    received = send(place, "fuel", fuel_body(meter="12"))
    assert (received.state, code_of(received)) == ("parked", "meter_runs_backwards")
    assert not FuelFill.objects.exists(), "both or neither"
    taken = take_over(
        parked=parked_of(received), changes={"meter": "2412"}, note="misread", settled_by=None, now=NOW
    )
    assert taken.state == ParkedState.TAKEN
    assert FuelFill.objects.get().meter_h == Decimal(2412)


def test_a_fill_up_that_cannot_be_read_is_told_in_the_hands_language(place: Place) -> None:
    with pytest.raises(BodyUnreadable, match="no es un número"):
        send(place, "fuel", fuel_body(gallons="mucho"))
    assert count() == 0


def test_a_restricted_product_without_a_license_waits_with_a_reason_in_the_hands_language(
    place: Place,
) -> None:
    received = send(place, "spray", spray_body())
    parked = parked_of(received)
    assert parked.code == "no_valid_license"
    assert (
        "Row Insecticide B: restricted-use, and Imani has no license that is valid on 2026-04-20"
        in parked.why
    )
    assert "uso restringido" in parked.why_for_hand
    assert parked.why_for_hand in received.says
    assert parked.report.body["products"][0]["total"] == "128"
    assert not Spraying.objects.exists()


def test_it_is_taken_over_once_the_license_is_on_file_and_not_before(place: Place) -> None:
    parked = parked_of(send(place, "spray", spray_body()))
    with pytest.raises(NoValidLicense):
        take_over(parked=parked, settled_by=None, now=NOW)
    parked.refresh_from_db()
    assert parked.state == ParkedState.WAITING
    HandLicense.objects.create(
        farm=place.farm, hand=place.hand, number="PA-1", expires_on=dt.date(2026, 4, 20)
    )
    take_over(parked=parked, settled_by=None, now=NOW)
    row = Spraying.objects.get()
    assert (row.client_id, row.detail.license_no) == (parked.report.client_id, "PA-1")


def test_a_spraying_of_general_use_needs_no_license(place: Place) -> None:
    assert send(place, "spray", spray_body(restricted=False)).state == "kept"
    assert Spraying.objects.get().detail.applicator_name == place.hand.name


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"treated_ac": "400"}, "acres_over"),
        ({"ended_at": f"{DAY}T06:00"}, "bad_record"),
        ({"started_at": f"{DAY}T07:30:00+05:00", "ended_at": "2026-04-21T09:30"}, "bad_record"),
        ({"field": "sawpit"}, "not_this_farm"),
        ({"pass_id": 999_999}, "not_this_farm"),
    ],
)
def test_a_spraying_that_does_not_fit_waits(place: Place, change: dict[str, Any], code: str) -> None:
    assert code_of(send(place, "spray", spray_body(restricted=False, **change))) == code
    assert count() == 1
    assert not Spraying.objects.exists()
