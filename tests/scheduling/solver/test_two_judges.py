"""The check and a second judge say the same of every plan: of valid ones, and of each value of one put wrong in turn.

A plan that is put wrong gets its true cost again before it is judged, so that no rule can hide behind the sum.
"""

import copy
from collections import Counter
from collections.abc import Iterator
from functools import cache
from random import Random
from typing import Any

import pytest

from scheduling.solver import Problem, ProblemError, check, from_json, parse_problem
from tests.scheduling.solver.everything import Option, as_plan, options, priced
from tests.scheduling.solver.second_judge import MONEY, Json, Judge
from tests.scheduling.solver.shapes import SHAPES, draw
from tests.scheduling.solver.tiny import random_problem

pytestmark = pytest.mark.long

PLAN_RULES = {
    "tasks", "mode", "horizon", "step", "workable", "earliest", "latest", "hold_limit", "to", "after", "resources",
    "road", "under_way", "fixed", "leave_cents", "why", "cost", "cost_parts", "bound",
}  # fmt: skip
MUDDLED = {"tasks", "mode", "horizon", "to"}


def put_together(problem: Json, rng: Random) -> Json | None:
    """Return some plan that keeps every rule, without any search for a cheap one; None when chance finds none."""
    judge = Judge(problem)
    ways = {name: options(judge, task) for name, task in judge.tasks.items()}
    for _ in range(20):
        plan = _attempt(judge, ways, rng)
        if not judge.judge(plan).broken:
            return plan
    return None


def _attempt(judge: Judge, ways: dict[str, list[Option]], rng: Random) -> Json:
    held = {n for n, t in judge.tasks.items() if t.get("fixed") is not None or t.get("under_way") is not None}
    order = sorted(
        judge.tasks, key=lambda name: (name not in held, judge.tasks[name].get("leave_cents") is not None)
    )
    if rng.random() < 0.5:
        order = [*judge.tasks]
    entries: list[Json] = []
    for name in order:
        tried = [option.entry for option in ways[name] if option.entry is not None]
        if name not in held and judge.tasks[name].get("leave_cents") is not None and rng.random() < 0.25:
            continue
        for entry in rng.sample(tried, min(len(tried), 10)):
            broken = judge.judge(as_plan([*entries, entry], [])).broken
            ahead = {after["task"] for after in judge.tasks[name].get("after", [])}
            if ahead <= {e["id"] for e in entries} and broken <= {*MONEY, "tasks"}:
                entries = [*entries, entry]
                break
    standing = {entry["id"] for entry in entries}
    return priced(judge, as_plan(entries, [name for name in judge.tasks if name not in standing]))


def _moved(judge: Judge, plan: Json, number: int, **values: Any) -> Iterator[Json]:
    """Change a planned task, once with its end as it was and once with the true end."""
    for mend in (False, True):
        other = copy.deepcopy(plan)
        entry = other["tasks"][number]
        entry.update({"from": values.get("start", entry["from"]), "mode": values.get("mode", entry["mode"])})
        entry["to"] = values.get("end", entry["to"])
        if mend and entry["id"] in judge.tasks:
            end = judge.end_of(entry)
            entry["to"] = entry["to"] if end is None else end
        yield other


def wrong_plans(judge: Judge, plan: Json, ways: dict[str, list[Option]], rng: Random) -> Iterator[Json]:
    """Return the plan with each of its values shifted, swapped, doubled and dropped in turn."""
    step, horizon = judge.problem["step"], judge.horizon
    for number, entry in enumerate(plan["tasks"]):
        for start in {entry["from"] + d for d in (-step, -1, 1, step, 2 * step)} | {
            -1,
            0,
            horizon - 1,
            horizon,
        }:
            yield from _moved(judge, plan, number, start=start)
        for end in (entry["to"] - 1, entry["to"] + 1, entry["from"], horizon + 1):
            yield next(_moved(judge, plan, number, end=end))
        for mode in ["nobody", *(mode["id"] for mode in judge.tasks[entry["id"]]["modes"])]:
            yield from _moved(judge, plan, number, mode=mode)
        for other_number, other in enumerate(plan["tasks"]):
            for swapped in _moved(judge, plan, number, start=other["from"]):
                yield from _moved(judge, swapped, other_number, start=entry["from"])
        rest = [task for task in plan["tasks"] if task is not entry]
        yield {**plan, "tasks": rest}
        yield {**plan, "tasks": [*plan["tasks"], entry]}
        yield {**plan, "tasks": rest, "left": [*plan["left"], {"id": entry["id"], "why": "Because."}]}
        yield {**plan, "left": [*plan["left"], {"id": entry["id"], "why": "Because."}]}
    for left in plan["left"]:
        rest = [item for item in plan["left"] if item is not left]
        yield {**plan, "left": rest}
        yield {**plan, "left": [*plan["left"], left]}
        yield {**plan, "left": [*rest, {**left, "why": " "}]}
        found = [option.entry for option in ways[left["id"]] if option.entry is not None]
        for entry in rng.sample(found, min(len(found), 4)):
            yield {**plan, "tasks": [*plan["tasks"], entry], "left": rest}
    yield {**plan, "left": [*plan["left"], {"id": "nobody", "why": "Because."}]}
    yield {**plan, "tasks": [*plan["tasks"], {"id": "nobody", "mode": "m0", "from": 0, "to": 1}]}


def wrong_sums(plan: Json) -> Iterator[Json]:
    """Return the plan with each of its sums put wrong in turn; these are not mended."""
    for change in (-1, 1):
        yield {**plan, "cost": plan["cost"] + change}
        for part in plan["cost_parts"]:
            yield {**plan, "cost_parts": {**plan["cost_parts"], part: abs(plan["cost_parts"][part] + change)}}
        yield {**plan, "bound": plan["cost"] + change}
        yield {**plan, "bound": plan["cost"] + change, "status": "best"}
    yield {**plan, "bound": plan["cost"], "status": "best"}
    yield {**plan, "bound": None}
    yield {**plan, "cost": None}
    yield {**plan, "cost_parts": None}
    yield {**plan, "why": [{"task": None, "rule": "open", "says": "Because."}]}


def other_problems(value: Any) -> Iterator[Any]:
    """Return the problem with each number moved, each list and each object shorter by one, each null filled."""
    if isinstance(value, bool):
        yield not value
    elif isinstance(value, (int, float)):
        yield from (value - 1, value + 1, value + 5, value * 2)
    elif value is None:
        yield from (0, 7)
    elif isinstance(value, dict):
        for key, item in value.items():
            if key in ("format", "start", "zone", "id", "kind", "operation", "places", "road_minutes"):
                continue
            yield {name: other for name, other in value.items() if name != key}
            for other in other_problems(item):
                yield {**value, key: other}
        if "road_minutes" in value:
            for i, row in enumerate(value["road_minutes"]):
                for j, _ in enumerate(row):
                    table = [list(row) for row in value["road_minutes"]]
                    table[i][j] += 2
                    yield {**value, "road_minutes": table}
    elif isinstance(value, list):
        for number, item in enumerate(value):
            yield [*value[:number], *value[number + 1 :]]
            for other in other_problems(item):
                yield [*value[:number], other, *value[number + 1 :]]
    elif value in ("x", "y", "z"):
        yield from (None, "x", "y")
    elif value in ("yard", "north"):
        yield from ("yard", "north")


def same_of_both(problem: Json, parsed: Problem, judge: Judge, plan: Json) -> set[str]:
    """Return the rules that both judges find broken; they find the same ones, and the same costs."""
    ours = check(parsed, from_json(plan))
    theirs = judge.judge(plan)
    broken = {violation.rule for violation in ours.violations}
    assert all(violation.says.endswith(".") and "\n" not in violation.says for violation in ours.violations)
    if (broken | theirs.broken) & MUDDLED:
        # Where a task stands twice, or nobody knows until when, what else is broken is a matter of taste.
        assert broken & MUDDLED == theirs.broken & MUDDLED, (problem, plan)
        return broken
    assert broken == theirs.broken, (problem, plan)
    if "resources" not in broken:
        assert ours.cost == theirs.cents, (problem, plan)
    return broken


def _problems(shape: str, seeds: range) -> Iterator[tuple[Json, Json, Random]]:
    """Return problems of the shape, each with a plan that keeps its rules."""
    for seed in seeds:
        step = (3, 1, 4, 5)[seed % 4]
        rng = Random(seed)
        problem = draw(shape, seed, tasks=3 + seed % 2, horizon=60 if step == 5 else 24, step=step)
        plan = put_together(problem, rng)
        if plan is not None:
            yield problem, plan, rng


@cache
def judged(shape: str) -> Counter[str]:
    """Return how many plans broke a rule and no other, `nothing` for plans that are valid."""
    alone: Counter[str] = Counter()
    for problem, plan, rng in _problems(shape, range(5)):
        judge, parsed = Judge(problem), parse_problem(problem)
        ways = {name: options(judge, task) for name, task in judge.tasks.items()}
        assert same_of_both(problem, parsed, judge, plan) == set()
        alone["drawn"] += 1
        for other in wrong_plans(judge, plan, ways, rng):
            for mended in (other, priced(judge, other)):
                broken = same_of_both(problem, parsed, judge, mended)
                alone.update(broken if len(broken) == 1 else [] if broken else ["nothing"])
        for other in wrong_sums(plan):
            broken = same_of_both(problem, parsed, judge, other)
            assert broken <= {*MONEY, "why"}
            alone.update(broken if len(broken) == 1 else [])
    return alone


@pytest.mark.parametrize("shape", SHAPES)
def test_each_value_of_a_plan_put_wrong_is_refused_by_both_or_by_none(shape: str) -> None:
    alone = judged(shape)
    assert alone["drawn"] >= 2
    # Moved tasks also make plans that are valid, and plans that break one rule and no other.
    assert alone["nothing"] >= 5
    assert sum(alone[rule] for rule in ("workable", "resources", "road", "after", "fixed", "step")) >= 5


def test_every_rule_is_broken_alone_by_some_plan() -> None:
    """What the test above goes through is not idle: each rule is, somewhere, the only one that is broken."""
    alone = Counter[str]()
    for shape in SHAPES:
        alone += judged(shape)
    assert set(alone) - {"drawn", "nothing"} == PLAN_RULES


@pytest.mark.parametrize("shape", SHAPES)
def test_a_plan_is_judged_alike_when_each_value_of_its_problem_is_moved(shape: str) -> None:
    counted: Counter[bool] = Counter()
    refused = 0
    for problem, plan, _ in _problems(shape, range(20, 23)):
        for other in other_problems(problem):
            try:
                parsed = parse_problem(other)
            except ProblemError:
                refused += 1
                continue
            judge = Judge(other)
            counted[bool(same_of_both(other, parsed, judge, priced(judge, plan)))] += 1
    assert counted[True] >= 10
    assert counted[False] >= 10
    assert refused >= 10


def test_the_drawn_plans_of_the_tiny_problems_are_judged_alike() -> None:
    seen = 0
    for seed in range(120):
        problem = random_problem(seed)
        plan = put_together(problem, Random(seed))
        if plan is not None:
            assert same_of_both(problem, parse_problem(problem), Judge(problem), plan) == set()
            seen += 1
    assert seen >= 40
