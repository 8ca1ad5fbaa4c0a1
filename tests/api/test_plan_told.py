"""What is told of a stored plan over the interface: its reasons, and what it changes of the sent one."""

import datetime as dt

import pytest

from farmops.core.models import User
from farmops.farms.models import Farm, Machine, Membership
from scheduling.services.planning import send_plan
from tests.api.conftest import client_of
from tests.factories import make_field, make_pass, make_season
from tests.scheduling.ground import MONDAY, SUNDAY_EVENING
from tests.scheduling.weeks import made, working_farm


@pytest.fixture
def farm(db: None) -> Farm:
    farm = working_farm()
    user = User.objects.create_user("mona", password="x" * 12)
    Membership.objects.create(farm=farm, user=user, role="manager")
    make_pass(make_season(make_field(farm)), leave_cents=90_000)
    return farm


def test_each_task_of_a_plan_has_its_reason_by_name(farm: Farm) -> None:
    plan = made(farm)
    told = client_of("mona").get(f"/api/farms/{farm.code}/plans/{plan.number}/reasons/").json()
    assert told["format"] == "plan-reasons/1"
    assert [row["id"] for row in told["tasks"]] == [row["id"] for row in plan.plan["tasks"]]
    assert all(row["says"] and row["cause"] for row in told["tasks"])
    assert told["tasks"][0]["next_best"]["more_cents"] >= 0


def test_a_plan_is_laid_beside_the_one_that_is_sent(farm: Farm) -> None:
    first = made(farm)
    at = f"/api/farms/{farm.code}/plans/"
    assert client_of("mona").get(f"{at}1/changes/").json() == {"against": None, "changes": None}
    send_plan(plan=first, now=SUNDAY_EVENING)
    task = first.tasks.get()
    assert task.mode.startswith("tractor-1")
    Machine.objects.filter(code="tractor-1").update(down_until=MONDAY + dt.timedelta(days=3))
    second = made(farm, keep_sent=True)
    told = client_of("mona").get(f"{at}{second.number}/changes/").json()
    assert told["against"] == 1
    changes = told["changes"]
    assert (changes["format"], changes["changed"], changes["had_to"]) == ("plan-changes/1", 1, 1)
    assert changes["new_cost"] == second.cost_cents
    assert [row["id"] for row in changes["tasks"]] == [task.task_key]
