"""What is added to a problem: one more hand, implement or machine, or a whole outfit that is hired. Pure.

Nothing of the problem is taken away: there are new resources, and new ways beside the old ones.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import TypeVar

from scheduling.solver.days import days_of, minutes_of, within
from scheduling.solver.problem import Mode, Problem, Resource, Stretch, Task, WorkStretch
from scheduling.solver.supposing import CARE, HAND, Supposition, company_of, outfit_key

S = TypeVar("S", bound=Stretch)


def more(problem: Problem, supposition: Supposition, span: Stretch) -> tuple[Problem, dict[str, str]]:
    """Return a problem with more of one kind in the minutes of `span`, and what each new resource is like."""
    like: dict[str, str] = {}
    cents_per_h = supposition.cents_per_h or 0
    for _ in range(supposition.count):
        if supposition.subject == HAND:
            new = _any_hand(problem, supposition.resources, span)
            models = frozenset(one.id for one in problem.resources if one.kind == HAND)
            like[new.id] = HAND
        else:
            model = _most_useful(problem, supposition.resources)
            new = _copy(problem, model, span)
            models = frozenset({model.id})
            like[new.id] = model.id
        tasks = tuple(
            replace(task, modes=task.modes + _new_modes(task, new.id, models, cents_per_h))
            if supposition.subject == HAND or task.operation != CARE
            else task  # serving what is hired would not serve what is due
            for task in problem.tasks
        )
        problem = replace(problem, resources=(*problem.resources, new), tasks=tasks)
    return problem, like


def hired(problem: Problem, supposition: Supposition, span: Stretch) -> tuple[Problem, dict[str, str]]:
    """Return a problem with whole outfits hired for one kind of work, and what each new resource is like.

    All that the outfit is of is new and works with nothing else: it neither takes a tractor from the farm nor lends it
    one. On each day it keeps the hours of whatever of its like has the most, since what is hired is not down.
    """
    like: dict[str, str] = {}
    key = outfit_key(problem, supposition.resources)
    for _ in range(supposition.count):
        brought: dict[str, str] = {}
        for name in supposition.resources:
            new = _brought(problem, problem.resource_of[name], supposition.subject, span)
            brought[name] = new.id
            problem = replace(problem, resources=(*problem.resources, new))
        tasks = tuple(
            replace(task, modes=task.modes + _hired_ways(problem, task, key, brought, supposition))
            if task.operation == supposition.subject
            else task
            for task in problem.tasks
        )
        problem = replace(problem, tasks=tasks)
        like |= {
            new: HAND if problem.resource_of[new].kind == HAND else name for name, new in brought.items()
        }
    return problem, like


def _brought(problem: Problem, model: Resource, operation: str, span: Stretch) -> Resource:
    """Return one part of a hired outfit, in the yard at minute 0."""
    alike = company_of(problem, operation, model.kind)
    if model.kind == HAND:
        return _any_hand(problem, alike, span)
    is_shut = model.road_calendar is not None
    models = [model, *(problem.resource_of[name] for name in alike if name != model.id)]
    models = [one for one in models if (one.road_calendar is not None) is is_shut]
    calendar: list[WorkStretch] = []
    road: list[Stretch] = []
    for day in days_of(problem):
        today = minutes_of(problem, day)
        inside = Stretch(max(today.start, span.start), min(today.end, span.end))
        if inside.start < inside.end:
            best = max(models, key=lambda one: _hours(within(one.calendar, inside)))
            calendar += within(best.calendar, inside)
            road += within(best.road_calendar or (), inside)
    return replace(
        model,
        id=_new_id(problem, model.id),
        home=model.home if not model.roams else problem.places[0],
        calendar=_joined(calendar),
        road_calendar=_joined(road) if is_shut else None,
        setup_now=None,
    )


def _hired_ways(
    problem: Problem, task: Task, key: tuple[frozenset[str], int], brought: dict[str, str], asked: Supposition
) -> tuple[Mode, ...]:
    """Return the one way of a hired outfit: the pace of the slowest and the price of the dearest way that it is like."""
    ways = [mode for mode in task.modes if outfit_key(problem, mode.resources) == key]
    if task.under_way is not None or task.fixed is not None or not ways:
        return ()
    names = tuple(brought.values())
    setup = next((brought.get(mode.setup, mode.setup) for mode in ways if mode.setup is not None), None)
    way = Mode(
        "+".join(names), names, max(one.minutes for one in ways), max(one.cents for one in ways), setup
    )
    return _named_apart(task, [way], asked.cents_per_h or 0)


def _most_useful(problem: Problem, ids: Sequence[str]) -> Resource:
    """Return the one that the most ways name, of equals the first."""
    named = dict.fromkeys(ids, 0)
    for task in problem.tasks:
        for mode in task.modes:
            for name in mode.resources:
                if name in named:
                    named[name] += 1
    return problem.resource_of[max(ids, key=lambda name: named[name])]


def _copy(problem: Problem, model: Resource, span: Stretch) -> Resource:
    road = model.road_calendar
    return replace(
        model,
        id=_new_id(problem, model.id),
        home=model.home if not model.roams else problem.places[0],
        calendar=tuple(within(model.calendar, span)),
        road_calendar=None if road is None else tuple(within(road, span)),
        setup_now=None,
    )


def _any_hand(problem: Problem, ids: Sequence[str], span: Stretch) -> Resource:
    """Return a hand who keeps, on each day, the hours of the hand with the most hours without an extra price."""
    hands = [problem.resource_of[name] for name in ids]
    calendar: list[WorkStretch] = []
    for day in days_of(problem):
        today = minutes_of(problem, day)
        inside = Stretch(max(today.start, span.start), min(today.end, span.end))
        if inside.start < inside.end:
            calendar += max((within(one.calendar, inside) for one in hands), key=_hours)
    return Resource(
        id=_new_id(problem, HAND),
        kind=HAND,
        calendar=tuple(calendar),
        roams=any(one.roams for one in hands),
        home=problem.places[0],
        road_factor=max((one.road_factor for one in hands if one.roams), default=Fraction(1)),
        road_cents_per_minute=max(one.road_cents_per_minute for one in hands),
    )


def _hours(stretches: Iterable[WorkStretch]) -> tuple[int, int]:
    lengths = [(s.end - s.start, s.extra_cents_per_hour) for s in stretches]
    return sum(minutes for minutes, extra in lengths if not extra), sum(minutes for minutes, _ in lengths)


def _new_modes(task: Task, new: str, models: frozenset[str], cents_per_h: int) -> tuple[Mode, ...]:
    """Return the ways in which the new resource takes the place of one of its models, at the pace of the slowest and
    the price of the dearest that it stands for.
    """
    if task.under_way is not None or task.fixed is not None:
        return ()
    found: dict[tuple[frozenset[str], str | None], Mode] = {}
    for mode in task.modes:
        for name in mode.resources:
            if name not in models:
                continue
            names = tuple(new if one == name else one for one in mode.resources)
            setup = new if mode.setup == name else mode.setup
            key = (frozenset(names), setup)
            other = found.get(key)
            minutes = mode.minutes if other is None else max(mode.minutes, other.minutes)
            cents = mode.cents if other is None else max(mode.cents, other.cents)
            found[key] = Mode("+".join(names), names, minutes, cents, setup)
    return _named_apart(task, found.values(), cents_per_h)


def _named_apart(task: Task, found: Iterable[Mode], cents_per_h: int) -> tuple[Mode, ...]:
    """Return new ways under ids that the task does not have yet, with what each hour of them costs on top."""
    taken = {mode.id for mode in task.modes} | ({task.was.mode} if task.was is not None else set())
    modes = []
    for mode in found:
        mode_id = free(mode.id, taken)
        taken.add(mode_id)
        price = round(Fraction(mode.minutes * cents_per_h, 60))
        modes.append(replace(mode, id=mode_id, cents=mode.cents + price))
    return tuple(modes)


def _new_id(problem: Problem, stem: str) -> str:
    return free(f"extra {stem}", set(problem.resource_of))


def free(wanted: str, taken: set[str]) -> str:
    """Return a name that nobody has yet: the one wanted, or it with the first free number behind it."""
    number, name = 2, wanted
    while name in taken:
        name, number = f"{wanted} {number}", number + 1
    return name


def _joined(stretches: Iterable[S]) -> tuple[S, ...]:
    """Return sorted stretches with those joined that meet, such as at midnight, and cost the same."""
    found: list[S] = []
    for one in stretches:
        if found and replace(found[-1], start=one.start, end=one.end) == one and found[-1].end == one.start:
            found[-1] = replace(found[-1], end=one.end)
        else:
            found.append(one)
    return tuple(found)
