"""Holding a pass and letting it go over the interface, by the roles that may."""

import datetime as dt

import pytest

from farmops.core import clock
from farmops.core.models import User
from farmops.farms.models import Farm, Membership
from tests.api.conftest import client_of
from tests.factories import make_field, make_pass, make_season
from tests.scheduling.ground import MONDAY
from tests.scheduling.weeks import working_farm

OUTFIT = "tractor-2+disk-1+teo"


@pytest.fixture
def at(db: None, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.setattr(clock, "now", lambda: MONDAY + dt.timedelta(hours=6))
    farm: Farm = working_farm()
    user = User.objects.create_user("mona", password="x" * 12)
    Membership.objects.create(farm=farm, user=user, role="manager")
    field_pass = make_pass(make_season(make_field(farm)))
    return f"/api/farms/{farm.code}/passes/{field_pass.pk}/"


def test_a_pass_is_held_and_let_go(at: str) -> None:
    client = client_of("mona")
    offered = {row["outfit"]: row["says"] for row in client.get(f"{at}outfits/").json()}
    assert offered[OUTFIT] == "tractor-2 + disk-1, Teo"
    sent = {"outfit": OUTFIT, "starts_at": "2026-04-21T09:00:00-04:00"}
    for _ in range(2):
        held = client.post(f"{at}hold/", sent, format="json")
        assert held.status_code == 200, held.content
        assert (held.json()["fixed_outfit"], held.json()["fixed_from"]) == tuple(sent.values())
    let_go = client.post(f"{at}let-go/", {}, format="json").json()
    assert (let_go["fixed_outfit"], let_go["fixed_from"]) == ("", None)


@pytest.mark.parametrize(
    ("sent", "pointer"),
    [
        ({}, "/outfit"),
        ({"outfit": "tractor-9"}, "/outfit"),
        ({"starts_at": "2026-04-20T05:59:00-04:00"}, "/starts_at"),
        ({"starts_at": "2026-04-21T09:00:00"}, "/starts_at"),
        ({"starts_at": "2026-04-21T09:00:00-04:00", "outfit": OUTFIT, "hour": 9}, "/hour"),
        ({"outfit": "x" * 121}, "/outfit"),
    ],
)
def test_what_cannot_be_held_is_refused_at_its_place(at: str, sent: dict[str, str], pointer: str) -> None:
    answer = client_of("mona").post(f"{at}hold/", sent, format="json")
    assert answer.status_code == 422
    assert [one["pointer"] for one in answer.json()["errors"]] == [pointer]
