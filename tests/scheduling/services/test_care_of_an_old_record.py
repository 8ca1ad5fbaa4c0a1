"""Service that fell due since an old record of weather ended: the plan of the days after it has it, or says why not."""

import datetime as dt

import pytest

from farmops.farms.models import Farm, Machine
from scheduling.models import PlannedCare, WeekPlan
from scheduling.selectors.care import care_due, care_id
from tests.factories import make_field, make_hand, make_pass, make_season
from tests.scheduling.care_facts import make_pivot, make_rule
from tests.scheduling.ground import MONDAY
from tests.scheduling.weeks import made, working_farm

pytestmark = pytest.mark.django_db
LATER = MONDAY + dt.timedelta(days=200)
RULE = {"every_h": None, "every_days": 110, "counts_from_on": MONDAY.date()}


@pytest.fixture
def farm() -> Farm:
    farm = working_farm()
    field = make_field(farm)
    make_pass(make_season(field), "disk")
    pivot = make_pivot(field)
    make_rule(pivot, "gearbox", **RULE)
    make_rule(Machine.objects.get(code="tractor-1"), "air-filter", **RULE)
    return farm


def told_of(plan: WeekPlan) -> set[str]:
    """Return the services that a plan has or leaves with a reason."""
    left = {row["id"] for row in plan.plan["left"]} | {key for key, _why in plan.not_offered}
    return {key for key in left if key.startswith("care:")} | {
        row.task_key for row in PlannedCare.objects.filter(plan=plan)
    }


def test_each_service_that_is_due_by_now_is_planned_or_left_with_its_reason(farm: Farm) -> None:
    assert told_of(made(farm, now=MONDAY)) == set()
    due = {care_id(one.rule) for one in care_due(farm=farm, at=LATER) if one.left.is_over}
    assert len(due) == 2
    assert told_of(made(farm, seen_at=MONDAY, now=LATER)) == due


def test_a_plan_of_days_to_come_has_what_falls_due_in_them_as_before(farm: Farm) -> None:
    first = MONDAY + dt.timedelta(days=105)
    make_hand(farm, "odell")
    plan = made(farm, starts_at=first, now=first - dt.timedelta(hours=12), as_of=MONDAY.date())
    assert len(told_of(plan)) == 2


@pytest.mark.long
def test_a_service_that_must_be_made_is_no_must_of_days_in_which_it_was_not_due(farm: Farm) -> None:
    """Else several that fell due since would all be to be made in the first hour, and there were no plan."""
    for number in range(8):
        make_rule(Machine.objects.get(code="tractor-2"), f"must-{number}", is_must=True, **RULE)
    plan = made(farm, seen_at=MONDAY, now=LATER)
    assert len(told_of(plan)) == 10
    assert all(row["leave_cents"] for row in plan.problem["tasks"] if row["id"].startswith("care:"))
