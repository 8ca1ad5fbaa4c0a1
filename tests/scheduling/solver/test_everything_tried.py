"""Tiny problems that use every key of the format: the solver's cost is the cheapest of all plans, always.

The other answer comes from trying each mode and start of each task under the independent check.
"""

from typing import Any

import pytest

from scheduling.solver import check, parse_problem, solve
from tests.scheduling.solver.tiny import random_problem, try_everything

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
