"""Remarks, water, sprayings, pivot places, limits and crop water by address: sent once or twice, corrected, refused."""

import uuid
from decimal import Decimal
from typing import Any

import pytest

from farmops.farms.models import Machine
from scheduling.models import PivotPlace, Remark, Spraying, Watering
from tests.api.conftest import Yard, client_of

ID = "6f1c2c9e-6a50-4c8b-9a3e-0d6f5b1f7a12"


def bodies(yard: Yard) -> dict[str, dict[str, Any]]:
    return {
        "remarks/": {
            "client_id": ID,
            "field": "pond-40",
            "zone": yard.names["zones"],
            "said_at": "2026-04-21T07:30:00-04:00",
            "what": "too_wet",
            "operation": "disk",
            "work_record": yard.work.pk,
            "note": "sticks at the low end",
        },
        "waterings/": {
            "client_id": ID,
            "field": "pond-40",
            "water_on": "2026-04-21",
            "depth_in": "0.75",
        },
        "sprayings/": {
            "client_id": ID,
            "field": "pond-40",
            "ended_at": "2026-04-21T09:30:00-04:00",
            "operation": "burndown",
            "products": "field herbicide A",
            "reentry_h": "48.0",
            "plant_back_days": 14,
            "sprayed_by": "imani",
            "wind_mph": "5.5",
        },
        "pivot-places/": {
            "client_id": ID,
            "pivot": "pond-40",
            "seen_at": "2026-04-21T08:00:00-04:00",
            "is_running": True,
            "angle_deg": "45.5",
        },
    }


KINDS = [
    ("remarks/", Remark, {"what": "fits"}),
    ("waterings/", Watering, {"depth_in": "0.80"}),
    ("sprayings/", Spraying, {"reentry_h": "24.0"}),
    ("pivot-places/", PivotPlace, {"angle_deg": None}),
]


@pytest.mark.parametrize(("address", "model", "other"), KINDS)
def test_sending_twice_keeps_one_row_and_the_same_id_with_other_content_is_a_conflict(
    yard: Yard, address: str, model: Any, other: dict[str, Any]
) -> None:
    client, body = client_of("hand-a"), bodies(yard)[address]
    first = client.post(yard.at + address, body, format="json")
    again = client.post(yard.at + address, body, format="json")
    assert (first.status_code, again.status_code) == (201, 200), first.content
    assert first.json() == again.json()
    assert first.json().items() >= body.items()
    changed = client.post(yard.at + address, {**body, **other}, format="json")
    assert (changed.status_code, changed.json()["code"]) == (409, "client_id_reused")
    assert model.objects.filter(farm=yard.farm, client_id=ID).count() == 1
    assert client.get(f"{yard.at}{address}{first.json()['id']}/").json() == first.json()


@pytest.mark.parametrize(("address", "model", "other"), KINDS[:3])
def test_a_row_is_corrected_or_taken_back_by_whoever_may(
    yard: Yard, address: str, model: Any, other: dict[str, Any]
) -> None:
    hand, manager = client_of("hand-a"), client_of("manager-a")
    mine = yard.names[address.rstrip("/")]
    body = {**bodies(yard)[address], **other, "supersedes": mine}
    newer = hand.post(yard.at + address, body, format="json")
    assert newer.status_code == 201, newer.content
    assert hand.get(f"{yard.at}{address}{mine}/").json()["superseded_by"] == newer.json()["id"]
    back = {**body, "client_id": str(uuid.uuid4()), "supersedes": newer.json()["id"], "is_taken_back": True}
    office = manager.post(yard.at + address, back, format="json")
    assert (office.status_code, office.json()["is_taken_back"]) == (201, True)
    theirs = manager.post(
        yard.at + address, {**bodies(yard)[address], "client_id": str(uuid.uuid4())}, format="json"
    ).json()
    forbidden = hand.post(
        yard.at + address,
        {**body, "client_id": str(uuid.uuid4()), "supersedes": theirs["id"]},
        format="json",
    )
    assert forbidden.status_code == 403


@pytest.mark.parametrize(
    ("address", "change", "code"),
    [
        ("remarks/", {"what": "muddy"}, "invalid"),
        ("remarks/", {"operation": "pivot_walk"}, "bad_record"),
        ("remarks/", {"said_at": "2026-04-24T07:30:00-04:00"}, "bad_record"),
        ("remarks/", {"colour": "red"}, "invalid"),
        ("waterings/", {"depth_in": "4.01"}, "bad_record"),
        ("waterings/", {"depth_in": 0.75}, "invalid"),
        ("waterings/", {"field": "nowhere"}, "invalid"),
        ("sprayings/", {"reentry_h": "721.0"}, "bad_record"),
        ("sprayings/", {"products": ""}, "invalid"),
        ("sprayings/", {"plant_back_days": -1}, "invalid"),
        ("pivot-places/", {"angle_deg": "360.0"}, "bad_record"),
        ("pivot-places/", {"is_running": "yes"}, "invalid"),
        ("pivot-places/", {"pivot": "nowhere"}, "invalid"),
    ],
)
def test_what_cannot_be_is_refused_with_its_code(
    yard: Yard, address: str, change: dict[str, Any], code: str
) -> None:
    answer = client_of("manager-a").post(
        yard.at + address, {**bodies(yard)[address], **change}, format="json"
    )
    assert (answer.status_code, answer.json()["code"]) == (422, code), answer.content


def test_a_hand_sprays_in_his_or_her_own_name(yard: Yard) -> None:
    body = bodies(yard)["sprayings/"]
    del body["sprayed_by"]
    mine = client_of("hand-a").post(f"{yard.at}sprayings/", body, format="json")
    assert mine.json()["sprayed_by"] == "imani"
    other = {**body, "client_id": str(uuid.uuid4()), "sprayed_by": "odell"}
    assert client_of("hand-a").post(f"{yard.at}sprayings/", other, format="json").status_code == 403
    assert client_of("manager-a").post(f"{yard.at}sprayings/", other, format="json").status_code == 201


def test_a_choice_about_a_limit_is_kept_with_its_source(yard: Yard) -> None:
    client = client_of("manager-a")
    body = {"key": "wind_most", "field": "pond-40", "number": "8.0000", "source": "label of product A"}
    kept = client.post(f"{yard.at}limit-choices/", body, format="json")
    assert kept.status_code == 201, kept.content
    assert kept.json().items() >= {**body, "is_used": None, "effect": ""}.items()
    relaxed = client.post(
        f"{yard.at}limit-choices/", {"key": "re_entry", "is_used": False, "source": "x"}, format="json"
    )
    assert (relaxed.status_code, relaxed.json()["code"]) == (422, "limit_choice_refused")


def test_crop_water_numbers_are_set_and_refused(yard: Yard) -> None:
    client = client_of("manager-a")
    body = {"crop": "peanuts", "root_depth_in": "24.0", "allowed_share": "0.500"}
    assert client.post(f"{yard.at}crop-water-facts/", body, format="json").json().items() >= body.items()
    deep = client.post(f"{yard.at}crop-water-facts/", {**body, "root_depth_in": "970.0"}, format="json")
    assert (deep.status_code, deep.json()["code"]) == (422, "fact_refused")


def test_measured_soil_is_entered_with_the_zones_of_a_field(yard: Yard) -> None:
    client, at = client_of("manager-a"), f"{yard.at}fields/pond-40/"
    [zone] = client.get(at).json()["zones"]
    zone = {
        "name": zone["name"],
        "texture": "sandy_loam",
        "share_pct": "100.00",
        "workable_m3_m3": "0.2100",
        "dry_m3_m3": "0.0900",
        "retention_residual_m3_m3": "0.0650",
        "retention_saturation_m3_m3": "0.4100",
        "retention_alpha_per_m": "7.5000",
        "retention_n": "1.8900",
    }
    kept = client.patch(at, {"zones": [zone]}, format="json")
    assert kept.status_code == 200, kept.content
    assert kept.json()["zones"][0].items() >= zone.items()
    for change, says in (
        ({"dry_m3_m3": "0.2200"}, "not below"),
        ({"retention_n": None}, "one is missing"),
        ({"retention_n": "1.0000"}, "outside"),
        ({"workable_m3_m3": "2.1000"}, "outside"),
        ({"retention_residual_m3_m3": "0.3900", "retention_saturation_m3_m3": "0.3000"}, "not below"),
    ):
        refused = client.patch(at, {"zones": [{**zone, **change}]}, format="json")
        assert (refused.status_code, refused.json()["code"]) == (422, "fact_refused")
        assert says in refused.json()["detail"]
    plain = {name: zone[name] for name in ("name", "texture", "share_pct")}
    assert client.patch(at, {"zones": [plain]}, format="json").json()["zones"][0]["retention_n"] == "1.8900"


def test_a_machine_that_drives_itself_and_what_it_carries_are_entered(yard: Yard) -> None:
    client = client_of("manager-a")
    sprayer = {"code": "sprayer-1", "name": "sprayer", "kind": "sprayer", "power_hp": "275.0"}
    assert (
        client.post(f"{yard.at}machines/", {**sprayer, "meter_start_h": "10.0"}, format="json").status_code
        == 201
    )
    boom = client.post(
        f"{yard.at}implements/",
        {
            "code": "boom-90",
            "name": "boom",
            "carried_by": "sprayer",
            "operations": ["burndown", "spray", "defoliate"],
            "width_ft": "90.0",
            "speed_min_mph": "6.0",
            "speed_mph": "12.0",
            "speed_max_mph": "16.0",
            "efficiency_pct": "65.0",
            "power_needed_hp": "0.0",
        },
        format="json",
    )
    assert (boom.status_code, boom.json()["carried_by"]) == (201, "sprayer")
    assert Machine.objects.get(code="sprayer-1").power_hp == Decimal(275)
