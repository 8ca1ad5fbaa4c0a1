"""What `solve` promises: the same plan for the same rounds, its time limit, honest bounds, causes."""

import json
from itertools import count
from typing import Any

import pytest

from farmops.bench.plan_farms import Farm
from scheduling.solver import Plan, check, parse_problem, search, solve, solving, to_json
from tests.scheduling.solver.by_hand import small_farm


def test_the_same_rounds_give_the_same_plan_byte_for_byte() -> None:
    texts = set()
    for _ in range(2):
        plan = solve(parse_problem(Farm(8, 3).problem), seconds=30, rounds=60, seed=7)
        texts.add(json.dumps(to_json(plan)))
    assert len(texts) == 1
    assert json.loads(texts.pop())["seconds"] == 30


def test_no_clock_decides_anything_where_rounds_are_given(monkeypatch: pytest.MonkeyPatch) -> None:
    problem = parse_problem(Farm(8, 3).problem)
    plain = to_json(solve(problem, seconds=2, rounds=80))
    hours = count(0.0, 3600.0)
    for module in (solving, search):
        monkeypatch.setattr(module, "monotonic", lambda: next(hours))
    assert to_json(solve(problem, seconds=2, rounds=80)) == plain


def test_a_farm_of_sixteen_fields_is_planned_better_the_longer_it_may_take() -> None:
    problem = parse_problem(Farm(16, 5).problem)
    short = solve(problem, seconds=20, rounds=1)
    longer = solve(problem, seconds=20, rounds=250)
    assert short.cost is not None
    assert longer.cost is not None
    assert longer.bound is not None
    assert longer.cost < short.cost
    assert 0 < longer.bound <= longer.cost
    assert longer.status == "good"


def test_a_farm_of_120_fields_gets_a_sound_plan_in_a_few_seconds_of_search() -> None:
    problem = parse_problem(Farm(120, 1, days=14).problem)
    plan = solve(problem, seconds=4)
    assert plan.status == "good"
    assert check(problem, plan).violations == ()
    assert {task.id for task in plan.tasks} | {left.id for left in plan.left} == set(problem.task_of)


def test_progress_tells_falling_costs_and_a_bound_below_them() -> None:
    told: list[tuple[int | None, int | None]] = []
    plan = solve(parse_problem(Farm(6, 2).problem), seconds=1.5, progress=lambda c, b: told.append((c, b)))
    costs = [cost for cost, _ in told if cost is not None]
    assert costs
    assert costs == sorted(costs, reverse=True)
    assert all(bound is not None and bound <= (plan.cost or 0) for _, bound in told)


@pytest.mark.parametrize(
    "limits", [{"seconds": 0}, {"seconds": 1, "rounds": 0}, {"seconds": 1, "workers": 0}]
)
def test_a_limit_that_is_not_positive_is_refused(limits: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match="must be"):
        solve(parse_problem(small_farm()), **limits)


def test_a_plan_that_fails_its_check_never_leaves_the_solver(monkeypatch: pytest.MonkeyPatch) -> None:
    real = solving.as_plan

    def wrong(*args: Any, **kwargs: Any) -> Plan:
        plan = real(*args, **kwargs)
        return Plan(plan.status, plan.cost, plan.bound, 0.0, plan.cost_parts, plan.tasks[1:], plan.left)

    monkeypatch.setattr(solving, "as_plan", wrong)
    with pytest.raises(solving.SolverFault, match="neither planned nor left"):
        solve(parse_problem(small_farm()), seconds=1, rounds=2)


def _task(problem: dict[str, Any], name: str) -> dict[str, Any]:
    found: dict[str, Any] = next(task for task in problem["tasks"] if task["id"] == name)
    return found


def _solved(problem: dict[str, Any]) -> Plan:
    parsed = parse_problem(problem)
    plan = solve(parsed, seconds=5, rounds=10)
    assert check(parsed, plan).violations == ()
    return plan


def _why(plan: Plan, name: str) -> str:
    return next(left.why for left in plan.left if left.id == name)


def test_a_task_that_is_shut_when_its_outfit_works_is_left_and_says_so() -> None:
    problem = small_farm()
    # Open from 0 to 100, and the hand comes at 400.
    assert _why(_solved(problem), "north/extra") == "It is never open while all of an outfit are at work."
    _task(problem, "north/extra")["open"] = []
    assert _why(_solved(problem), "north/extra") == "It is shut all through these days."


def test_a_successor_of_a_left_task_says_whom_it_waits_for() -> None:
    problem = small_farm()
    _task(problem, "north/bed")["after"].append({"task": "north/extra"})
    assert _why(_solved(problem), "north/bed") == "It waits for north/extra, which is left."


def test_a_task_that_costs_more_than_it_saves_is_left_and_says_by_how_much() -> None:
    problem = small_farm()
    _task(problem, "north/bed")["leave_cents"] = 6000
    # 7,000 for the bedding and two changes at 500, against 6,000 for leaving it.
    assert _why(_solved(problem), "north/bed") == "Doing it would cost $20.00 more than leaving it."


def test_a_fixed_task_in_a_shut_hour_is_left_and_costs_nothing() -> None:
    problem = small_farm()
    _task(problem, "south/disk")["fixed"]["from"] = 730
    plan = _solved(problem)
    assert "when the work is shut" in _why(plan, "south/disk")
    assert plan.cost_parts is not None
    assert plan.cost_parts["left"] == 777


def test_of_two_fixed_tasks_that_clash_the_dearer_to_leave_stands() -> None:
    problem = small_farm()
    _task(problem, "south/disk").update(leave_cents=100)
    other = {**_task(problem, "south/disk"), "id": "south/again", "leave_cents": 40000}
    other["fixed"] = {"mode": "t+h", "from": 1000}
    problem["tasks"].append(other)
    plan = _solved(problem)
    assert "south/disk" in {left.id for left in plan.left}
    assert "fixed or under way" in _why(plan, "south/disk")


def test_an_under_way_task_is_left_when_that_is_cheaper_and_allowed() -> None:
    problem = small_farm()
    _task(problem, "south/walk")["leave_cents"] = 249
    assert "south/walk" in {left.id for left in _solved(problem).left}
    _task(problem, "south/walk")["leave_cents"] = 251
    assert "south/walk" not in {left.id for left in _solved(problem).left}


def test_what_an_under_way_task_was_held_before_counts_to_its_hold_limit() -> None:
    # 260 minutes from 0 and the 100 before: one minute more than 359.
    problem = small_farm()
    _task(problem, "south/walk").update(leave_cents=5000, hold_limit=359)
    assert "must be done within 5 h 59 min" in _why(_solved(problem), "south/walk")
    _task(problem, "south/walk").update(hold_limit=360)
    assert "south/walk" not in {left.id for left in _solved(problem).left}


CLASHES: list[tuple[str, str, dict[str, Any], set[tuple[str | None, str]]]] = [
    ("too late to start", "north/disk", {"latest": 410}, {("north/disk", "latest"), (None, "road_minutes")}),
    ("shut", "north/disk", {"open": []}, {("north/disk", "open")}),
    ("held too long", "north/disk", {"hold_limit": 60}, {("north/disk", "hold_limit")}),
    ("no way", "north/disk", {"modes": []}, {("north/disk", "modes")}),
]


@pytest.mark.parametrize(("what", "name", "changes", "rules"), CLASHES, ids=[what for what, *_ in CLASHES])
def test_a_task_that_must_be_done_and_cannot_names_the_rules_that_clash(
    what: str, name: str, changes: dict[str, Any], rules: set[tuple[str | None, str]]
) -> None:
    problem = small_farm()
    _task(problem, name).update(changes)
    plan = _solved(problem)
    assert (plan.status, plan.cost, plan.tasks, plan.left) == ("none", None, (), ())
    assert {(clash.task, clash.rule) for clash in plan.why} == {(name, "leave_cents"), *rules}


def test_two_tasks_that_must_be_done_at_once_clash_over_their_outfit() -> None:
    problem = small_farm()
    for name in ("north/disk", "north/bed"):
        _task(problem, name).update(leave_cents=None, after=[], latest=480)
    rules = {(clash.task, clash.rule) for clash in _solved(problem).why}
    assert rules >= {("north/disk", "leave_cents"), ("north/bed", "leave_cents"), (None, "resources")}
    # The walk, the fixed task and the far field have no part in it.
    assert {task for task, _ in rules} == {None, "north/disk", "north/bed"}


def test_a_task_that_must_be_done_after_a_fixed_one_that_cannot_stand_leaves_no_plan() -> None:
    problem = small_farm()
    _task(problem, "south/disk")["fixed"]["from"] = 730
    _task(problem, "north/disk")["after"] = [{"task": "south/disk"}]
    rules = {(clash.task, clash.rule) for clash in _solved(problem).why}
    assert rules >= {("south/disk", "fixed"), ("north/disk", "after")}
