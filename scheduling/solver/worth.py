"""What something supposed is worth: the week planned again as if it were so, beside the week as it is."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from scheduling.solver.check import check
from scheduling.solver.days import within
from scheduling.solver.plan import PlacedTask, Plan
from scheduling.solver.plan import to_json as plan_to_json
from scheduling.solver.problem import Mode, Problem, Stretch
from scheduling.solver.solving import solve
from scheduling.solver.supposed import Supposed, suppose
from scheduling.solver.supposing import Supposition

FORMAT = "plan-worth/1"
Told = Callable[[int, int, Supposition | None], None]
OF_MONEY = frozenset({"cost", "cost_parts", "bound"})


@dataclass(frozen=True)
class Worth:
    """What one thing supposed is worth, in whole cents: never below 0 for what is added, never above for what is lost.

    None: with it no plan keeps every rule, or none was found. The true worth, if both plans were the cheapest, lies
    between `least_cents` and `most_cents`. `about` names the resources that are added or missing, or the hands who go
    on longer; `priced_min` is by how many more minutes hands and machines work at an extra price.
    """

    supposition: Supposition
    cents: int | None
    least_cents: int | None
    most_cents: int | None
    before: Plan
    after: Plan
    about: tuple[str, ...]
    now_planned: tuple[str, ...] = ()
    now_left: tuple[str, ...] = ()
    moved: tuple[str, ...] = ()
    priced_min: int = 0

    @property
    def is_sure(self) -> bool:
        """Whether both plans are proved the cheapest, so that this is what it is worth."""
        return self.cents is not None and self.least_cents == self.most_cents


@dataclass(frozen=True)
class Answers:
    """The plan of the problem as it is, after as much search as each supposition had, and what each is worth."""

    problem: Problem
    base: Plan
    worths: tuple[Worth, ...]


def worth(
    problem: Problem,
    plan: Plan,
    suppositions: Sequence[Supposition],
    *,
    seconds: float,
    rounds: int | None = None,
    seed: int = 1,
    workers: int = 1,
    told: Told | None = None,
    stop: Callable[[], bool] | None = None,
) -> Answers:
    """Return what each supposition is worth, in their order, from a plan of the problem on.

    `seconds` (above 0) or `rounds` limit each single search. The plan of the problem as it is gets as much search
    first, and takes over what a plan with something added finds without using it, so that a difference is that of
    the supposition and not of the search. `told` hears how many are done, of how many, and which comes next. Once
    `stop` says yes, the ones that were not begun are not answered. ValueError for a plan of status none.
    """
    if plan.status == "none":
        raise ValueError("there is no plan to begin from")
    searched: dict[str, Any] = {"seconds": seconds, "rounds": rounds, "seed": seed, "workers": workers}
    _tell(told, 0, suppositions)
    base = solve(problem, start=plan, stop=stop, **searched)
    tried: list[tuple[Supposition, Supposed, Plan]] = []
    for number, one in enumerate(suppositions, 1):
        if stop is not None and stop():
            break
        supposed = suppose(problem, one, plan=base)
        after = solve(supposed.problem, start=base, stop=stop, **searched)
        tried.append((one, supposed, after))
        if not one.is_loss:
            base = _cheaper(problem, base, supposed, after)
        _tell(told, number, suppositions)
    return Answers(problem, base, tuple(_judged(problem, base, *one) for one in tried))


def _tell(told: Told | None, done: int, suppositions: Sequence[Supposition]) -> None:
    if told is not None:
        told(done, len(suppositions), suppositions[done] if done < len(suppositions) else None)


def _cheaper(problem: Problem, base: Plan, supposed: Supposed, after: Plan) -> Plan:
    """Return the plan found with something added, if it is cheaper than the base and does without what was added."""
    if after.cost is None or base.cost is None or after.cost >= base.cost:
        return base
    tasks = []
    for placed in after.tasks:
        mode = supposed.base_mode.get((placed.id, placed.mode), placed.mode)
        if problem.task_of[placed.id].mode(mode) is None:
            return base
        tasks.append(replace(placed, mode=mode))
    same = replace(after, status="good", bound=base.bound, tasks=tuple(tasks))
    found = check(problem, same)
    if any(one.rule not in OF_MONEY for one in found.violations) or found.cost is None:
        return base
    if found.cost >= base.cost:
        return base
    bound = None if base.bound is None else min(base.bound, found.cost)
    return replace(same, cost=found.cost, cost_parts=found.cost_parts, bound=bound)


def _judged(problem: Problem, base: Plan, supposition: Supposition, supposed: Supposed, after: Plan) -> Worth:
    assert base.cost is not None
    assert base.bound is not None
    if after.cost is None or after.bound is None:
        return Worth(supposition, None, None, None, base, after, supposed.about)
    if not supposition.is_loss and after.cost >= base.cost:
        after = replace(base, bound=min(after.bound, base.cost), status="good")
        if after.bound == after.cost:
            after = replace(after, status="best")
    assert after.cost is not None
    assert after.bound is not None
    cents = _clipped(supposition, base.cost - after.cost)
    before_of, after_of = ({one.id: one for one in plan.tasks} for plan in (base, after))
    moved = [
        key
        for key, one in after_of.items()
        if key in before_of and _place(supposed, one) != (before_of[key].mode, before_of[key].start)
    ]
    return Worth(
        supposition,
        cents,
        min(cents, _clipped(supposition, base.bound - after.cost)),
        max(cents, _clipped(supposition, base.cost - after.bound)),
        base,
        after,
        supposed.about,
        tuple(key for key in after_of if key not in before_of),
        tuple(key for key in before_of if key not in after_of),
        tuple(moved),
        _priced_min(supposed.problem, after) - _priced_min(problem, base),
    )


def _clipped(supposition: Supposition, cents: int) -> int:
    return min(cents, 0) if supposition.is_loss else max(cents, 0)


def _place(supposed: Supposed, placed: PlacedTask) -> tuple[str, int]:
    return supposed.base_mode.get((placed.id, placed.mode), placed.mode), placed.start


def _priced_min(problem: Problem, plan: Plan) -> int:
    """Return the minutes that resources work in stretches with an extra price."""
    total = 0
    for placed in plan.tasks:
        task = problem.task_of[placed.id]
        mode = task.mode(placed.mode)
        if mode is None:
            continue
        for stretch in _worked(problem, mode, [Stretch(s.start, s.end) for s in task.open], placed):
            for name in mode.resources:
                total += sum(
                    part.end - part.start
                    for part in within(problem.resource_of[name].calendar, stretch)
                    if part.extra_cents_per_hour
                )
    return total


def _worked(problem: Problem, mode: Mode, open_: list[Stretch], placed: PlacedTask) -> list[Stretch]:
    left = within(open_, Stretch(placed.start, placed.end))
    for name in mode.resources:
        calendar = [Stretch(s.start, s.end) for s in problem.resource_of[name].calendar]
        left = [part for one in left for part in within(calendar, one)]
    return left


def to_json(answers: Answers) -> dict[str, Any]:
    """Return the answers as `plan-worth/1`: money in whole cents, tasks and resources by their ids."""
    return {
        "format": FORMAT,
        "base": plan_to_json(answers.base),
        "suppositions": [_worth_to_json(one) for one in answers.worths],
    }


def _worth_to_json(one: Worth) -> dict[str, Any]:
    return {
        "suppose": one.supposition.text,
        "cents": one.cents,
        "least_cents": one.least_cents,
        "most_cents": one.most_cents,
        "is_sure": one.is_sure,
        "about": list(one.about),
        "now_planned": list(one.now_planned),
        "now_left": list(one.now_left),
        "moved": list(one.moved),
        "priced_min": one.priced_min,
        "after": plan_to_json(one.after),
    }
