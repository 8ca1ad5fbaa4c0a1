"""What was done, read, met, said, billed and booked: sent once or twice, read page by page, never changed."""

import uuid
from typing import Any

import pytest

from farmops.weather.models import GaugeReading, SoilReading
from ledger.models import Bill, OpeningStock
from scheduling.models import FieldPass, HourReading, Incident, PassState, WeekPlan, WorkRecord
from tests.api.conftest import MONDAY, Yard, client_of, make_plan

ID = "6f1c2c9e-6a50-4c8b-9a3e-0d6f5b1f7a11"


def bodies(yard: Yard) -> dict[str, dict[str, Any]]:
    return {
        "work-records/": {
            "client_id": ID,
            "field_pass": yard.place.field_pass.pk,
            "hand": "imani",
            "machine": "tractor-1",
            "implement": "disk-1",
            "work_on": "2026-04-21",
            "starts_at": "2026-04-21T07:00:00-04:00",
            "hand_min": 120,
            "machine_min": 100,
            "done_ac": "10.00",
            "is_finished": False,
            "inputs": [{"input_code": "lime", "quantity": "2.500", "unit": "ton", "lot": "Q-7"}],
        },
        "hour-readings/": {
            "client_id": ID,
            "machine": "tractor-1",
            "reading_h": "2418.0",
            "read_at": "2026-04-21T18:00:00-04:00",
        },
        "incidents/": {
            "client_id": ID,
            "kind": "puncture",
            "happened_at": "2026-04-21T10:00:00-04:00",
            "field": "pond-40",
            "machine": "tractor-1",
            "met": "antler",
        },
        "gauge-readings/": {
            "client_id": ID,
            "field": "pond-40",
            "day": "2026-04-21",
            "rain_in": "0.35",
        },
        "soil-readings/": {
            "client_id": ID,
            "field": "pond-40",
            "zone": yard.names["zones"],
            "read_at": "2026-04-21T08:00:00-04:00",
            "depth_in": "4.0",
            "temp_f": "66.5",
        },
        "ledger/bills/": {
            "client_id": ID,
            "payee": "Cane Road Tire",
            "number": "77",
            "bill_on": "2026-04-21",
            "amount_usd": "12.50",
            "category": "tires",
        },
        "ledger/opening-stock/": {
            "client_id": ID,
            "item": "diesel",
            "category": "fuel",
            "quantity": "500.0000",
            "unit": "gal",
            "amount_usd": "1600.00",
            "on": "2026-04-01",
        },
    }


KINDS = [
    ("work-records/", WorkRecord),
    ("hour-readings/", HourReading),
    ("incidents/", Incident),
    ("gauge-readings/", GaugeReading),
    ("soil-readings/", SoilReading),
    ("ledger/bills/", Bill),
    ("ledger/opening-stock/", OpeningStock),
]
OTHER: dict[str, dict[str, Any]] = {
    "work-records/": {"done_ac": "11.00"},
    "hour-readings/": {"reading_h": "2419.0"},
    "incidents/": {"met": "wire"},
    "gauge-readings/": {"rain_in": "0.36"},
    "soil-readings/": {"zone": None},
    "ledger/bills/": {"amount_usd": "12.51"},
    "ledger/opening-stock/": {"quantity": "501"},
}


@pytest.mark.parametrize(("address", "model"), KINDS)
def test_sending_twice_keeps_one_row_and_the_same_id_with_other_content_is_a_conflict(
    yard: Yard, address: str, model: Any
) -> None:
    client, body = client_of("manager-a"), bodies(yard)[address]
    first = client.post(yard.at + address, body, format="json")
    again = client.post(yard.at + address, body, format="json")
    assert (first.status_code, again.status_code) == (201, 200), first.content
    assert first.json() == again.json()
    other = client.post(yard.at + address, {**body, **OTHER[address]}, format="json")
    assert other.status_code == 409, other.content
    assert model.objects.filter(farm=yard.farm, client_id=ID).count() == 1
    listed = client.get(f"{yard.at}{address}{first.json()['id']}/").json()
    assert listed == first.json()
    assert first.json().items() >= {k: v for k, v in body.items() if k != "inputs"}.items()
    assert first.json().get("inputs") == body.get("inputs")


def test_a_hand_reports_work_of_his_or_her_own_without_naming_a_hand(yard: Yard) -> None:
    body = bodies(yard)["work-records/"]
    del body["hand"]
    answer = client_of("hand-a").post(f"{yard.at}work-records/", body, format="json")
    assert (answer.status_code, answer.json()["hand"]) == (201, "imani")
    reading = client_of("hand-a").post(
        f"{yard.at}hour-readings/", bodies(yard)["hour-readings/"], format="json"
    )
    assert reading.json()["read_by"] == "imani"
    nameless = client_of("manager-a").post(
        f"{yard.at}work-records/", {**body, "client_id": str(uuid.uuid4())}, format="json"
    )
    assert nameless.status_code == 422


def test_a_correction_supersedes_and_the_record_before_says_by_which(yard: Yard) -> None:
    client = client_of("hand-a")
    body = {**bodies(yard)["work-records/"], "work_on": "2026-04-20", "supersedes": yard.work.pk}
    newer = client.post(f"{yard.at}work-records/", body, format="json")
    assert newer.status_code == 201, newer.content
    assert client.get(f"{yard.at}work-records/{yard.work.pk}/").json()["superseded_by"] == newer.json()["id"]
    twice = {**body, "client_id": str(uuid.uuid4())}
    refused = client.post(f"{yard.at}work-records/", twice, format="json")
    assert (refused.status_code, refused.json()["code"]) == (409, "superseded_already")


@pytest.mark.parametrize(
    ("address", "change", "status", "code"),
    [
        ("work-records/", {"hand_min": 1300, "work_on": "2026-04-20"}, 422, "over_24_hours"),
        ("work-records/", {"hand_min": 1500}, 422, "invalid"),
        ("work-records/", {"done_ac": "400.00"}, 422, "acres_over"),
        ("work-records/", {"starts_at": "2026-04-21T07:00:00"}, 422, "invalid"),
        ("work-records/", {"done_ac": "1.234"}, 422, "invalid"),
        ("hour-readings/", {"reading_h": "2400.0"}, 422, "meter_runs_backwards"),
        ("hour-readings/", {"reading_h": "9999.0"}, 422, "meter_runs_too_fast"),
        ("incidents/", {"kind": "meteor"}, 422, "invalid"),
        ("gauge-readings/", {"rain_in": "-0.01"}, 422, "reading_refused"),
        ("gauge-readings/", {"rain_in": 0.35}, 422, "invalid"),
        ("gauge-readings/", {"day": "2199-04-21"}, 422, "reading_refused"),
        ("soil-readings/", {"temp_f": "130.0"}, 422, "reading_refused"),
        ("soil-readings/", {"read_at": "2026-04-21T08:00:00"}, 422, "invalid"),
        ("ledger/bills/", {"amount_usd": "1.234"}, 422, "invalid"),
        ("ledger/bills/", {"amount_usd": "0.00"}, 422, "bill_refused"),
        ("ledger/bills/", {"amount_usd": "10000000000000.00"}, 422, "invalid"),
        ("ledger/bills/", {"category": "yachts"}, 422, "bill_refused"),
        ("ledger/bills/", {"currency": "CAD"}, 422, "currency_differs"),
        ("ledger/bills/", {"items": [{"category": "seed"}]}, 422, "invalid"),
        ("ledger/opening-stock/", {"quantity": "-1"}, 422, "opening_refused"),
        ("ledger/opening-stock/", {"item": "rye", "category": "seed"}, 409, "opening_differs"),
    ],
)
def test_what_cannot_be_is_refused_with_its_code(
    yard: Yard, address: str, change: dict[str, Any], status: int, code: str
) -> None:
    answer = client_of("manager-a").post(
        yard.at + address, {**bodies(yard)[address], **change}, format="json"
    )
    assert (answer.status_code, answer.json()["code"]) == (status, code)


def test_the_word_of_the_grower_is_kept(yard: Yard) -> None:
    client = client_of("manager-a")
    body = {"field": "pond-40", "day": "2026-04-21", "word": "after", "after_at": "10:00"}
    said = client.post(f"{yard.at}say-sos/", body, format="json")
    assert (said.status_code, said.json()["after_at"]) == (201, "10:00:00")
    assert (
        client.post(f"{yard.at}say-sos/", {**body, "word": "fit"}, format="json").json()["code"]
        == "say_so_refused"
    )
    listed = client.get(f"{yard.at}say-sos/?day=2026-04-21").json()["results"]
    assert [row["word"] for row in listed] == ["after"]


def test_a_word_of_the_grower_sent_twice_is_one_row_and_its_id_takes_no_other_word(yard: Yard) -> None:
    client, at = client_of("manager-a"), f"{yard.at}say-sos/"
    body = {"client_id": str(uuid.uuid4()), "field": "pond-40", "day": "2026-04-21", "word": "fit"}
    first, again = (client.post(at, body, format="json") for _time in range(2))
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json() == again.json()
    assert first.json()["client_id"] == body["client_id"]
    other = client.post(at, {**body, "word": "not_today"}, format="json")
    assert (other.status_code, other.json()["code"]) == (409, "client_id_reused")
    assert len(client.get(f"{at}?day=2026-04-21").json()["results"]) == 1


def test_a_pass_is_called_off_with_a_reason_and_taken_up_again(yard: Yard) -> None:
    client, at = client_of("manager-a"), f"{yard.at}passes/{yard.place.field_pass.pk}/"
    off = client.post(f"{at}call-off/", {"why": "rain"}, format="json").json()
    assert (off["state"], off["called_off_why"]) == ("called_off", "rain")
    assert client.post(f"{at}take-up-again/", {}, format="json").json()["state"] == "waiting"
    twice = client.post(f"{at}take-up-again/", {}, format="json")
    assert (twice.status_code, twice.json()["code"]) == (409, "pass_is_not_called_off")


def test_a_plan_shows_its_tasks_and_what_it_leaves(yard: Yard) -> None:
    body = client_of("manager-a").get(f"{yard.at}plans/1/").json()
    assert (body["cost_usd"], body["bound_usd"]) == ("412.05", "400.00")
    [task] = body["tasks"]
    assert (task["pass_key"], task["starts_at"], task["hand"]) == (
        "pond-40/disk",
        "2026-04-20T08:00:00-04:00",
        "imani",
    )
    assert body["left"] == [{"pass_key": "pond-40/plant", "why": "The soil is too cold."}]
    slips = client_of("hand-a").get(f"{yard.at}job-slips/?on=2026-04-20").json()
    assert slips == [task]
    assert client_of("hand-a").get(f"{yard.at}job-slips/?on=2026-04-21").json() == []


def test_a_made_plan_is_sent_and_takes_the_place_of_the_one_before(yard: Yard) -> None:
    make_plan(yard.place, number=2, state="made")
    client = client_of("manager-a")
    sent = client.post(f"{yard.at}plans/2/send/", {}, format="json")
    assert (sent.status_code, sent.json()["state"]) == (200, "sent")
    late = client.post(f"{yard.at}plans/1/send/", {}, format="json")
    assert (late.status_code, late.json()["code"]) == (409, "plan_is_replaced")
    assert [row["number"] for row in client.get(f"{yard.at}plans/").json()["results"]] == [2, 1]


def test_planning_goes_to_the_desk_with_what_was_asked(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: dict[str, Any] = {}

    def desk(**facts: Any) -> WeekPlan:
        asked.update(facts)
        return make_plan(yard.place, number=2, state="made")

    monkeypatch.setattr("farmops.desk.api.plan_week", desk)
    body = {"first_on": "2026-04-20", "seconds": 2, "rounds": 1, "keep_sent": True}
    made = client_of("manager-a").post(f"{yard.at}plans/", body, format="json")
    assert (made.status_code, made.json()["number"]) == (201, 2)
    assert (asked["farm"], asked["first_on"], asked["seconds"]) == (yard.farm, MONDAY.date(), 2)
    assert (asked["days"], asked["keep_sent"], asked["made_by"].username) == (7, True, "manager-a")
    far = client_of("manager-a").post(f"{yard.at}plans/", {**body, "first_on": "2099-01-05"}, format="json")
    assert [error["pointer"] for error in far.json()["errors"]] == ["/first_on"]
    long = client_of("manager-a").post(f"{yard.at}plans/", {**body, "seconds": 3600}, format="json")
    assert long.status_code == 422


def test_a_week_that_cannot_be_planned_says_why(yard: Yard) -> None:
    FieldPass.objects.update(state=PassState.FINISHED)
    answer = client_of("manager-a").post(f"{yard.at}plans/", {"first_on": "2026-04-20"}, format="json")
    assert (answer.status_code, answer.json()["code"]) == (409, "nothing_to_plan")


def test_pages_by_cursor_hold_every_row_once_though_rows_are_added_meanwhile(yard: Yard) -> None:
    client = client_of("bookkeeper-a")
    wanted = client.get(f"{yard.at}ledger/lines/").json()["results"]
    page = client.get(f"{yard.at}ledger/lines/?limit=3").json()
    seen = page["results"]
    body = {**bodies(yard)["ledger/bills/"], "bill_on": "2026-01-02"}
    while page["next"]:
        client.post(
            f"{yard.at}ledger/bills/", {**body, "client_id": str(uuid.uuid4()), "number": ""}, format="json"
        )
        page = client.get(page["next"]).json()
        assert len(page["results"]) <= 3
        seen += page["results"]
    assert [row["id"] for row in seen][: len(wanted)] == [row["id"] for row in wanted]
    assert len({row["id"] for row in seen}) == len(seen)
    assert len(wanted) > 6


def test_weather_is_read_with_its_lacks_as_null(yard: Yard) -> None:
    client = client_of("bookkeeper-a")
    [day] = client.get(f"{yard.at}weather/days/?station=GAUGE1&first=2026-04-20").json()["results"]
    assert (day["rain_mm"], day["solar_mj_m2"], day["station"]) == (0.0, None, "GAUGE1")
    assert client.get(f"{yard.at}weather/days/?first=2026-04-21").json()["results"] == []
    [hour] = client.get(f"{yard.at}weather/forecasts/{yard.issue.pk}/").json()["hours"]
    assert (hour["hour_at"], hour["temp_c"]) == ("2026-04-20T12:00:00-04:00", 21.5)


def test_instants_go_out_with_an_offset_everywhere(yard: Yard) -> None:
    client = client_of("manager-a")
    found = 0
    for address in ("passes/", "plans/", "work-records/", "hour-readings/", "incidents/", "ledger/entries/"):
        for row in client.get(yard.at + address).json()["results"]:
            for name, value in row.items():
                if name.endswith("_at") and value is not None and "T" in value:
                    assert value[-6:] == "-04:00", (address, name, value)
                    found += 1
    assert found > 5
