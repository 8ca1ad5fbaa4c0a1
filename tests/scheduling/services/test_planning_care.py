"""Service stops in a stored plan: kept with who does them, told in words, kept to when the plan is made anew."""

import datetime as dt
from decimal import Decimal

import pytest

from farmops.farms.models import Farm, Machine
from scheduling.models import PlannedCare, PlannedTask
from scheduling.selectors.left import left_in_words
from scheduling.selectors.spoken import names_of
from scheduling.services.passes import lay_out
from scheduling.services.planning import NoPlan, send_plan
from scheduling.solver import check, parse_problem
from scheduling.solver.plan import from_json
from tests.factories import make_field, make_hand, make_season
from tests.scheduling.care_facts import make_reading, make_rule
from tests.scheduling.ground import MONDAY, SUNDAY_EVENING
from tests.scheduling.weeks import BED, DISK, made, working_farm

pytestmark = pytest.mark.django_db


@pytest.fixture
def farm() -> Farm:
    farm = working_farm()
    lay_out(season=make_season(make_field(farm)), steps=[DISK, BED])
    return farm


@pytest.fixture
def tractor(farm: Farm) -> Machine:
    tractor = Machine.objects.get(farm=farm, code="tractor-1")
    make_reading(tractor, "2648.0")
    return tractor


def test_a_plan_keeps_its_service_stops_apart_from_its_passes(farm: Farm, tractor: Machine) -> None:
    rule = make_rule(tractor, is_must=True)
    plan = made(farm)
    stop = PlannedCare.objects.get(plan=plan)
    assert (stop.rule, stop.machine, stop.task_key, stop.work_min) == (rule, tractor, "care:oil", 60)
    assert stop.hand is not None
    assert stop.ends_at - stop.starts_at == dt.timedelta(hours=1)
    assert stop.starts_at < MONDAY + dt.timedelta(hours=9), "two hours are left of the 250"
    assert PlannedTask.objects.filter(plan=plan).count() == 2
    held = check(parse_problem(plan.problem), from_json(plan.plan))
    assert not held.violations
    assert names_of(farm=farm, problem=plan.problem)["care:oil"] == "change engine oil and filter, tractor-1"


def test_a_stop_of_the_sent_plan_is_not_moved_without_a_gain(farm: Farm, tractor: Machine) -> None:
    make_rule(tractor)
    sent = send_plan(plan=made(farm), now=SUNDAY_EVENING)
    again = made(farm, keep_sent=True)
    (first, second) = (PlannedCare.objects.get(plan=one) for one in (sent, again))
    assert (first.mode, first.starts_at) == (second.mode, second.starts_at)
    row = next(one for one in again.problem["tasks"] if one["id"] == "care:oil")
    assert row["was"]["mode"] == first.mode
    assert row["was"]["change_cents"] > 0


def test_a_stop_that_was_left_is_told_in_words(farm: Farm, tractor: Machine) -> None:
    """Twenty-three hours in one go end in the week but take two days of a hand who earns more than it is worth."""
    make_rule(tractor, takes_min=1_400, counts_from_h=Decimal("2300.0"))
    plan = made(farm)
    assert not PlannedCare.objects.filter(plan=plan).exists()
    (left,) = left_in_words(plan=plan)
    assert (left.ground, left.work, left.key) == ("change engine oil and filter, tractor-1", "", "care:oil")


def test_a_stop_that_must_be_made_and_that_nobody_can_make_is_a_clash(farm: Farm, tractor: Machine) -> None:
    make_rule(tractor, "oil", make_hand(farm, "gone", works=False), is_must=True)
    with pytest.raises(NoPlan, match="care:oil: Nobody here can do this"):
        made(farm)
