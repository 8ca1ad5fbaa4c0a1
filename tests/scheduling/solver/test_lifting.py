"""Lifting a rule: the soonest start found is the soonest that the independent check lets stand with that rule gone."""

from dataclasses import replace
from fractions import Fraction

import pytest

from scheduling.solver import Plan, Problem, parse_problem, solve
from scheduling.solver.check import _Checker
from scheduling.solver.choices import Arrays, Choices, schedule_of
from scheduling.solver.lifting import Rule, Sooner
from scheduling.solver.plan import PlacedTask
from scheduling.solver.problem import OpenStretch, Resource, Task, WorkStretch
from tests.scheduling.solver import rows, tiny

CASES = 60


def _problem(seed: int) -> Problem:
    """Return a random problem: one that uses every key, or one with full rows and roads with short cuts."""
    if seed % 2:
        return parse_problem(rows.random_problem(seed))
    return parse_problem(tiny.random_problem(seed, tasks=4, horizon=36, step=3))


def _relaxed(problem: Problem, plan: Plan, placed: PlacedTask, rules: tuple[Rule, ...]) -> Problem:
    """Return the problem with the rules of this task taken away by hand, each as the rule book has it."""
    tasks, resources = list(problem.tasks), list(problem.resources)
    number = next(i for i, task in enumerate(tasks) if task.id == placed.id)
    at = {p.id: p for p in plan.tasks}

    def change(**changes: object) -> None:
        tasks[number] = replace(tasks[number], **changes)  # type: ignore[arg-type]

    for rule in rules:
        if rule.kind == "window":
            change(open=(OpenStretch(0, problem.horizon),))
        elif rule.kind == "earliest":
            change(earliest=0)
        elif rule.kind == "hold":
            change(hold_limit=None)
        elif rule.kind == "predecessor":
            ahead = tasks[rule.number].id
            change(after=tuple(after for after in tasks[number].after if after.task != ahead))
        elif rule.kind == "successor":
            behind = tasks[rule.number]
            after = tuple(replace(a, max_gap=None) if a.task == placed.id else a for a in behind.after)
            tasks[rule.number] = replace(behind, after=after)
        elif rule.kind == "hours":
            resources[rule.number] = replace(
                resources[rule.number], calendar=(WorkStretch(0, problem.horizon),)
            )
        elif rule.kind == "road":
            resources[rule.number] = replace(resources[rule.number], road_factor=Fraction(0), changeover=None)
    for rule in rules:
        if rule.kind == "outfit":
            resource: Resource = resources[rule.number]
            resources.append(replace(resource, id=f"{resource.id} free"))
            for i, task in enumerate(tasks):
                if i == number or (task.id in at and at[task.id].start >= placed.start):
                    tasks[i] = _with(task, resource.id, f"{resource.id} free")
    return replace(problem, tasks=tuple(tasks), resources=tuple(resources))


def _with(task: Task, old: str, new: str) -> Task:
    modes = tuple(
        replace(mode, resources=tuple(new if name == old else name for name in mode.resources))
        for mode in task.modes
    )
    return replace(task, modes=modes)


def _soonest_by_check(problem: Problem, plan: Plan, placed: PlacedTask) -> int | None:
    checker = _Checker(problem, plan)
    task = problem.task_of[placed.id]
    mode = task.mode(placed.mode)
    assert mode is not None
    others = [p for p in plan.tasks if p.id != placed.id]
    for start in range(0, placed.start, problem.step):
        faults, minutes = checker.alone(task, mode, start, None)
        if faults:
            continue
        tried = [*others, PlacedTask(placed.id, placed.mode, start, minutes[-1] + 1)]
        if not checker.order(tried) and not checker.rows(tried)[0]:
            return start
    return None


@pytest.mark.parametrize("seed", range(CASES))
def test_the_soonest_start_without_a_rule_is_the_soonest_that_the_check_allows(seed: int) -> None:
    problem = _problem(seed)
    plan = solve(problem, seconds=1, rounds=1)
    if plan.status == "none":
        return
    schedule = schedule_of(problem, plan)
    for placed in plan.tasks:
        job = schedule.board.jobs[schedule.board.job_no[placed.id]]
        if job.pinned:
            continue
        choices = Choices(schedule, job.number, Arrays())
        assert choices.place is not None
        sooner = Sooner(choices, choices.place.way, placed.start)
        sets = [(), *[(rule,) for rule in sooner.rules], tuple(sooner.rules)]
        sets += [(one, other) for one in sooner.rules for other in sooner.rules if one < other]
        for rules in sets:
            expected = _soonest_by_check(_relaxed(problem, plan, placed, rules), plan, placed)
            assert sooner.soonest(frozenset(rules)) == expected, (placed, rules)


def test_rules_that_bind_are_each_needed_and_together_enough() -> None:
    alone = together = 0
    for seed in range(CASES):
        problem = _problem(seed)
        plan = solve(problem, seconds=1, rounds=1)
        if plan.status == "none":
            continue
        schedule = schedule_of(problem, plan)
        for placed in plan.tasks:
            job = schedule.board.jobs[schedule.board.job_no[placed.id]]
            if job.pinned:
                continue
            choices = Choices(schedule, job.number, Arrays())
            assert choices.place is not None
            sooner = Sooner(choices, choices.place.way, placed.start)
            rules = sooner.binding()
            if not rules:
                continue
            alone, together = alone + (len(rules) == 1), together + (len(rules) > 1)
            assert _soonest_by_check(_relaxed(problem, plan, placed, rules), plan, placed) is not None
            for kept in rules:
                fewer = tuple(rule for rule in rules if rule != kept)
                assert _soonest_by_check(_relaxed(problem, plan, placed, fewer), plan, placed) is None
    assert alone > 20
    assert together > 5
