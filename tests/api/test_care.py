"""Service rules, what was done and what is due, and what crops lose, through the API."""

import datetime as dt
import uuid
from typing import Any

import pytest

from farmops.farms.models import CareRule, LatePlantingFacts, Pivot
from scheduling.models import CareDone
from tests.api.conftest import Yard, client_of
from tests.ledger.makers import NOON

RULE: dict[str, Any] = {
    "code": "grease-disk",
    "implement": "disk-1",
    "what": "grease the bearings",
    "every_h": "10.0",
    "every_days": 7,
    "takes_min": 25,
    "place": "field",
    "hands": ["imani"],
    "source": "maker's manual",
}


def test_a_service_rule_is_entered_changed_and_read(yard: Yard) -> None:
    client, at = client_of("manager-a"), f"{yard.at}care-rules/"
    made = client.post(at, RULE, format="json")
    assert made.status_code == 201
    assert made.json().items() >= RULE.items()
    changed = client.patch(
        f"{at}grease-disk/", {"hands": [], "every_h": None, "is_must": True}, format="json"
    )
    assert (changed.json()["hands"], changed.json()["every_h"], changed.json()["is_must"]) == ([], None, True)
    [row] = client.get(f"{at}?implement=disk-1").json()["results"]
    assert row["code"] == "grease-disk"
    assert client.post(at, RULE, format="json").json()["code"] == "fact_taken"


@pytest.mark.parametrize(
    ("odd", "says"),
    [
        ({"implement": None}, "one machine, of one implement or of one pivot"),
        ({"machine": "tractor-1"}, "one machine, of one implement or of one pivot"),
        ({"every_h": None, "every_days": None}, "how often"),
        ({"every_h": "0.0"}, "outside 1 to 10000"),
        ({"takes_min": 0}, "outside 1 to 1440"),
        ({"takes_min": 1441}, "outside 1 to 1440"),
    ],
)
def test_a_service_rule_that_makes_no_sense_is_refused(yard: Yard, odd: dict[str, Any], says: str) -> None:
    refused = client_of("manager-a").post(f"{yard.at}care-rules/", {**RULE, **odd}, format="json")
    assert (refused.status_code, refused.json()["code"]) == (422, "fact_refused")
    assert says in refused.json()["detail"]
    assert CareRule.objects.filter(farm=yard.farm).count() == 1


def test_a_rule_of_a_pivot_is_entered_by_its_field_and_counts_starts(yard: Yard) -> None:
    client, at = client_of("manager-a"), f"{yard.at}care-rules/"
    pivot = Pivot.objects.filter(farm=yard.farm).first()
    assert pivot is not None
    body = {
        "code": "gearboxes",
        "pivot": pivot.field.code,
        "what": "check the gearboxes",
        "every_starts": 12,
        "takes_min": 90,
        "source": "maker's manual",
    }
    made = client.post(at, body, format="json")
    assert (made.status_code, made.json()["place"], made.json()["pivot"]) == (201, "field", pivot.field.code)
    for odd in ({"every_ac": "10.0"}, {"place": "yard"}, {"counts_from_h": "5.0"}):
        refused = client.patch(f"{at}gearboxes/", odd, format="json")
        assert (refused.status_code, [one["pointer"] for one in refused.json()["errors"]]) == (
            422,
            [f"/{next(iter(odd))}"],
        )
    [row] = client.get(f"{at}?pivot={pivot.field.code}").json()["results"]
    assert row["every_starts"] == 12
    due = {one["rule"]: one for one in client.get(f"{yard.at}care-due/").json()}["gearboxes"]
    assert (due["pivot"], due["left_starts"]) == (pivot.field.code, 11), "it was seen to run once"


def test_parts_of_a_service_are_kept_in_dollars(yard: Yard) -> None:
    body = {
        "client_id": str(uuid.uuid4()),
        "rule": "oil",
        "done_at": (NOON + dt.timedelta(hours=1)).isoformat(),
        "parts": "filter",
        "parts_usd": "86.40",
    }
    client, at = client_of("manager-a"), f"{yard.at}care-done/"
    made = client.post(at, body, format="json")
    assert (made.status_code, made.json()["parts_usd"], made.json()["parts"]) == (201, "86.40", "filter")
    assert CareDone.objects.get(client_id=body["client_id"]).parts_cents == 86_40
    for odd in ("86.405", "-1.00", "999999.99"):
        sent = {**body, "client_id": str(uuid.uuid4()), "parts_usd": odd}
        assert client.post(at, sent, format="json").status_code == 422


def test_what_a_rule_is_of_stays(yard: Yard) -> None:
    client, at = client_of("manager-a"), f"{yard.at}care-rules/oil/"
    refused = client.patch(at, {"machine": None, "implement": "disk-1"}, format="json")
    assert (refused.status_code, refused.json()["code"]) == (422, "fact_refused")
    assert client.patch(at, {"every_h": None}, format="json").status_code == 422


def test_a_hand_says_what_was_done_and_the_rule_counts_anew(yard: Yard) -> None:
    hand, at = client_of("hand-a"), f"{yard.at}care-done/"
    body = {
        "client_id": str(uuid.uuid4()),
        "rule": "oil",
        "done_at": (NOON + dt.timedelta(hours=1)).isoformat(),
        "meter_h": "2411.0",
        "hand_min": 55,
    }
    first, second = (hand.post(at, body, format="json") for _ in range(2))
    assert (first.status_code, second.status_code) == (201, 200)
    assert (first.json()["hand"], first.json()["id"]) == ("imani", second.json()["id"])
    [due] = hand.get(f"{yard.at}care-due/").json()
    assert due["rule"] == "oil"
    assert (due["meter_h"], due["run_h"], due["left_h"]) == ("2410.5", "0.0", "250.0")
    back = {
        **body,
        "client_id": str(uuid.uuid4()),
        "supersedes": first.json()["id"],
        "is_taken_back": True,
    }
    assert hand.post(at, back, format="json").status_code == 201
    assert hand.get(f"{yard.at}care-due/").json()[0]["last_done_at"] != first.json()["done_at"]


@pytest.mark.parametrize(
    ("odd", "code"),
    [
        ({"done_at": "2031-04-20T16:00:00Z"}, "bad_record"),
        ({"meter_h": "2300.0"}, "meter_runs_backwards"),
        ({"meter_h": "9999.0"}, "meter_runs_too_fast"),
        ({"hand_min": 1441}, "bad_record"),
        ({"is_taken_back": True}, "bad_record"),
    ],
)
def test_care_that_cannot_be_is_refused(yard: Yard, odd: dict[str, Any], code: str) -> None:
    body = {
        "client_id": str(uuid.uuid4()),
        "rule": "oil",
        "done_at": (NOON + dt.timedelta(hours=1)).isoformat(),
        **odd,
    }
    refused = client_of("manager-a").post(f"{yard.at}care-done/", body, format="json")
    assert (refused.status_code, refused.json()["code"]) == (422, code)


def test_a_crops_curve_is_entered_changed_and_taken_away(yard: Yard) -> None:
    client, at = client_of("manager-a"), f"{yard.at}late-planting/"
    corn = {"crop": "corn", "yield_per_ac": "180.0", "yield_unit": "bu", "price_usd": "4.5000"}
    made = client.post(at, {**corn, "curve": "il-corn"}, format="json")
    assert (made.status_code, made.json()["curve"]) == (201, "il-corn")
    losses = [{"after": "04-20", "per_day": "0.750", "at_once": "0.000", "source": "own trial"}]
    changed = client.patch(f"{at}corn/", {"losses": losses}, format="json")
    assert changed.json()["losses"] == losses
    (stored,) = LatePlantingFacts.objects.get(farm=yard.farm, crop="corn").losses or []
    assert stored["per_day"] == "0.75"
    assert client.patch(f"{at}corn/", {"losses": None, "curve": ""}, format="json").json()["losses"] is None
    assert client.post(at, corn, format="json").status_code == 200


@pytest.mark.parametrize(
    ("odd", "says"),
    [
        ({"curve": "ga-cotton"}, "no curve of corn is called 'ga-cotton'"),
        ({"curve": "wi-corn", "yield_unit": "lb"}, "counts in bu, and the yield in lb"),
        ({"losses": [{"after": "02-29", "per_day": "1"}]}, "not every year"),
        ({"losses": []}, "1 to 24 losses"),
        ({"yield_per_ac": "0.0"}, "outside 0.1 to 99999"),
    ],
)
def test_a_curve_that_makes_no_sense_is_refused(yard: Yard, odd: dict[str, Any], says: str) -> None:
    body = {"crop": "corn", "yield_per_ac": "180.0", "yield_unit": "bu", "price_usd": "4.5", **odd}
    refused = client_of("manager-a").post(f"{yard.at}late-planting/", body, format="json")
    assert (refused.status_code, refused.json()["code"]) == (422, "fact_refused")
    assert says in refused.json()["detail"]
