"""The next best choice is the cheapest of all other plans that differ in one task: each is tried under the check."""

import numpy as np
import pytest

from scheduling.solver import Plan, Problem, check, parse_problem, solve
from scheduling.solver.nexts import Days
from scheduling.solver.plan import LeftTask, PlacedTask
from scheduling.solver.reasons import NextBest, Reason, explain
from tests.scheduling.solver import example, rows, tiny

CASES = 60
Price = int | None


def _problem(seed: int) -> Problem:
    """Return a random problem: one that uses every key, or one with full rows and roads with short cuts."""
    if seed % 2:
        return parse_problem(rows.random_problem(seed))
    return parse_problem(tiny.random_problem(seed, tasks=4, horizon=32, step=4))


def _cost(problem: Problem, placed: list[PlacedTask]) -> Price:
    standing = {p.id for p in placed}
    left = tuple(LeftTask(task.id, "tried") for task in problem.tasks if task.id not in standing)
    result = check(problem, Plan("good", 0, 0, 0.0, None, tuple(placed), left))
    broken = {violation.rule for violation in result.violations}
    return result.cost if broken <= {"cost", "cost_parts", "bound"} else None


def _behind(problem: Problem, name: str) -> set[str]:
    found = {name}
    while True:
        more = {task.id for task in problem.tasks if any(after.task in found for after in task.after)}
        if more <= found:
            return found
        found |= more


def _tried(problem: Problem, plan: Plan, name: str) -> list[tuple[int, PlacedTask | None]]:
    """Return what each other choice for the task costs more, by the check."""
    number = [task.id for task in problem.tasks].index(name)
    now = next(p for p in plan.tasks if p.id == name)
    found: list[tuple[int, PlacedTask | None]] = []
    for option in tiny.everything(problem)[number]:
        if option is None:
            kept = [p for p in plan.tasks if p.id not in _behind(problem, name)]
        elif (option.mode, option.start) == (now.mode, now.start):
            continue
        else:
            kept = [option if p.id == name else p for p in plan.tasks]
        cost = _cost(problem, kept)
        if cost is not None:
            assert plan.cost is not None
            found.append((cost - plan.cost, option))
    return found


def _agrees(choice: NextBest | None, prices: list[int]) -> bool:
    # The check rounds both plans, the choice rounds their difference: they can be a cent apart.
    if choice is None or not prices:
        return choice is None and not prices
    return abs(choice.more_cents - min(prices)) <= 1


@pytest.mark.parametrize("seed", range(CASES))
def test_no_other_choice_is_cheaper_than_the_next_best(seed: int) -> None:
    problem = _problem(seed)
    plan = solve(problem, seconds=1, rounds=1)
    reasons = explain(problem, plan)
    assert [reason.task for reason in reasons.placed] == [placed.id for placed in plan.tasks]
    assert [reason.task for reason in reasons.left] == [left.id for left in plan.left]
    for reason, placed in zip(reasons.placed, plan.tasks):
        task = problem.task_of[placed.id]
        if task.fixed is not None or task.under_way is not None:
            assert reason.next_best is None
            assert reason.cause == ("fixed" if task.under_way is None else "under_way")
            continue
        tried = _tried(problem, plan, placed.id)
        assert _agrees(reason.next_best, [price for price, _ in tried]), (placed, reason.next_best)
        _judge_others(reason, placed, tried)


def _judge_others(reason: Reason, placed: PlacedTask, tried: list[tuple[int, PlacedTask | None]]) -> None:
    other = [price for price, o in tried if o is not None and o.mode != placed.mode]
    if reason.other_outfit is not None:
        assert _agrees(reason.other_outfit, other)
    elif reason.next_best is None or reason.next_best.mode in (None, placed.mode):
        assert not other
    sooner = [
        price for price, o in tried if o is not None and o.mode != placed.mode and o.start < placed.start
    ]
    assert _agrees(reason.sooner, sooner)
    same = [o for _, o in tried if o is not None and o.mode == placed.mode and o.start < placed.start]
    assert (reason.cause in ("price", "was")) == bool(same)


@pytest.mark.parametrize("seed", range(CASES))
def test_a_task_that_is_left_for_its_price_could_be_done_for_no_less(seed: int) -> None:
    problem = _problem(seed)
    plan = solve(problem, seconds=1, rounds=1)
    for reason in explain(problem, plan).left:
        number = [task.id for task in problem.tasks].index(reason.task)
        prices = []
        for option in tiny.everything(problem)[number]:
            cost = None if option is None else _cost(problem, [*plan.tasks, option])
            if cost is not None:
                assert plan.cost is not None
                prices.append(cost - plan.cost)
        if reason.cause in ("price", "search"):
            assert _agrees(reason.next_best, prices), (reason, prices)
        elif reason.cause not in ("fixed", "successor"):
            assert not prices, (reason, prices)


@pytest.mark.parametrize(
    ("start", "minutes", "days"),
    [
        ("2027-04-05T00:00:00-04:00", [0, 1439, 1440, 2879], [0, 0, 1, 1]),
        # The clock springs ahead on March 14 and falls back on November 7: days of 23 and 25 hours.
        ("2027-03-14T00:00:00-05:00", [0, 1379, 1380, 2820], [0, 0, 1, 2]),
        ("2027-11-07T00:00:00-04:00", [0, 1499, 1500], [0, 0, 1]),
        ("2027-04-05T17:23:00-04:00", [0, 396, 397, 1836, 1837], [0, 0, 1, 1, 2]),
    ],
)
def test_days_are_those_of_the_farm_s_clock(start: str, minutes: list[int], days: list[int]) -> None:
    problem = parse_problem({**example.problem(), "start": start})
    assert Days(problem).of(np.array(minutes)).tolist() == days
