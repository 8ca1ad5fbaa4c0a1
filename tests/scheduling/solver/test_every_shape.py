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

pytestmark = pytest.mark.long

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


def by_hand(resources: list[Json], tasks: list[Json]) -> Json:
    whole = [{"from": 0, "to": 20}]
    return {
        "format": "planning-problem/1",
        "start": "2027-04-05T00:00:00-04:00",
        "zone": "America/New_York",
        "horizon": 20,
        "step": 1,
        "resources": [{"kind": "tractor", "calendar": whole, **resource} for resource in resources],
        "places": ["yard"],
        "road_minutes": [[0]],
        "tasks": [{"place": "yard", "operation": "work", "open": whole, **task} for task in tasks],
    }


def test_two_alike_that_are_best_left_idle_are_left_idle() -> None:
    """Both need four minutes for the change before minute 0; only leaving the task keeps every rule."""
    alike = {"changeover": {"minutes": 4, "cents": 0}, "setup_now": "x"}
    mode = {"id": "m", "resources": ["r1", "r2"], "minutes": 1, "cents": 0, "setup": "z"}
    way = {"mode": "m", "minutes_left": 1, "cents_left": 0, "held_for": 1}
    raw = by_hand(
        [{"id": "r1", **alike}, {"id": "r2", **alike}],
        [{"id": "t", "modes": [mode], "leave_cents": 1, "under_way": way}],
    )
    plan = solve(parse_problem(raw), seconds=5, rounds=8)
    assert (plan.status, plan.cost, [left.id for left in plan.left]) == ("best", 1, ["t"])


def test_a_fixed_task_yields_to_either_of_two_under_way_that_cannot_both_go_on() -> None:
    mode = {"id": "m", "resources": ["r"], "minutes": 3, "cents": 0}
    way = {"mode": "m", "minutes_left": 3, "cents_left": 0, "held_for": 2}
    raw = by_hand(
        [{"id": "r"}],
        [
            {"id": "fixed", "modes": [mode], "leave_cents": 50, "fixed": {"mode": "m", "from": 0}},
            {"id": "one", "modes": [mode], "leave_cents": 900, "under_way": way},
            {"id": "other", "modes": [mode], "leave_cents": 700, "under_way": way},
        ],
    )
    best = cheapest(raw)
    assert best is not None
    # The fixed one and the cheaper of the two are left; held to the fixed one, both would be: 1600.
    assert best[0] == 750
    plan = solve(parse_problem(raw), seconds=5, rounds=8)
    assert (plan.status, plan.cost, [task.id for task in plan.tasks]) == ("best", 750, ["one"])
