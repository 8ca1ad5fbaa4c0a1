"""A problem as it would be if something supposed were so. Pure: a problem in, a problem out.

What is added never takes anything away: every way, resource and hour of the old problem is still there, so that a
plan of the old problem is a plan of the new one, at the same cost. So overtime is a choice for each task: beside each
way that a hand has, in the hand's own hours, there is one in the longer hours. What is under way or fixed has its way. A whole resource that is added stands, at minute 0, in the first of the problem's places (the farm's yard).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from scheduling.solver.added import free, hired, more
from scheduling.solver.days import days_of, minutes_of, within, without
from scheduling.solver.keeping import cannot_stay
from scheduling.solver.plan import Plan
from scheduling.solver.problem import Mode, OpenStretch, Problem, Resource, Stretch, Task, WorkStretch
from scheduling.solver.supposing import CARE, FEWER, HAND, MORE, OUTFIT, OVERTIME, Supposition

NO_GROUND = frozenset({HAND, "pivot", "pump"})
"""Kinds that do not drive on the ground: work with nothing else goes on in the rain."""
HALF = 2
"""Where no hour of overtime has a price yet, it costs half a wage on top (common practice, no source)."""


@dataclass(frozen=True)
class Supposed:
    """The new problem; the resources it is about; and of what is new, what it stands for.

    `like` names, for each resource that is new, the one (or the kind) it is like; `base_mode` names, for each new way
    (task, mode) that differs from an old one by its hours alone, the old one.
    """

    problem: Problem
    about: tuple[str, ...]
    like: Mapping[str, str] = field(default_factory=dict)
    base_mode: Mapping[tuple[str, str], str] = field(default_factory=dict)


def suppose(problem: Problem, supposition: Supposition, *, plan: Plan | None = None) -> Supposed:
    """Return the problem as it would be.

    Where it is open which resource is missing, it is the one that `plan` has at work for the fewest minutes of those
    days, then the one that the fewest ways name.
    """
    span = _span(problem, supposition)
    if supposition.kind in (MORE, OUTFIT):
        changed, like = (
            more(problem, supposition, span)
            if supposition.kind == MORE
            else hired(problem, supposition, span)
        )
        return Supposed(changed, tuple(like), like)
    if supposition.kind == FEWER:
        gone = _least_missed(problem, supposition, span, plan)
        kept = tuple(_absent(one, span) if one.id in gone else one for one in problem.resources)
        tasks = problem.tasks
        if supposition.day is None:
            tasks = tuple(_care_waits(problem, task, frozenset(gone)) for task in tasks)
        return Supposed(_freed(replace(problem, resources=kept, tasks=tasks)), gone)
    if supposition.kind == OVERTIME:
        return _overtime(problem, supposition, span)
    tasks = tuple(_rained_out(problem, task, span) for task in problem.tasks)
    return Supposed(_freed(replace(problem, tasks=tasks)), ())


def _freed(problem: Problem) -> Problem:
    """Return a problem with less in it, in which what can no longer stay as it was sent changes for nothing.

    So it is when a week is planned anew: the price of a change is there to keep what can be kept.
    """
    if all(task.was is None or not task.was.change_cents for task in problem.tasks):
        return problem
    gone = cannot_stay(problem)
    tasks = tuple(
        replace(task, was=replace(task.was, change_cents=0))
        if task.was is not None and task.id in gone
        else task
        for task in problem.tasks
    )
    return replace(problem, tasks=tasks)


def _span(problem: Problem, supposition: Supposition) -> Stretch:
    if supposition.day is None:
        return Stretch(0, problem.horizon)
    return minutes_of(problem, supposition.day)


def _absent(resource: Resource, span: Stretch) -> Resource:
    return replace(
        resource,
        calendar=tuple(without(resource.calendar, span)),
        road_calendar=None
        if resource.road_calendar is None
        else tuple(without(resource.road_calendar, span)),
    )


def _care_waits(problem: Problem, task: Task, gone: frozenset[str]) -> Task:
    """Return a service stop that need not be while what it serves is down: it does no work that would wear it."""
    served = {name for name in gone if problem.resource_of[name].kind != HAND}
    if task.operation != CARE or task.leave_cents is not None or task.under_way is not None or not task.modes:
        return task
    return replace(task, leave_cents=0) if all(served & set(mode.resources) for mode in task.modes) else task


def _rained_out(problem: Problem, task: Task, span: Stretch) -> Task:
    """Return a task without the hours of the rain, if any of its ways drives on the ground (hired work does)."""
    if task.operation == CARE:
        return task
    kinds = [{problem.resource_of[name].kind for name in mode.resources} for mode in task.modes]
    if any(not here or here - NO_GROUND for here in kinds):
        return replace(task, open=tuple(without(task.open, span)))
    return task


def _least_missed(
    problem: Problem, supposition: Supposition, span: Stretch, plan: Plan | None
) -> tuple[str, ...]:
    held = dict.fromkeys(supposition.resources, 0)
    named = dict.fromkeys(supposition.resources, 0)
    for task in problem.tasks:
        for mode in task.modes:
            for name in mode.resources:
                if name in named:
                    named[name] += 1
    for placed in plan.tasks if plan is not None else ():
        way = problem.task_of[placed.id].mode(placed.mode)
        for name in way.resources if way is not None else ():
            if name in held:
                inside = within(problem.resource_of[name].calendar, span)
                held[name] += sum(s.end - s.start for s in within(inside, Stretch(placed.start, placed.end)))
    ranked = sorted(supposition.resources, key=lambda name: (held[name], named[name], name))
    return tuple(ranked[: supposition.count])


def _overtime(problem: Problem, supposition: Supposition, span: Stretch) -> Supposed:
    resources: list[Resource] = []
    added: dict[str, list[WorkStretch]] = {}
    own_hours: dict[str, str] = {}
    taken = set(problem.resource_of)
    for one in problem.resources:
        longer = _longer_hours(problem, one, supposition, span) if one.id in supposition.resources else []
        if not longer:
            resources.append(one)
            continue
        added[one.id] = longer
        own_hours[one.id] = free(f"{one.id} in own hours", taken)
        taken.add(own_hours[one.id])
        calendar = tuple(sorted((*one.calendar, *longer), key=lambda s: s.start))
        resources.append(replace(one, calendar=calendar))
        hours = tuple(WorkStretch(s.start, s.end) for s in one.calendar)
        resources.append(Resource(own_hours[one.id], "hours", hours))
    base: dict[tuple[str, str], str] = {}
    tasks = tuple(_with_overtime(problem, task, added, own_hours, base) for task in problem.tasks)
    changed = replace(problem, resources=tuple(resources), tasks=tasks)
    return Supposed(changed, tuple(added), {}, base)


def _longer_hours(
    problem: Problem, hand: Resource, supposition: Supposition, span: Stretch
) -> list[WorkStretch]:
    """Return what is added behind a hand's last hours that begin on each day, up to the next hours."""
    extra = supposition.cents_per_h
    if extra is None:
        paid = max((s.extra_cents_per_hour for s in hand.calendar), default=0)
        extra = paid or hand.road_cents_per_minute * 60 // HALF
    found = []
    for day in days_of(problem):
        today = minutes_of(problem, day)
        if today.start < span.start or span.end < today.end:
            continue
        begun = [s for s in hand.calendar if today.start <= s.start < today.end]
        if not begun:
            continue
        end = begun[-1].end
        following = next((s.start for s in hand.calendar if s.start >= end), problem.horizon)
        until = min(end + supposition.minutes, following)
        if end < until:
            found.append(WorkStretch(end, until, extra))
    return found


def _with_overtime(
    problem: Problem,
    task: Task,
    added: Mapping[str, Sequence[WorkStretch]],
    own_hours: Mapping[str, str],
    base: dict[tuple[str, str], str],
) -> Task:
    own: list[Mode] = []
    longer: list[Mode] = []
    taken = {mode.id for mode in task.modes} | ({task.was.mode} if task.was is not None else set())
    for mode in task.modes:
        hours = tuple(own_hours[name] for name in mode.resources if name in own_hours)
        own.append(replace(mode, resources=(*mode.resources, *hours)))
        is_bound = task.under_way is not None or task.fixed is not None
        if not hours or is_bound or not _helps(problem, task, mode, added):
            continue
        mode_id = free(f"{mode.id} (longer)", taken)
        taken.add(mode_id)
        base[task.id, mode_id] = mode.id
        longer.append(replace(mode, id=mode_id))
    return replace(task, modes=(*own, *longer))


def _helps(problem: Problem, task: Task, mode: Mode, added: Mapping[str, Sequence[WorkStretch]]) -> bool:
    """Whether any of the added minutes is workable: open, with all the others at work in old or added hours."""
    lists = [
        sorted((*problem.resource_of[name].calendar, *added.get(name, ())), key=lambda s: s.start)
        for name in mode.resources
    ]
    for name in mode.resources:
        for stretch in added.get(name, ()):
            left: list[Stretch] = [Stretch(s.start, s.end) for s in within(task.open, _plain(stretch))]
            for calendar in lists:
                left = [part for one in left for part in _both(calendar, one)]
            if left:
                return True
    return False


def _both(calendar: Sequence[WorkStretch], inside: Stretch) -> list[Stretch]:
    return [_plain(part) for part in within(calendar, inside)]


def _plain(stretch: Stretch | WorkStretch | OpenStretch) -> Stretch:
    return Stretch(stretch.start, stretch.end)
