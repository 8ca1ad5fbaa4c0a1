"""Tiny problems that use every key of the format: the solver's cost is the cheapest of all plans, always.

The other answer comes from trying each mode and start of each task under the independent check.
"""

from random import Random
from typing import Any

import pytest

from scheduling.solver import check, parse_problem, solve
from tests.scheduling.solver.tiny import random_problem, try_everything

pytestmark = pytest.mark.long

SEEDS = range(240)
BLOCK = 40


@pytest.mark.parametrize("first", SEEDS[::BLOCK])
def test_no_plan_is_cheaper_than_the_one_found(first: int) -> None:
    statuses = set()
    for seed in range(first, first + BLOCK):
        problem = parse_problem(random_problem(seed))
        cheapest = try_everything(problem)
        plan = solve(problem, seconds=5, rounds=8, seed=seed + 1)
        assert check(problem, plan).violations == (), seed
        assert plan.cost == cheapest, seed
        assert plan.status == ("none" if cheapest is None else "best"), seed
        assert plan.bound == plan.cost, seed
        statuses.add(plan.status)
    assert statuses == {"best", "none"}


def test_the_random_problems_use_every_key() -> None:
    keys: set[str] = set()
    for seed in SEEDS:
        _collect(random_problem(seed), keys)
    assert keys >= {
        "extra_cents_per_hour", "road_factor", "road_calendar", "changeover", "setup_now", "setup", "chance",
        "after", "min_gap", "max_gap", "earliest", "latest", "due", "hold_limit", "fixed", "under_way", "was",
    }  # fmt: skip


def _collect(value: Any, keys: set[str]) -> None:
    if isinstance(value, dict):
        keys.update(value)
        for item in value.values():
            _collect(item, keys)
    elif isinstance(value, list):
        for item in value:
            _collect(item, keys)


def test_with_four_tasks_on_a_finer_step_too() -> None:
    for seed in range(3000, 3012):
        problem = parse_problem(random_problem(seed, tasks=4, horizon=18, step=3))
        plan = solve(problem, seconds=5, rounds=8)
        assert plan.cost == try_everything(problem), seed


def test_setups_that_are_carried_along_cost_no_more_and_no_less() -> None:
    """One row of tasks in which every other brings no setup: a change can fall due after a task that brings none."""
    ways = set()
    for seed in range(40):
        raw = random_problem(seed, tasks=4, horizon=20, step=5)
        rng = Random(seed)
        whole = [{"from": 0, "to": 20}]
        change = {"minutes": rng.randint(1, 3), "cents": 70}
        raw["resources"] = [
            {"id": "r0", "kind": "tractor", "calendar": whole, "changeover": change, "setup_now": "x"}
        ]
        for number, task in enumerate(raw["tasks"]):
            setup = None if number % 2 else rng.choice(["x", "y"])
            minutes = rng.randint(1, 3)
            task["modes"] = [
                {"id": "m0", "resources": ["r0"], "minutes": minutes, "cents": 0, "setup": setup}
            ]
            task.update(open=whole, leave_cents=rng.choice([60, 150, 900]), after=[], hold_limit=None)
            if number:
                task["after"] = [{"task": "t0", "min_gap": 0}] if rng.random() < 0.5 else []
            for key in ("fixed", "under_way", "was"):
                task.pop(key, None)
        problem = parse_problem(raw)
        plan = solve(problem, seconds=5, rounds=12)
        assert plan.cost == try_everything(problem), seed
        ways.add(plan.cost_parts is not None and plan.cost_parts["road"] > 0)
    assert ways == {True, False}


def test_a_detour_that_is_shorter_than_the_straight_way_is_found() -> None:
    for seed in range(60):
        raw = random_problem(seed)
        rng = Random(seed)
        size = len(raw["places"])
        raw["road_minutes"] = [
            [0 if i == j else rng.choice([0, 1, 9]) for j in range(size)] for i in range(size)
        ]
        for task in raw["tasks"]:
            task.pop("fixed", None)
        problem = parse_problem(raw)
        assert solve(problem, seconds=5, rounds=12).cost == try_everything(problem), seed
