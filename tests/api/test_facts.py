"""Managers enter and change farm facts; acres of a boundary are worked out, rules hold as in a farm's files."""

import copy
from decimal import Decimal
from typing import Any

import pytest
from pyproj import Geod

from farmops.farms.models import Field, Hand, SoilZone
from scheduling.services.say_so import say_so
from tests.api.conftest import Yard, client_of
from tests.factories import SQUARE
from tests.ledger.makers import DAY, NOON

FIELD: dict[str, Any] = {
    "code": "creek-20",
    "name": "Creek 20",
    "boundary": SQUARE,
    "planted_ac": "38.50",
    "stated_ac": "40.00",
    "zones": [
        {"name": "hill", "texture": "sandy_loam", "share_pct": "70.00"},
        {"name": "bottom", "texture": "loam", "share_pct": "30.00"},
    ],
}
HAND: dict[str, Any] = {
    "code": "teo",
    "name": "Teo",
    "language": "es",
    "skills": ["plant", "disk"],
    "shifts": [{"weekday": 0, "starts_at": "07:00", "ends_at": "12:00"}],
    "away": [{"first_on": "2026-07-03", "last_on": "2026-07-05"}],
    "licenses": [{"number": "PA-100", "category": "private applicator", "expires_on": "2027-12-31"}],
}


def test_a_field_is_entered_with_its_soil_and_its_acres_are_worked_out(yard: Yard) -> None:
    client = client_of("manager-a")
    answer = client.post(f"{yard.at}fields/", FIELD, format="json")
    assert answer.status_code == 201, answer.content
    body = answer.json()
    ring = SQUARE["coordinates"][0]
    area_m2, _ = Geod(ellps="WGS84").polygon_area_perimeter([at[0] for at in ring], [at[1] for at in ring])
    # The outside check: pyproj on WGS 84, and 4,046.8564224 m² to the international acre (NIST Handbook 44, App. C).
    assert float(body["area_ac"]) == pytest.approx(abs(area_m2) / 4046.8564224, abs=0.006)
    assert body["stated_ac"] == "40.00"
    assert [zone["name"] for zone in body["zones"]] == ["hill", "bottom"]
    assert client.get(f"{yard.at}fields/creek-20/").json() == body


@pytest.mark.parametrize(
    ("change", "pointer", "says"),
    [
        ({"area_ac": "1.00"}, "/area_ac", "not taken"),
        ({"planted_ac": "0"}, "/planted_ac", "outside"),
        ({"planted_ac": 38.5}, "/planted_ac", "text"),
        ({"landlord_share_pct": "101"}, "/landlord_share_pct", "outside"),
        ({"zones": []}, "/zones", "missing"),
        ({"zones": [{"name": "all", "texture": "sandy_loam", "share_pct": "99"}]}, "/zones", "99"),
        ({"zones": [{"name": "all", "texture": "moon_dust", "share_pct": "100"}]}, "/zones", "moon_dust"),
        ({"boundary": {"type": "Point", "coordinates": [0, 0]}}, "/boundary/type", "Polygon"),
        ({"boundary": [1]}, "/boundary", "object"),
    ],
)
def test_a_field_that_cannot_be_is_refused_and_nothing_of_it_is_kept(
    yard: Yard, change: dict[str, Any], pointer: str, says: str
) -> None:
    answer = client_of("manager-a").post(f"{yard.at}fields/", {**FIELD, **change}, format="json")
    assert answer.status_code == 422, answer.content
    assert any(e["pointer"] == pointer and says in e["detail"] for e in answer.json()["errors"]), (
        answer.json()
    )
    assert not Field.objects.filter(code="creek-20").exists()


def test_swapped_coordinates_are_refused_with_the_way_it_looks(yard: Yard) -> None:
    swapped = copy.deepcopy(FIELD)
    ring = swapped["boundary"]["coordinates"][0]
    swapped["boundary"]["coordinates"][0] = [[lat, lon] for lon, lat in ring]
    answer = client_of("manager-a").post(f"{yard.at}fields/", swapped, format="json")
    assert answer.status_code == 422
    assert "swapped" in answer.json()["detail"]


def test_a_code_that_is_taken_is_a_conflict_on_this_farm_only(yard: Yard, other_yard: Yard) -> None:
    body = {"code": "well-2", "name": "Well 2", "flow_gpm": "900.0"}
    assert client_of("manager-a").post(f"{yard.at}pumps/", body, format="json").status_code == 201
    again = client_of("manager-a").post(f"{yard.at}pumps/", body, format="json")
    assert (again.status_code, again.json()["code"]) == (409, "fact_taken")
    assert client_of("manager-b").post(f"{other_yard.at}pumps/", body, format="json").status_code == 201


def test_a_change_touches_what_it_names_and_no_more(yard: Yard) -> None:
    client = client_of("manager-a")
    before = client.get(f"{yard.at}fields/pond-40/").json()
    after = client.patch(f"{yard.at}fields/pond-40/", {"entrance": "north gate"}, format="json").json()
    assert after == {**before, "entrance": "north gate"}
    moved = client.patch(f"{yard.at}fields/pond-40/", {"code": "pond-41"}, format="json")
    assert (moved.status_code, moved.json()["code"]) == (422, "fact_refused")


def test_a_new_boundary_brings_new_acres(yard: Yard) -> None:
    ring = [[-83.52, 31.60], [-83.51, 31.60], [-83.51, 31.61], [-83.52, 31.61], [-83.52, 31.60]]
    answer = client_of("manager-a").patch(
        f"{yard.at}fields/pond-40/",
        {"boundary": {"type": "Polygon", "coordinates": [ring[::-1]]}},
        format="json",
    )
    lons, lats = [at[0] for at in ring], [at[1] for at in ring]
    area_m2, _ = Geod(ellps="WGS84").polygon_area_perimeter(lons, lats)
    assert float(answer.json()["area_ac"]) == pytest.approx(area_m2 / 4046.8564224, abs=0.006)
    # RFC 7946, section 3.1.6: exterior rings are counter-clockwise.
    assert answer.json()["boundary"]["coordinates"][0][1] == [-83.51, 31.6]


def test_zones_are_brought_to_what_is_given_unless_something_was_said_of_them(yard: Yard) -> None:
    client, field = client_of("manager-a"), yard.place.season.field
    halves = [
        {"name": "all", "texture": "loam", "share_pct": "60.00"},
        {"name": "low", "texture": "clay", "share_pct": "40.00"},
    ]
    kept = field.zones.get().pk
    answer = client.patch(f"{yard.at}fields/pond-40/", {"zones": halves}, format="json")
    assert answer.status_code == 200, answer.content
    assert {(zone.pk == kept, zone.texture) for zone in field.zones.all()} == {
        (True, "loam"),
        (False, "clay"),
    }
    low = SoilZone.objects.get(field=field, name="low")
    say_so(farm=yard.farm, field=field, zone=low, day=DAY, word="fit", said_by=None, now=NOON)
    whole = [{"name": "all", "texture": "loam", "share_pct": "100.00"}]
    refused = client.patch(f"{yard.at}fields/pond-40/", {"zones": whole}, format="json")
    assert refused.status_code == 409
    assert {zone.share_pct for zone in field.zones.all()} == {Decimal(60), Decimal(40)}


def test_a_hand_is_entered_with_skills_shifts_and_days_away(yard: Yard) -> None:
    client = client_of("manager-a")
    body = client.post(f"{yard.at}hands/", HAND, format="json").json()
    assert body["skills"] == ["disk", "plant"]
    assert body["shifts"] == [
        {"weekday": 0, "starts_at": "07:00:00", "ends_at": "12:00:00", "is_overtime": False}
    ]
    assert body["licenses"] == HAND["licenses"]
    fewer = client.patch(f"{yard.at}hands/teo/", {"skills": ["disk"]}, format="json").json()
    assert (fewer["skills"], fewer["shifts"]) == (["disk"], body["shifts"])


@pytest.mark.parametrize(
    "change",
    [
        {"skills": ["fly"]},
        {"licenses": [{"number": "", "expires_on": "2027-12-31"}]},
        {"licenses": [{"number": "PA-1", "expires_on": "2027-02-30"}]},
        {"licenses": [HAND["licenses"][0], HAND["licenses"][0]]},
        {"email": "teo at home"},
        {"shifts": [{"weekday": 7, "starts_at": "07:00", "ends_at": "12:00"}]},
        {"shifts": [{"weekday": 1, "starts_at": "12:00", "ends_at": "07:00"}]},
        {
            "shifts": [
                {"weekday": 1, "starts_at": "07:00", "ends_at": "12:00"},
                {"weekday": 1, "starts_at": "11:00", "ends_at": "13:00"},
            ]
        },
        {"away": [{"first_on": "2026-07-05", "last_on": "2026-07-03"}]},
    ],
)
def test_a_hand_that_cannot_be_is_refused_whole(yard: Yard, change: dict[str, Any]) -> None:
    answer = client_of("manager-a").post(f"{yard.at}hands/", {**HAND, **change}, format="json")
    assert answer.status_code == 422, answer.content
    assert not Hand.objects.filter(code="teo").exists()


def test_implements_pivots_machines_and_seasons_are_entered_too(yard: Yard) -> None:
    client = client_of("manager-a")
    rows: dict[str, dict[str, Any]] = {
        "implements": {
            "code": "planter-1",
            "name": "Planter",
            "operations": ["plant"],
            "width_ft": "20.0",
            "speed_min_mph": "3.0",
            "speed_mph": "5.0",
            "speed_max_mph": "6.0",
            "efficiency_pct": "65.0",
            "power_needed_hp": "80.0",
            "name_es": "sembradora",
            "draft_kind": "row_planter",
            "tool_count": 8,
            "bearings_front": 0,
        },
        "machines": {
            "code": "tractor-7",
            "name": "T7",
            "power_hp": "200.0",
            "fuel": "gasoline",
            "meter_start_h": "10.0",
            "noise_dba": "78.5",
        },
        "seasons": {"field": "creek-20", "crop_year": 2026, "crop": "corn", "area_ac": "38.50"},
        "pivots": {
            "field": "creek-20",
            "pump": "well-1",
            "name": "P",
            "last_tower_radius_ft": "500.0",
            "walk_ft_per_min": "7.50",
            "tower_count": 3,
            "parking_angle_deg": "45.0",
        },
    }
    assert client.post(f"{yard.at}fields/", FIELD, format="json").status_code == 201
    for kind, body in rows.items():
        answer = client.post(f"{yard.at}{kind}/", body, format="json")
        assert answer.status_code == 201, (kind, answer.content)
        assert answer.json().items() >= body.items()
    slow = client.patch(f"{yard.at}implements/planter-1/", {"speed_mph": "9.0"}, format="json")
    assert slow.status_code == 422
    deep = client.patch(f"{yard.at}implements/planter-1/", {"draft_kind": "chisel_plow"}, format="json")
    assert deep.status_code == 422
    assert "depth_in: is missing" in deep.json()["detail"]
    assert (
        client.patch(f"{yard.at}pivots/creek-20/", {"tower_count": 4}, format="json").json()["tower_count"]
        == 4
    )


def test_whom_to_call_is_changed_by_the_manager_and_read_by_everybody(yard: Yard) -> None:
    client = client_of("manager-a")
    assert (
        client.patch(yard.at, {"boss_phone": "555-0100", "sheet_at": "05:30"}, format="json").status_code
        == 200
    )
    assert client_of("hand-a").get(yard.at).json()["boss_phone"] == "555-0100"
    assert client.patch(yard.at, {"zone": "Europe/Berlin"}, format="json").status_code == 422
