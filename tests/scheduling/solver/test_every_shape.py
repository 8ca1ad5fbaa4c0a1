"""Problems of every shape: the cost of the plan is the cheapest there is, worked out by trying every mode and start.

The other answer comes from the second judge, which was written from the rule book alone.
"""

import json
from collections import Counter

import pytest

from scheduling.solver import check, parse_problem, solve, solving, to_json
from tests.scheduling.solver.everything import cheapest
from tests.scheduling.solver.second_judge import Json, Judge
from tests.scheduling.solver.shapes import SHAPES, draw

SEEDS = range(6)
# Small ones among the large: three tasks, or four on a coarser step; a step of one minute.
SIZES = ((3, 24, 3), (4, 24, 4), (3, 18, 1))


def problem_of(shape: str, seed: int) -> Json:
    tasks, horizon, step = (3, 20, 5) if shape == "alike" else SIZES[seed % len(SIZES)]
    return draw(shape, seed, tasks=tasks, horizon=horizon, step=step)


@pytest.mark.parametrize("shape", SHAPES)
def test_no_plan_is_cheaper_than_the_one_found(shape: str) -> None:
    statuses = set()
    for seed in SEEDS:
        raw = problem_of(shape, seed)
        best = cheapest(raw)
        problem = parse_problem(raw)
        plan = solve(problem, seconds=5, rounds=8, seed=seed + 1)
        assert check(problem, plan).violations == (), seed
        statuses.add(plan.status)
        if best is None:
            assert (plan.status, plan.cost) == ("none", None), seed
        else:
            assert (plan.status, plan.cost, plan.bound) == ("best", best[0], best[0]), seed
            assert Judge(raw).judge(json.loads(json.dumps(to_json(plan)))).broken == set(), seed
    assert "best" in statuses


def test_the_search_alone_comes_close_and_claims_too_much_never(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the exact model: no plan below the cheapest, no bound above it, and most often the cheapest itself."""
    monkeypatch.setattr(solving, "is_in_reach", lambda board: False)
    counted: Counter[str] = Counter()
    for shape in SHAPES:
        for seed in (100, 101, 102):
            raw = problem_of(shape, seed)
            best = cheapest(raw)
            plan = solve(parse_problem(raw), seconds=5, rounds=60, seed=seed)
            if best is None:
                assert plan.status == "none", (shape, seed)
                continue
            if plan.cost is None:
                assert not plan.is_proved_impossible, (shape, seed)
                counted["not found"] += 1
                continue
            assert plan.bound is not None
            assert plan.bound <= best[0] <= plan.cost, (shape, seed)
            assert plan.status == "good" or plan.cost == best[0], (shape, seed)
            counted["cheapest" if plan.cost == best[0] else "dearer"] += 1
    assert counted["cheapest"] >= 0.8 * counted.total()


def test_what_is_cheapest_by_the_second_judge_keeps_every_rule_of_the_check() -> None:
    seen = 0
    for shape in SHAPES:
        raw = problem_of(shape, 200)
        best = cheapest(raw)
        if best is not None:
            found = Judge(raw).judge(best[1])
            assert (found.broken, found.cents) == (set(), best[0])
            seen += 1
    assert seen >= 10
