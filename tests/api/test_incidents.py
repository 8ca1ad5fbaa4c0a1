"""Where incidents were, what was done about them, meters replaced, debris and links, by the interface."""

import uuid
from decimal import Decimal
from typing import Any

import pytest

from farmops.farms.models import SignInLink
from farmops.farms.services.links import make_link
from scheduling.models import IncidentMended, IncidentPlace, MeterReplaced
from scheduling.services.debris import set_debris_numbers
from scheduling.services.work import record_incident
from tests.api.conftest import Yard, client_of
from tests.factories import make_pass
from tests.ledger.makers import NOON

AT = "2026-04-21T11:30:00-04:00"


def place(yard: Yard, **facts: Any) -> dict[str, Any]:
    plain = {"latitude_deg": "31.601234", "longitude_deg": "-83.517900", "placed_by": "tapped"}
    return {"client_id": str(uuid.uuid4()), "incident": yard.incident.pk, **plain, **facts}


def mending(yard: Yard, **facts: Any) -> dict[str, Any]:
    plain = {"mending": "new_tire", "lost_min": 150}
    return {"client_id": str(uuid.uuid4()), "incident": yard.incident.pk, **plain, **facts}


def meter(yard: Yard, **facts: Any) -> dict[str, Any]:
    plain = {"machine": yard.place.machine.code, "replaced_at": AT, "old_reading_h": "2412.0"}
    return {"client_id": str(uuid.uuid4()), **plain, **facts}


@pytest.mark.parametrize(
    ("address", "body", "table"),
    [
        ("incident-places/", place, IncidentPlace),
        ("incident-mendings/", mending, IncidentMended),
        ("meters-replaced/", meter, MeterReplaced),
    ],
)
def test_sent_twice_is_kept_once_and_another_content_is_a_conflict(
    yard: Yard, address: str, body: Any, table: Any
) -> None:
    client, sent, before = client_of("manager-a"), body(yard), table.objects.count()
    first = client.post(yard.at + address, sent, format="json")
    assert first.status_code == 201, first.content
    assert client.post(yard.at + address, sent, format="json").status_code == 200
    assert table.objects.count() == before + 1
    other = {**sent, "latitude_deg": "31.61"} if address == "incident-places/" else {**sent, "note": "other"}
    assert client.post(yard.at + address, other, format="json").status_code == 409
    answer = client.get(f"{yard.at}{address}{first.json()['id']}/").json()
    assert {key: answer[key] for key in sent} == sent


def test_rows_are_found_by_their_incident_and_machine(yard: Yard) -> None:
    client = client_of("manager-a")
    for address in ("incident-places/", "incident-mendings/"):
        assert len(client.get(f"{yard.at}{address}?incident={yard.incident.pk}").json()["results"]) == 1
        assert client.get(f"{yard.at}{address}?incident=0").json()["results"] == []
    assert len(client.get(f"{yard.at}meters-replaced/?machine=tractor-9").json()["results"]) == 1
    assert client.get(f"{yard.at}meters-replaced/?machine=tractor-1").json()["results"] == []


@pytest.mark.parametrize(
    ("address", "change", "code"),
    [
        ("incident-places/", {"latitude_deg": 31.6}, "invalid"),
        ("incident-places/", {"latitude_deg": "-83.5", "longitude_deg": "31.6"}, "bad_record"),
        ("incident-places/", {"placed_by": "guessed"}, "invalid"),
        ("incident-places/", {"wheel": "left"}, "invalid"),
        ("incident-mendings/", {"mending": "prayer"}, "invalid"),
        ("incident-mendings/", {"lost_min": 20161}, "bad_record"),
        ("incident-mendings/", {"lost_min": -1}, "invalid"),
        ("meters-replaced/", {"old_reading_h": "12.0"}, "meter_runs_backwards"),
        ("meters-replaced/", {"replaced_at": "2190-04-24T07:30:00-04:00"}, "bad_record"),
        ("meters-replaced/", {"new_reading_h": "-1"}, "bad_record"),
    ],
)
def test_what_cannot_be_is_refused(yard: Yard, address: str, change: dict[str, Any], code: str) -> None:
    body = {"incident-places/": place, "incident-mendings/": mending, "meters-replaced/": meter}[address]
    before = (IncidentPlace.objects.count(), IncidentMended.objects.count(), MeterReplaced.objects.count())
    answer = client_of("manager-a").post(yard.at + address, body(yard, **change), format="json")
    assert (answer.status_code, answer.json()["code"]) == (422, code), answer.content
    after = (IncidentPlace.objects.count(), IncidentMended.objects.count(), MeterReplaced.objects.count())
    assert after == before


def test_a_hand_adds_to_his_or_her_own_incidents_only(yard: Yard) -> None:
    theirs, _ = record_incident(
        farm=yard.farm,
        client_id=uuid.uuid4(),
        kind="stuck",
        happened_at=NOON,
        field=yard.place.season.field,
        hand=yard.other_hand,
        now=NOON,
    )
    hand, boss = client_of("hand-a"), client_of("manager-a")
    for address, body in (("incident-places/", place), ("incident-mendings/", mending)):
        assert hand.post(yard.at + address, body(yard), format="json").status_code == 201
        if body is mending:
            mistake = body(yard, mending="mistake")
            assert hand.post(yard.at + address, mistake, format="json").status_code == 403
            assert boss.post(yard.at + address, mistake, format="json").status_code == 201
        assert hand.post(yard.at + address, body(yard, incident=theirs.pk), format="json").status_code == 403
        kept = boss.post(yard.at + address, body(yard, incident=theirs.pk), format="json").json()
        assert hand.get(f"{yard.at}{address}{kept['id']}/").status_code == 404
        assert kept["id"] not in {row["id"] for row in hand.get(yard.at + address).json()["results"]}


def test_debris_is_the_rate_and_the_worth_of_a_walk(yard: Yard) -> None:
    """By hand: $12.00 an hour on the 20 acres that are left, at 30 x 2.5 / 8.25 = 9.0909 acres an hour, are 2.2 h and
    $26.40; without acres covered by the farm's own tires nothing would be known.
    """
    set_debris_numbers(
        farm=yard.farm,
        found_share_pct=Decimal(60),
        swath_ft=Decimal(30),
        walk_mph=Decimal("2.5"),
        wage_cents_per_h=1200,
    )
    client, code = client_of("manager-a"), yard.place.season.field.code
    waiting = {one["id"]: one for one in client.get(f"{yard.at}passes/").json()["results"]}
    assert all(one["state"] != "finished" for one in waiting.values())
    row = client.get(f"{yard.at}debris/{code}/").json()
    assert row in client.get(f"{yard.at}debris/").json()
    assert (row["field"], row["punctures"], row["covered_ac"]) == (code, 1, "20.00")
    rate = {name: Decimal(value) for name, value in row["rate_per_1000_ac"].items()}
    assert 0 < rate["low"] < rate["mean"] < rate["high"] < 50
    assert (row["share_left"], row["walk_id"], row["is_walked"]) == ("1.0000", None, False)
    assert row["numbers"]["wage_usd_per_h"] == "12.00"
    assert client.get(f"{yard.at}debris/no-field/").status_code == 404
    assert client.get(f"{yard.at}debris/?field=x").status_code == 400
    assert row["before"] is None, "the only pass is under way, and a walk would come too late"
    make_pass(yard.place.season, "plant", area_ac=Decimal(20))
    row = client.get(f"{yard.at}debris/{code}/").json()
    assert row["before"] == f"{code}/plant"
    assert row["worth"]["walk_usd"] == "26.40"
    each = Decimal(row["numbers"]["puncture_usd"]) + Decimal(row["numbers"]["lost_h"]) * Decimal(
        row["numbers"]["lost_usd_per_h"]
    )
    assert Decimal(row["worth"]["pass_usd"]) == pytest.approx(
        rate["mean"] * 20 / 1000 * each, abs=Decimal("0.01")
    )


def test_links_are_listed_without_a_secret_and_taken_back(yard: Yard) -> None:
    secret = make_link(farm=yard.farm, hand=yard.other_hand, now=NOON)
    client, at = client_of("manager-a"), f"{yard.at}sign-in-links/"
    listed = client.get(f"{at}?hand={yard.other_hand.code}")
    (row,) = listed.json()["results"]
    assert (row["hand"], row["state"], row["revoked_at"]) == (yard.other_hand.code, "open", None)
    kept = SignInLink.objects.get(pk=row["id"])
    assert secret not in listed.content.decode()
    assert kept.secret_hash not in listed.content.decode()
    for _time in range(2):
        gone = client.post(f"{at}{row['id']}/revoke/", {}, format="json")
        assert (gone.status_code, gone.json()["state"]) == (200, "revoked")
    kept.refresh_from_db()
    assert kept.revoked_by is not None
    assert kept.revoked_by.username == "manager-a"
    assert client.post(f"{at}{row['id']}/revoke/", {"why": "lost"}, format="json").status_code == 422
    assert client.post(at, {"hand": yard.other_hand.code}, format="json").status_code == 405
