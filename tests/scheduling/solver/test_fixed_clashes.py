"""Fixed tasks that clash: two at once, and three of which each pair could stand; against everything tried."""

from typing import Any

from scheduling.solver import parse_problem, solve
from scheduling.solver.check import check
from scheduling.solver.plan import LeftTask, Plan
from tests.scheduling.solver.tiny import try_everything


def _problem(horizon: int, tasks: list[dict[str, Any]], **tractor: Any) -> dict[str, Any]:
    whole = [{"from": 0, "to": horizon}]
    return {
        "format": "planning-problem/1",
        "start": "2027-04-05T00:00:00-04:00",
        "zone": "America/New_York",
        "horizon": horizon,
        "step": 5,
        "resources": [{"id": "a", "kind": "tractor", "calendar": whole, **tractor}],
        "places": ["y", "f"],
        "road_minutes": [[0, 20], [20, 0]],
        "tasks": [{"place": "f", "operation": "d", "open": whole, **task} for task in tasks],
    }


def _fixed(name: str, start: int, cents: int, setup: str | None = None) -> dict[str, Any]:
    mode = {"id": "m", "resources": ["a"], "minutes": 5, "cents": cents, "setup": setup}
    return {"id": name, "modes": [mode], "fixed": {"mode": "m", "from": start}}


def _solved(raw: dict[str, Any]) -> Plan:
    problem = parse_problem(raw)
    plan = solve(problem, seconds=5, rounds=5)
    assert plan.status == "best"
    assert plan.cost == try_everything(problem)
    return plan


def test_of_two_fixed_tasks_at_once_one_stands_and_the_other_is_left_at_no_cost() -> None:
    # 5 minutes from 30 and 5 from 32 on one tractor, which is 20 minutes from the yard: by hand, one of them at 100.
    roams = {"home": "y", "roams": True}
    raw = _problem(60, [_fixed("t", 30, 100), _fixed("s", 32, 100)], **roams)
    plan = _solved(raw)
    assert plan.cost == 100
    assert [len(plan.tasks), len(plan.left)] == [1, 1]
    assert "fixed" in plan.left[0].why
    # To leave both is no plan: nothing that stands hinders either.
    both = Plan("good", 0, 0, 0.0, None, (), (LeftTask("t", "so"), LeftTask("s", "so")))
    assert {v.rule for v in check(parse_problem(raw), both).violations} >= {"fixed"}


def test_of_three_fixed_tasks_that_clash_only_all_together_the_cheapest_choice_is_found() -> None:
    # From the one setup to the other takes 10 minutes; the task between has none, and leaves 5 before and 4 after it:
    # any two of the three stand, all three do not.
    tasks = [_fixed("first", 10, 900, "x"), _fixed("between", 20, 300), _fixed("last", 29, 700, "z")]
    changes = {"changeover": {"minutes": 10, "cents": 50}}
    plan = _solved(_problem(60, tasks, **changes))
    # By hand: without the first 300 + 700; without the one between 900 + 50 + 700; without the last 900 + 300.
    assert plan.cost == 1000
    assert [left.id for left in plan.left] == ["first"]


def test_the_order_in_which_they_are_listed_decides_nothing() -> None:
    tasks = [_fixed("last", 29, 2000, "z"), _fixed("between", 20, 300), _fixed("first", 10, 900, "x")]
    changes = {"changeover": {"minutes": 10, "cents": 50}}
    for listed in (tasks, tasks[::-1]):
        plan = _solved(_problem(60, listed, **changes))
        assert plan.cost == 1200
        assert [left.id for left in plan.left] == ["last"]
