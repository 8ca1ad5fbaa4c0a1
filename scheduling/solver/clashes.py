"""When no plan keeps every rule: a small set of rules that clash, found by taking rules away.

First tasks are taken away as long as what is left still cannot be planned, then rules of the tasks and resources that
remain. What cannot be taken away any more is the clash: with any one of its rules gone, the rest could be kept.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import partial
from random import Random
from time import monotonic

from scheduling.solver import greedy
from scheduling.solver.board import Board
from scheduling.solver.bounds import lower_bound
from scheduling.solver.cpsat import Model, is_in_reach
from scheduling.solver.explain import moment, why_never
from scheduling.solver.giving_up import says_of
from scheduling.solver.plan import Clash
from scheduling.solver.problem import Mode, OpenStretch, Problem, Resource, Task, WorkStretch
from scheduling.solver.search import Search
from scheduling.solver.standing import restrict, variants

Relax = Callable[[Problem], Problem]
SEARCH_ROUNDS = 40
WORK = 1.0
COPY = "\x00"
CLASH_SHARE = 0.5
FREE: dict[str, object] = {"leave_cents": 0}


@dataclass(frozen=True)
class _Rule:
    task: str | None
    key: str
    says: str
    relax: Relax


def can_be_planned(problem: Problem, seed: int, until: float | None = None) -> bool | None:
    """Return whether some plan keeps every rule; None when that was not found out, by the clock or at all."""
    base = Board(problem)
    answer: bool | None = False
    for variant in variants(base):
        board = restrict(base, variant)
        if lower_bound(board) >= greedy.MUST_UNITS:
            continue
        search = Search(greedy.construct(board), Random(seed))
        if not search.is_complete:
            search.run(until=until, rounds=SEARCH_ROUNDS)
        if search.is_complete:
            return True
        seconds = None if until is None else until - monotonic()
        if (seconds is not None and seconds <= 0) or not is_in_reach(board):
            answer = None
            continue
        outcome = Model(board).solve(None, seconds=seconds, work=WORK, seed=seed, workers=1)
        if outcome.places is not None:
            return True
        if not outcome.proved:
            answer = None
    return answer


def clashing_rules(
    problem: Problem, *, is_sure: bool, seconds: float | None, seed: int
) -> list[Clash] | None:
    """Return the clash of a problem that has no plan, or None when it may have one.

    `is_sure` says that there is none is proved already. After a share of `seconds` no more rules are taken away: the
    set still clashes, but may be larger than need be. The rest goes to planning without each rule in turn.
    """
    began = monotonic()
    until = None if seconds is None else began + seconds * CLASH_SHARE

    def clashes(candidate: Problem) -> bool:
        if until is not None and monotonic() > until:
            return False
        return can_be_planned(candidate, seed, until) is False

    small = _only(problem, _must(problem))
    if not clashes(small):
        if not is_sure:
            return None
        small = problem
    small = _fewest_tasks(small, clashes)
    kept = []
    for rule in _rules(small):
        relaxed = rule.relax(small)
        if clashes(relaxed):
            small = relaxed
        else:
            kept.append(rule)
    must = [task for task in small.tasks if task.leave_cents is None]
    rules = [
        _Rule(task.id, "leave_cents", f"{task.id} must be done.", partial(_task, name=task.id, changes=FREE))
        for task in must
    ]
    rules += kept
    left = None if seconds is None else began + seconds - monotonic()
    allowed = says_of([partial(rule.relax, problem) for rule in rules], seed=seed, seconds=left)
    found = [
        Clash(rule.task, rule.key, f"{rule.says} {allows}".strip()) for rule, allows in zip(rules, allowed)
    ]
    if not kept:
        found += [Clash(task.id, "modes", why_never(Board(small), task)) for task in must]
    return found


def _must(problem: Problem) -> set[str]:
    """Return the tasks that must be done, with all that they wait for."""
    found: set[str] = set()
    waiting = [task.id for task in problem.tasks if task.leave_cents is None]
    while waiting:
        name = waiting.pop()
        if name not in found:
            found.add(name)
            waiting += [after.task for after in problem.task_of[name].after]
    return found


def _only(problem: Problem, names: Iterable[str]) -> Problem:
    keep = set(names)
    tasks = tuple(
        replace(task, after=tuple(after for after in task.after if after.task in keep))
        for task in problem.tasks
        if task.id in keep
    )
    return replace(problem, tasks=tasks)


def _fewest_tasks(problem: Problem, clashes: Callable[[Problem], bool]) -> Problem:
    for task in problem.tasks:
        alone = _only(problem, [task.id])
        if clashes(alone):
            return alone
    names = [task.id for task in problem.tasks]
    size = len(names) // 2
    while size:
        at = 0
        while at < len(names):
            fewer = names[:at] + names[at + size :]
            if fewer and clashes(_only(problem, fewer)):
                names = fewer
            else:
                at += size
        size //= 2
    return _only(problem, names)


def _rules(problem: Problem) -> list[_Rule]:
    """Return what could be taken away from a small problem, the likeliest culprits last."""
    rules: list[_Rule] = []
    used = {name for task in problem.tasks for mode in task.modes for name in mode.resources}
    resources = [resource for resource in problem.resources if resource.id in used]
    if any(resource.roams for resource in resources):
        says = "The roads take as long as the table says."
        rules.append(_Rule(None, "road_minutes", says, _no_roads))
    for resource in resources:
        if resource.changeover is not None and resource.changeover.minutes:
            says = f"{resource.id} needs {resource.changeover.minutes} minutes to change its setup."
            rules.append(
                _Rule(None, "changeover", says, partial(_resource, name=resource.id, changeover=None))
            )
        if resource.road_calendar is not None:
            says = f"{resource.id} may be on the road only in its road calendar."
            whole = (WorkStretch(0, problem.horizon),)
            rules.append(
                _Rule(None, "road_calendar", says, partial(_resource, name=resource.id, road_calendar=whole))
            )
        if len(problem.tasks) > 1:
            says = f"{resource.id} does one task at a time."
            rules.append(_Rule(None, "resources", says, partial(_shared, name=resource.id)))
        says = f"{resource.id} works only in its calendar."
        rules.append(_Rule(None, "calendar", says, partial(_always, name=resource.id)))
    for task in problem.tasks:
        rules += _task_rules(problem, task)
    return rules


def _task_rules(problem: Problem, task: Task) -> list[_Rule]:
    name = task.id
    rules: list[_Rule] = []

    def add(key: str, says: str, **changes: object) -> None:
        rules.append(_Rule(name, key, says, partial(_task, name=name, changes=changes)))

    add("open", f"{name} goes on only while it is open.", open=(OpenStretch(0, problem.horizon),))
    if task.hold_limit is not None:
        add("hold_limit", f"{name} is held for at most {task.hold_limit} minutes.", hold_limit=None)
    if task.earliest:
        add("earliest", f"{name} starts {moment(problem, task.earliest)} at the soonest.", earliest=0)
    if task.latest is not None:
        add("latest", f"{name} starts {moment(problem, task.latest)} at the latest.", latest=None)
    if task.fixed is not None:
        says = f"{name} is fixed to {task.fixed.mode} from {moment(problem, task.fixed.start)}."
        add("fixed", says, fixed=None)
    if task.under_way is not None:
        add("under_way", f"{name} is under way in {task.under_way.mode}.", under_way=None)
    for after in task.after:
        if after.max_gap is not None:
            says = f"{name} starts at most {after.max_gap} minutes after {after.task} ends."
            relax = partial(_after, name=name, ahead=after.task, keep=True)
            rules.append(_Rule(name, "after", says, relax))
    for after in task.after:
        says = f"{name} starts after {after.task} ends"
        says += f", by at least {after.min_gap} minutes." if after.min_gap else "."
        rules.append(_Rule(name, "after", says, partial(_after, name=name, ahead=after.task, keep=False)))
    return rules


def _after(problem: Problem, *, name: str, ahead: str, keep: bool) -> Problem:
    """Take away the most minutes between two tasks (`keep`), or the order of the two altogether."""
    changed = tuple(
        replace(after, max_gap=None) if after.task == ahead else after
        for after in problem.task_of[name].after
        if keep or after.task != ahead
    )
    return _task(problem, name=name, changes={"after": changed})


def _task(problem: Problem, *, name: str, changes: dict[str, object]) -> Problem:
    tasks = tuple(
        replace(task, **changes) if task.id == name else task  # type: ignore[arg-type]
        for task in problem.tasks
    )
    return replace(problem, tasks=tasks)


def _resource(problem: Problem, *, name: str, **changes: object) -> Problem:
    resources = tuple(
        replace(resource, **changes) if _is(resource, name) else resource  # type: ignore[arg-type]
        for resource in problem.resources
    )
    return replace(problem, resources=resources)


def _is(resource: Resource, name: str) -> bool:
    return resource.id == name or resource.id.startswith(name + COPY)


def _always(problem: Problem, *, name: str) -> Problem:
    road = next(resource.road_stretches for resource in problem.resources if _is(resource, name))
    return _resource(problem, name=name, calendar=(WorkStretch(0, problem.horizon),), road_calendar=road)


def _no_roads(problem: Problem) -> Problem:
    return replace(problem, road_minutes=tuple(tuple(0 for _ in row) for row in problem.road_minutes))


def _shared(problem: Problem, *, name: str) -> Problem:
    """Give every task a resource of its own in the place of this one."""
    shared = problem.resource_of[name]
    others: list[Resource] = [resource for resource in problem.resources if resource.id != name]
    tasks = []
    for number, task in enumerate(problem.tasks):
        own = f"{name}{COPY}{number}"
        others.append(replace(shared, id=own))
        modes: list[Mode] = []
        for mode in task.modes:
            changed = tuple(own if used == name else used for used in mode.resources)
            modes.append(replace(mode, resources=changed))
        tasks.append(replace(task, modes=tuple(modes)))
    return replace(problem, tasks=tuple(tasks), resources=tuple(others))
