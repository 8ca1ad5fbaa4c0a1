"""A bound never lies above the cheapest plan, and is worth something."""

from collections.abc import Callable

import pytest

from farmops.bench.plan_farms import Farm
from scheduling.solver import capacity, parse_problem, solve
from scheduling.solver.board import Board
from scheduling.solver.bounds import heads, lower_bound
from scheduling.solver.capacity import capacity_bound
from scheduling.solver.standing import restrict, variants
from scheduling.solver.timeline import UNITS_PER_CENT
from tests.scheduling.solver.tiny import random_problem


def _by_parts(board: Board, incumbent_units: int) -> int:
    return lower_bound(board)


@pytest.mark.parametrize("bound", [_by_parts, capacity_bound])
def test_no_bound_lies_above_the_cheapest_plan(
    bound: Callable[[Board, int], int], monkeypatch: pytest.MonkeyPatch
) -> None:
    # Days of six minutes, so that the tiny problems have several.
    monkeypatch.setattr(capacity, "SPAN_MIN", 6)
    sharp = 0
    for seed in range(200):
        problem = parse_problem(random_problem(seed))
        base = Board(problem)
        choices = variants(base)
        plan = solve(problem, seconds=5, rounds=8)
        if plan.cost is None or len(choices) > 1:
            continue
        units = plan.cost * UNITS_PER_CENT
        found = bound(restrict(base, choices[0]), units)
        assert found <= units + UNITS_PER_CENT // 2, seed
        sharp += found >= units * 3 // 4
    assert sharp > 60


def test_capacity_says_more_than_the_parts_where_outfits_are_short() -> None:
    board = Board(parse_problem(Farm(12, 9).problem))
    by_parts = lower_bound(board)
    assert capacity_bound(board, by_parts * 2) > by_parts * 11 // 10


def test_a_task_cannot_start_before_the_ones_it_waits_for_can_have_ended() -> None:
    raw = random_problem(1)
    whole = [{"from": 0, "to": 24}]
    raw["resources"] = [{"id": "r0", "kind": "hand", "calendar": whole}]
    base = {"place": "p0", "operation": "work", "open": whole}
    modes = [{"id": "slow", "resources": ["r0"], "minutes": 9, "cents": 0}]
    fast = [*modes, {"id": "fast", "resources": ["r0"], "minutes": 5, "cents": 0}]
    raw["tasks"] = [
        {**base, "id": "a", "modes": fast, "earliest": 4},
        {**base, "id": "b", "modes": modes, "after": [{"task": "a", "min_gap": 2}]},
        {**base, "id": "c", "modes": modes, "after": [{"task": "b"}]},
    ]
    # a: 4 to 9 at the soonest; b from 11, on the step of 4 from 12, to 21; c cannot end inside the horizon.
    assert heads(Board(parse_problem(raw))) == [0, 11, 21]
