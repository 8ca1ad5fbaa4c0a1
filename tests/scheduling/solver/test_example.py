"""The rule book's own example, by hand: 20 road minutes at factor 2 from minute 400, a hand who is off 720-750."""

import pytest

from scheduling.solver import check, from_json, parse_problem, problem_hash, problem_to_json, solve
from tests.scheduling.solver import example


def test_the_printed_plan_keeps_every_rule_and_costs_what_is_printed() -> None:
    found = check(parse_problem(example.problem()), from_json(example.plan()))
    assert found.violations == ()
    assert found.cost == 45088
    assert found.cost_parts == example.PLAN["cost_parts"]


@pytest.mark.parametrize("start", [420, 435])
def test_no_start_before_450_is_in_time(start: int) -> None:
    plan = example.plan()
    plan["tasks"][0].update({"from": start, "to": start + 345})
    found = check(parse_problem(example.problem()), from_json(plan))
    assert {violation.rule for violation in found.violations} == {"road"}


def test_the_soonest_plan_is_the_printed_one_when_nothing_was_sent_before() -> None:
    # The printed 45,088 less the 500 for moving it from the sent minute 480.
    problem = example.problem()
    del problem["tasks"][0]["was"]
    plan = solve(parse_problem(problem), seconds=2)
    assert (plan.status, plan.cost, plan.bound) == ("best", 44588, 44588)
    assert [(task.start, task.end) for task in plan.tasks] == [(450, 795)]
    assert plan.cost_parts == {**example.PLAN["cost_parts"], "change": 0}


def test_the_cheapest_plan_keeps_the_sent_start_and_saves_the_price_of_the_change() -> None:
    # From 480 to 720 are 240 minutes, from 750 to 825 the other 75: nothing is late, so waiting half an hour is free.
    plan = solve(parse_problem(example.problem()), seconds=2)
    assert (plan.status, plan.cost, plan.bound) == ("best", 44588, 44588)
    assert [(task.start, task.end) for task in plan.tasks] == [(480, 825)]


def test_the_printed_start_is_planned_when_keeping_the_sent_one_saves_nothing_over_it() -> None:
    problem = example.problem()
    problem["tasks"][0]["was"]["from"] = 240
    plan = solve(parse_problem(problem), seconds=2)
    assert (plan.status, plan.cost, plan.cost_parts) == ("best", 45088, example.PLAN["cost_parts"])
    assert [(task.start, task.end) for task in plan.tasks] == [(450, 795)]


def test_a_problem_comes_back_from_its_json_and_keeps_its_hash() -> None:
    problem = parse_problem(example.problem())
    again = parse_problem(problem_to_json(problem))
    assert again == problem
    assert problem_hash(again) == problem_hash(problem)
    other = example.problem()
    other["tasks"][0]["modes"][0]["minutes"] += 1
    assert problem_hash(parse_problem(other)) != problem_hash(problem)


def test_defaults_that_are_written_out_do_not_change_the_hash() -> None:
    spelled = example.problem()
    spelled["resources"][2].update(road_factor=1, setup_now=None)
    spelled["tasks"][0].update(after=[], earliest=0, latest=None, fixed=None, under_way=None)
    assert problem_hash(parse_problem(spelled)) == problem_hash(parse_problem(example.problem()))
