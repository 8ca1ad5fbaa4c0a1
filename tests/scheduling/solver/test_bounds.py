"""A bound never lies above the cheapest plan, and is worth something."""

from scheduling.solver import parse_problem, solve
from scheduling.solver.board import Board
from scheduling.solver.bounds import heads, lower_bound, tails
from scheduling.solver.standing import restrict, variants
from scheduling.solver.timeline import UNITS_PER_CENT
from tests.scheduling.solver.tiny import random_problem


def test_no_bound_lies_above_the_cheapest_plan() -> None:
    sharp = 0
    for seed in range(200):
        problem = parse_problem(random_problem(seed))
        base = Board(problem)
        choices = variants(base)
        plan = solve(problem, seconds=5, rounds=8)
        if plan.cost is None or len(choices) > 1:
            continue
        units = plan.cost * UNITS_PER_CENT
        found = lower_bound(restrict(base, choices[0]))
        assert found <= units + UNITS_PER_CENT // 2, seed
        sharp += found >= units * 3 // 4
    assert sharp > 60


def test_no_job_of_the_cheapest_plan_starts_later_than_it_may() -> None:
    tighter = 0
    for seed in range(80):
        problem = parse_problem(random_problem(seed))
        base = Board(problem)
        plan = solve(problem, seconds=5, rounds=8)
        latest = tails(restrict(base, variants(base)[0]))
        if len(variants(base)) == 1:
            for placed in plan.tasks:
                assert placed.start <= latest[base.job_no[placed.id]], seed
            starts = [max((way.options.starts[-1] for way in job.ways), default=-1) for job in base.jobs]
            tighter += latest != starts
    assert tighter > 5


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
