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

    `seconds` (above 0) or `rounds` limit the search of each, and of the plan of the problem as it is, which goes first.
    Each search is made in two halves. Between them the plan as it is begins anew from the cheapest that was found with
    something added, and the others from whatever of the rest suits them, so that a difference is that of the
    supposition and not of a search that happened to see more. `told` hears how many halves are done, of how many, and
    what comes next. Once `stop` says yes, the ones that had no search of their own are not answered. ValueError for a plan of status
    none.
    """
    if plan.status == "none":
        raise ValueError("there is no plan to begin from")
    limits = {"rounds": None if rounds is None else -(-rounds // 2), "seed": seed, "workers": workers}
    asking = _Asking(problem, {"seconds": seconds / 2, "stop": stop, **limits}, told, len(suppositions))
    base = asking.first(plan, suppositions)
    if not asking.is_stopped():
        base = asking.again(base)
    base = _bounded(base, plan, [one.after for one in asking.tried if not one.supposition.is_loss])
    return Answers(problem, base, tuple(_judged(problem, base, one) for one in asking.tried))


@dataclass
class _Tried:
    """What was supposed, the problem that it makes, and the best plan of that so far."""

    supposition: Supposition
    supposed: Supposed
    after: Plan


class _Asking:
    """The searches of one question, in two halves."""

    def __init__(self, problem: Problem, searched: dict[str, Any], told: Told | None, count: int) -> None:
        self.problem, self.searched, self.told, self.of = problem, searched, told, 2 * count
        self.done = 0
        self.tried: list[_Tried] = []

    def is_stopped(self) -> bool:
        stop = self.searched["stop"]
        return stop is not None and bool(stop())

    def first(self, plan: Plan, suppositions: Sequence[Supposition]) -> Plan:
        """Search the problem as it is, then each supposition from its plan on; return the former's plan."""
        base = solve(self.problem, start=plan, **self.searched)
        for one in suppositions:
            self._tell(one)
            supposed = suppose(self.problem, one, plan=base)
            after = solve(supposed.problem, start=base, **self.searched)
            if self.is_stopped():
                break
            self.tried.append(_Tried(one, supposed, after))
            base = _without_it(self.problem, base, self.tried[-1])
        return base

    def again(self, base: Plan) -> Plan:
        """Search all once more, each from the cheapest plan that suits it; return that of the problem as it is."""
        base = self._once_more(self.problem, base, [one.after for one in self.tried])
        for one in self.tried:
            if self.is_stopped():
                break
            self._tell(one.supposition)
            others = [base, *(other.after for other in self.tried)]
            one.after = self._once_more(one.supposed.problem, one.after, others)
            base = _without_it(self.problem, base, one)
        self._tell(None)
        return base

    def _once_more(self, problem: Problem, own: Plan, others: Sequence[Plan]) -> Plan:
        if own.status == "best" or own.is_proved_impossible:
            return own
        cheaper = sorted((one for one in others if _is_cheaper(one, own)), key=lambda one: one.cost or 0)
        whole = next(
            (found for one in cheaper if (found := _as_it_stands(problem, one, own)) is not None), own
        )
        found = solve(problem, start=cheaper[0] if cheaper and whole is own else whole, **self.searched)
        return found if not _is_cheaper(whole, found) else replace(whole, bound=found.bound)

    def _tell(self, following: Supposition | None) -> None:
        if self.told is not None:
            self.told(self.done, self.of, following)
        self.done += 1


def _is_cheaper(one: Plan, other: Plan) -> bool:
    return one.cost is not None and (other.cost is None or one.cost < other.cost)


def _as_it_stands(problem: Problem, plan: Plan, own: Plan) -> Plan | None:
    """Return a plan of a like problem as one of this problem, if it is one and cheaper than the problem's own."""
    if any(problem.task_of[one.id].mode(one.mode) is None for one in plan.tasks):
        return None
    found = check(problem, plan)
    if found.cost is None or any(one.rule not in OF_MONEY for one in found.violations):
        return None
    if own.cost is not None and found.cost >= own.cost:
        return None
    bound = None if own.bound is None else min(own.bound, found.cost)
    return replace(plan, status="good", cost=found.cost, cost_parts=found.cost_parts, bound=bound)


def _without_it(problem: Problem, base: Plan, tried: _Tried) -> Plan:
    """Return the plan found with something supposed, if it is cheaper than the base and one of the problem as it is."""
    if not _is_cheaper(tried.after, base):
        return base
    names = tried.supposed.base_mode
    tasks = tuple(replace(one, mode=names.get((one.id, one.mode), one.mode)) for one in tried.after.tasks)
    return _as_it_stands(problem, replace(tried.after, tasks=tasks), base) or base


def _bounded(base: Plan, plan: Plan, with_more: Sequence[Plan]) -> Plan:
    """Return the base with the best bound there is: what no plan with more can cost less than, none without can."""
    assert base.cost is not None
    known = [one.bound for one in (base, plan, *with_more) if one.bound is not None]
    bound = min(max(known, default=0), base.cost)
    return replace(base, bound=bound, status="best" if bound == base.cost else "good")


def _judged(problem: Problem, base: Plan, tried: _Tried) -> Worth:
    supposition, supposed, after = tried.supposition, tried.supposed, tried.after
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
