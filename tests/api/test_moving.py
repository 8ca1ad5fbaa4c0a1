"""A pass moved over the interface: priced, kept by the version that was seen, refused by an old one or none, undone."""

from typing import Any

import pytest

from farmops.core import clock
from scheduling.models import FieldPass, PlannedTask, WeekPlan
from tests.api.conftest import client_of
from tests.api.test_planning import ASKED, farm
from tests.scheduling.ground import MONDAY, SUNDAY_EVENING

__all__ = ["farm"]
TUESDAY_NINE = "2026-04-21T09:00:00-04:00"


def test_a_move_goes_by_the_version_that_was_seen(farm: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: SUNDAY_EVENING)
    client, at = client_of("mona"), f"/api/farms/{farm.code}/plans/"
    assert client.post(at, ASKED, format="json").status_code == 201
    disk = FieldPass.objects.get(operation="disk")
    outfit = PlannedTask.objects.get(field_pass=disk).mode
    asked = {"field_pass": disk.pk, "outfit": outfit, "starts_at": TUESDAY_NINE}

    def post(what: str, seen: str | None, body: Any = None) -> Any:
        headers = {} if seen is None else {"HTTP_IF_MATCH": seen}
        return client.post(f"{at}{what}", body or {}, format="json", **headers)

    priced = post("1/move/price/", None, asked)
    assert priced.status_code == 200, priced.content
    seen, told = priced["ETag"], priced.json()
    assert (told["task_key"], told["shifts"]) == ("pond-40/disk", [])
    assert WeekPlan.objects.count() == 1
    # RFC 6585, 3: 428 where the request must be conditional; RFC 9110, 13.1.1: 412 where If-Match does not hold.
    for header, status, code in (
        (None, 428, "week_not_seen"),
        ("*", 428, "week_not_seen"),
        ('W/"1"', 428, "week_not_seen"),
        ('"1-somebody-else"', 412, "week_changed"),
    ):
        answer = post("1/move/", header, asked)
        assert (answer.status_code, answer.json()["code"]) == (status, code), header
    kept = post("1/move/", seen, asked)
    assert (kept.status_code, kept.json()["number"]) == (201, 2), kept.content
    cents = {plan.number: plan.cost_cents or 0 for plan in WeekPlan.objects.all()}
    assert f"{(cents[2] - cents[1]) / 100:.2f}" == told["more_usd"]
    [task] = kept.json()["tasks"]
    assert task["starts_at"].startswith("2026-04-21T09:00")
    assert post("1/move/", seen, asked).status_code == 412, "the tag of before is old now"
    assert post("2/undo-move/", seen).status_code == 412
    back = post("2/undo-move/", kept["ETag"])
    assert back.status_code == 201
    assert back.json()["number"] == 3
    disk.refresh_from_db()
    assert disk.fixed_from is None
    late = {**asked, "starts_at": (MONDAY.replace(hour=2)).isoformat()}
    refused = post("3/move/price/", None, late)
    assert (refused.status_code, refused.json()["code"]) == (422, "bad_fixing")
