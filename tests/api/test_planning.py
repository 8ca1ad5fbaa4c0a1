"""A week planned, sent and read over the interface alone, on real windows; and how much the database is asked."""

import datetime as dt
import uuid
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farmops.core.models import User
from farmops.farms.models import Farm, Membership
from ledger.services.posting import post_pending
from ledger.services.rates import set_rate
from scheduling.services.passes import Step, lay_out
from scheduling.services.work import record_work
from tests.api.conftest import Yard, client_of, make_yard
from tests.factories import (
    make_farm,
    make_field,
    make_hand,
    make_implement,
    make_machine,
    make_pass,
    make_season,
)
from tests.ledger.makers import DAY, NOON
from tests.scheduling.ground import SUNDAY_EVENING, make_dry_spring

ASKED = {"first_on": "2026-04-20", "as_of": "2026-04-19", "seconds": 5, "rounds": 20, "days": 3}


@pytest.fixture
def yard(db: None) -> Yard:
    """One for a test alone: those of this file's own farm may not have it beside them."""
    return make_yard("heron-slough", "a")


@pytest.fixture
def farm(db: None) -> Farm:
    farm = make_farm()
    make_machine(farm)
    make_implement(farm)
    make_hand(farm)
    make_dry_spring(farm)
    user = User.objects.create_user("mona", password="x" * 12)
    Membership.objects.create(farm=farm, user=user, role="manager")
    lay_out(
        season=make_season(make_field(farm)),
        steps=[Step("disk", leave_cents=90_000), Step("plant", leave_cents=1)],
    )
    for kind, usd in (("wage", "18.00"), ("machine", "45.00"), ("implement", "15.00")):
        set_rate(
            farm=farm,
            kind=kind,
            usd_per_unit=usd,
            valid_from=dt.date(2026, 1, 1),
            holds_fuel=kind == "machine",
            now=SUNDAY_EVENING,
        )
    return farm


def test_a_week_is_planned_sent_and_read_and_no_task_starts_in_a_shut_hour(farm: Farm) -> None:
    client, at = client_of("mona"), f"/api/farms/{farm.code}/"
    windows = client.get(f"{at}windows/?from=2026-04-20&days=3&as_of=2026-04-19").json()
    assert (windows["format"], windows["days"], windows["zone"]) == ("windows/1", 3, "America/New_York")
    made = client.post(f"{at}plans/", ASKED, format="json")
    assert made.status_code == 201, made.content
    plan = made.json()
    assert {task["pass_key"] for task in plan["tasks"]} == {"pond-40/disk"}
    assert [row["pass_key"] for row in plan["left"]] == ["pond-40/plant"]
    begins = dt.datetime.fromisoformat(windows["start"])
    [disk] = [row for row in windows["passes"] if row["pass"] == "pond-40/disk"]
    for task in plan["tasks"]:
        start_min = (dt.datetime.fromisoformat(task["starts_at"]) - begins) // dt.timedelta(minutes=1)
        assert any(s["from"] <= start_min < s["to"] for s in disk["open"]), (start_min, disk["open"])
    sent = client.post(f"{at}plans/{plan['number']}/send/", {}, format="json").json()
    assert sent["state"] == "sent"
    day = plan["tasks"][0]["starts_at"][:10]
    assert (
        client.get(f"{at}job-slips/?on={day}&hand=imani").json()[0]["task_key"]
        == plan["tasks"][0]["task_key"]
    )
    assert {row["state"] for row in client.get(f"{at}passes/?operation=disk").json()["results"]} == {"sent"}


@pytest.mark.parametrize(
    "address", ["fields/", "passes/", "hands/", "work-records/", "ledger/lines/", "plans/1/"]
)
def test_a_longer_list_asks_the_database_no_more_often(yard: Yard, address: str) -> None:
    client = client_of("manager-a")

    def asked() -> int:
        with CaptureQueriesContext(
            connection,
        ) as queries:
            assert client.get(yard.at + address).status_code == 200
        return len(queries)

    before = asked()
    for number in range(4):
        season = make_season(make_field(yard.farm, f"more-{number}"))
        record_work(
            farm=yard.farm,
            client_id=uuid.uuid4(),
            field_pass=make_pass(season),
            hand=make_hand(yard.farm, f"more-{number}"),
            machine=yard.place.machine,
            implement=yard.place.implement,
            work_on=DAY,
            hand_min=60,
            machine_min=50,
            done_ac=Decimal(5),
            is_finished=False,
            recorded_by=None,
            now=NOON,
        )
    assert post_pending(farm=yard.farm, now=NOON).posted == 5  # four records of work, and a service
    assert asked() == before <= 12


def test_what_would_help_is_told_in_dollars_best_first_and_stores_nothing(farm: Farm) -> None:
    client, at = client_of("mona"), f"/api/farms/{farm.code}/"
    plan = client.post(f"{at}plans/", ASKED, format="json").json()
    body = {"suppose": ["imani:-1@monday", "disk:+1", "rain"], "rounds": 3, "seconds": 5}
    answer = client.post(f"{at}plans/{plan['number']}/suppose/", body, format="json")
    assert answer.status_code == 200, answer.content
    told = answer.json()
    assert told["cost_usd"] == plan["cost_usd"]
    worths = [Decimal(one["worth_usd"]) for one in told["answers"]]
    assert worths == sorted(worths, reverse=True)
    by_text = {one["suppose"]: one for one in told["answers"]}
    assert by_text["disk:+1"]["worth_usd"] == "0.00"
    assert by_text["disk:+1"]["says"] == "One more implement to disk on all days"
    assert Decimal(by_text["rain"]["worth_usd"]) < 0
    assert by_text["rain"]["now_left"] == ["disk on Pond 40"]
    assert [row["number"] for row in client.get(f"{at}plans/").json()["results"]] == [plan["number"]]


def test_what_cannot_be_supposed_is_named_where_it_stands(farm: Farm) -> None:
    client, at = client_of("mona"), f"/api/farms/{farm.code}/"
    plan = client.post(f"{at}plans/", ASKED, format="json").json()
    address = f"{at}plans/{plan['number']}/suppose/"
    wrong = client.post(address, {"suppose": ["disk:+1", "plow:+1"]}, format="json")
    assert (wrong.status_code, wrong.json()["code"]) == (422, "supposition_refused")
    [error] = wrong.json()["errors"]
    assert error["pointer"] == "/suppose/1"
    assert "hand: imani" in error["detail"]
    for body in (
        {"suppose": ["x"] * 21},
        {"suppose": "rain"},
        {"seconds": 31},
        {"days": 3},
        {"suppose": [1]},
    ):
        assert client.post(address, body, format="json").status_code == 422
    assert client.post(f"{at}plans/99/suppose/", {}, format="json").status_code == 404


def test_a_plan_of_an_older_form_is_not_planned_again(yard: Yard) -> None:
    answer = client_of("manager-a").post(f"{yard.at}plans/1/suppose/", {}, format="json")
    assert (answer.status_code, answer.json()["code"]) == (409, "plan_too_old")
