"""Every refusal is a problem with the members of RFC 9457, whoever refuses: the service, the framework, or Django."""

import json
from typing import Any

import pytest
from django.test import Client
from django.urls import path
from rest_framework.test import APIClient

from farmops.core.models import User
from farmops.urls import handler400, handler403, handler404, handler500
from farmops.urls import urlpatterns as real
from tests.api.conftest import Yard, client_of

MEMBERS = {"type", "title", "status", "detail", "instance", "code", "errors"}
__all__ = ["handler400", "handler403", "handler404", "handler500", "urlpatterns"]


def _breaks(request: Any) -> Any:
    raise RuntimeError("a bug")


urlpatterns = [path("api/breaks/", _breaks), path("breaks/", _breaks), *real]


def problem_of(answer: Any, status: int) -> dict[str, Any]:
    assert answer.status_code == status, answer.content
    assert answer["Content-Type"] == "application/problem+json"
    body = json.loads(answer.content)
    assert set(body) == MEMBERS
    assert body["status"] == status
    return body


def test_an_unknown_address_is_a_problem_below_the_interface_only() -> None:
    body = problem_of(Client().get("/api/nothing/here/?x=1"), 404)
    assert body["instance"] == "/api/nothing/here/?x=1"
    assert Client().get("/nothing/here/")["Content-Type"].startswith("text/html")


def test_a_character_that_cannot_be_stored_is_a_problem(yard: Yard) -> None:
    problem_of(client_of("manager-a").get(f"{yard.at}passes/?state=%00"), 400)


def test_a_host_that_is_not_ours_is_a_problem() -> None:
    problem_of(Client().get("/api/farms/", headers={"host": "elsewhere.example"}), 400)


@pytest.mark.urls("tests.api.test_refusals")
def test_a_break_of_our_own_is_a_problem_that_tells_nothing() -> None:
    client = Client(raise_request_exception=False)
    body = problem_of(client.get("/api/breaks/"), 500)
    assert "bug" not in json.dumps(body)
    assert client.get("/breaks/")["Content-Type"].startswith("text/html")


def test_a_session_without_the_form_token_is_refused_as_a_problem(yard: Yard) -> None:
    client = APIClient(enforce_csrf_checks=True)
    client.force_login(User.objects.get(username="manager-a"))
    problem_of(client.post(f"{yard.at}fields/", {}, format="json"), 403)
    assert client.get(f"{yard.at}fields/").status_code == 200


def test_a_body_that_is_not_json_is_a_problem(yard: Yard) -> None:
    client = client_of("manager-a")
    problem_of(client.post(f"{yard.at}say-sos/", "{", content_type="application/json"), 400)
    problem_of(client.post(f"{yard.at}say-sos/", "field=x", content_type="text/plain"), 415)
    body = problem_of(client.post(f"{yard.at}say-sos/", [1], format="json"), 422)
    assert body["errors"]
    problem_of(client.get(f"{yard.at}passes/", headers={"accept": "application/xml"}), 406)
    problem_of(client.delete(f"{yard.at}work-records/{yard.work.pk}/"), 405)


@pytest.mark.parametrize(
    ("address", "parameter"),
    [
        ("passes/?colour=red", "colour"),
        ("passes/?state=waiting&state=sent", "state"),
        ("passes/?limit=1_0", "limit"),
        ("passes/?limit=0", "limit"),
        ("passes/?limit=501", "limit"),
        ("passes/?limit=٣", "limit"),
        ("passes/?cursor=zzz", "cursor"),
        ("passes/?season=1_0", "season"),
        ("passes/?season=" + "9" * 40, "season"),
        ("passes/?field=%E2%80%AEx", "field"),
        ("work-records/?first=04/20/2026", "first"),
        ("windows/", "from"),
        ("windows/?from=2026-04-20&days=22", "days"),
        ("windows/?from=0001-01-01", "from"),
        ("windows/?from=2099-01-01&as_of=2026-04-19", "from"),
        ("job-slips/?on=2026-04-20&hand=nobody", "hand"),
        ("ledger/costs/?crop_year=20O6", "crop_year"),
        ("fields/pond-40/?x=1", "x"),
    ],
)
def test_a_query_that_is_not_understood_is_named(yard: Yard, address: str, parameter: str) -> None:
    body = problem_of(client_of("manager-a").get(yard.at + address), 400)
    assert body["code"] == "bad_query"
    assert parameter in {error["parameter"] for error in body["errors"]}


def test_a_number_in_an_address_beyond_any_column_finds_nothing(yard: Yard) -> None:
    client = client_of("manager-a")
    problem_of(client.get(f"{yard.at}passes/{'9' * 30}/"), 404)
    problem_of(client.get(f"{yard.at}plans/{'9' * 30}/"), 404)


def test_a_refusal_of_a_value_points_into_the_body(yard: Yard) -> None:
    body = problem_of(
        client_of("manager-a").post(
            f"{yard.at}work-records/",
            {"inputs": [{"input_code": "lime", "quantity": 2.5, "unit": "ton"}], "farm": 1, "a/b~c": 1},
            format="json",
        ),
        422,
    )
    pointers = {error["pointer"] for error in body["errors"]}
    assert pointers == {"/farm", "/a~1b~0c"}  # RFC 6901, section 3
    body = problem_of(
        client_of("manager-a").post(
            f"{yard.at}work-records/",
            {"inputs": [{"input_code": "lime", "quantity": 2.5, "unit": "ton"}]},
            format="json",
        ),
        422,
    )
    assert "/inputs/0/quantity" in {error["pointer"] for error in body["errors"]}


def test_a_token_opens_the_interface_and_a_wrong_password_does_not(yard: Yard) -> None:
    client = APIClient()
    problem_of(client.post("/api/token/", {"username": "manager-a", "password": "no"}, format="json"), 401)
    right = {"username": "manager-a", "password": "x" * 12}
    token = client.post("/api/token/", right, format="json").json()["token"]
    client.credentials(HTTP_AUTHORIZATION=f"Token {token}")
    assert [row["code"] for row in client.get("/api/farms/").json()["results"]] == [yard.farm.code]
    client.credentials(HTTP_AUTHORIZATION="Token " + "0" * 40)
    problem_of(client.get("/api/farms/"), 401)


def test_guessing_passwords_is_slowed_down_whatever_the_caller_says_of_the_way_it_came(db: None) -> None:
    client = APIClient(REMOTE_ADDR="192.0.2.7")
    body = {"username": "nobody", "password": "no"}
    statuses = [
        client.post("/api/token/", body, format="json", headers={"x-forwarded-for": f"198.51.100.{n}"})
        for n in range(21)
    ]
    assert [answer.status_code for answer in statuses] == [401] * 20 + [429]
    problem_of(statuses[-1], 429)
    assert int(statuses[-1]["Retry-After"]) > 0
