"""Why each task of a plan stands when it does, what its next best choice would cost, and why others are left.

Nothing here is guessed: a task's reason is the rule without which it could start sooner (or the smallest set of them),
tried with all else standing; where it could start sooner as it is, the reason is what that would cost more.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from scheduling.solver.causes import cause_of
from scheduling.solver.choices import Arrays, Choices, schedule_of
from scheduling.solver.keeping import most_cents
from scheduling.solver.lefts import LeftReason, why_each_left
from scheduling.solver.nexts import Days, NextBest, as_next, difference, leaving, nearby
from scheduling.solver.plan import Plan
from scheduling.solver.problem import Problem
from scheduling.solver.schedule import Schedule
from scheduling.solver.telling import Teller, dearer

FORMAT = "plan-reasons/1"
KEPT = "It was sent so for the day on which this plan was made, and that stays while it can."

__all__ = ["FORMAT", "LeftReason", "NextBest", "Reason", "Reasons", "explain", "to_json"]


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a task stands when it does and not sooner.

    `cause` is one of "under_way", "fixed", "first" (nothing before it is planned at all), "earliest", "window" (it is
    shut), "hours" (of a hand or machine), "outfit" (taken by other work), "road", "predecessor", "successor" (what
    waits for it may not wait longer), "hold" (its hold limit), "price" (sooner costs more) and "was" (sooner would be
    cheaper but for the price of changing the sent plan). `blocker` is the id of the task or resource in the way.
    `next_best` is the cheapest other choice, all else standing; `other_outfit` and `other_day` the cheapest of their
    kind where the next best is none of it; `sooner` the cheapest sooner start of any other outfit.
    """

    task: str
    cause: str
    says: str
    blocker: str | None
    next_best: NextBest | None
    other_outfit: NextBest | None = None
    other_day: NextBest | None = None
    sooner: NextBest | None = None


@dataclass(frozen=True, slots=True)
class Reasons:
    """The reasons of the tasks that stand, in the order of the plan, and of those that are left."""

    placed: tuple[Reason, ...]
    left: tuple[LeftReason, ...]


def explain(problem: Problem, plan: Plan, *, names: Mapping[str, str] | None = None) -> Reasons:
    """Return why each task of the plan stands as it does or is left; `names` tells ids as people read them.

    A plan of status none has no tasks and no reasons. PlanMismatchError for a plan that is none of the problem's.
    """
    if plan.status == "none":
        return Reasons((), ())
    schedule, teller = schedule_of(problem, plan), Teller(problem, names or {})
    arrays, days = Arrays(), Days(problem)
    numbers = [schedule.board.job_no[task.id] for task in plan.tasks]
    most = most_cents(problem)
    placed = tuple(
        _kept(schedule, number, arrays, days, teller)
        if _is_sent_for_the_day(schedule, number, most)
        else _reason(schedule, number, arrays, days, teller)
        for number in numbers
    )
    return Reasons(placed, why_each_left(schedule, arrays, teller))


def _is_sent_for_the_day(schedule: Schedule, number: int, most: int) -> bool:
    """Whether a task stands as it was sent at a price of change that is more than any plan could cost."""
    task, place = schedule.board.jobs[number].task, schedule.places[number]
    assert place is not None
    return (
        task.was is not None
        and task.was.change_cents > most
        and (task.was.mode, task.was.start) == (place.way.mode.id, place.start)
        and not schedule.board.jobs[number].pinned
    )


def _kept(schedule: Schedule, number: int, arrays: Arrays, days: Days, teller: Teller) -> Reason:
    """Return the reason of a task that nothing but a rule may move: its price of change is no dollars to tell."""
    choices = Choices(schedule, number, arrays)
    sooner = nearby(choices, days).sooner
    if sooner is None:
        cause = cause_of(choices, None, teller)
        return Reason(choices.job.task.id, cause.cause, f"{cause.says} {KEPT}", cause.blocker, None)
    parts = difference(choices, sooner)
    more = sooner.more_units - parts["change"]
    says = f"{KEPT} Starting it {teller.at(sooner.place.start)} would else {dearer(more)}."
    return Reason(choices.job.task.id, "was", says, None, None)


def _reason(schedule: Schedule, number: int, arrays: Arrays, days: Days, teller: Teller) -> Reason:
    choices = Choices(schedule, number, arrays)
    task = choices.job.task
    if choices.job.pinned:
        cause = cause_of(choices, None, teller)
        return Reason(task.id, cause.cause, cause.says, cause.blocker, None)
    near = nearby(choices, days)
    cause = cause_of(choices, near.sooner, teller)
    place = choices.place
    assert place is not None
    best = None if near.cheapest is None else as_next(choices, near.cheapest, teller)
    undone = leaving(choices, teller)
    if best is None or (undone is not None and undone.more_cents < best.more_cents):
        best = undone
    outfit = day = sooner = None
    if near.other_outfit is not None and (best is None or best.mode in (None, place.way.mode.id)):
        outfit = as_next(choices, near.other_outfit, teller)
    told = None if best is undone else near.cheapest, None if outfit is None else near.other_outfit
    if near.other_day is not None and near.other_day not in told:
        day = as_next(choices, near.other_day, teller)
    says = cause.says
    if near.sooner_other is not None:
        sooner = as_next(choices, near.sooner_other, teller)
        says = f"{says} Sooner with another outfit: {sooner.says}"
    elif cause.cause not in ("price", "was", "first") and len(task.modes) > 1:
        says = f"{says} No other outfit could start it sooner."
    return Reason(task.id, cause.cause, says, cause.blocker, best, outfit, day, sooner)


def to_json(reasons: Reasons) -> dict[str, Any]:
    """Return the reasons in their JSON form, plan-reasons/1."""
    return {
        "format": FORMAT,
        "tasks": [
            {
                "id": reason.task,
                "cause": reason.cause,
                "says": reason.says,
                "blocker": reason.blocker,
                "next_best": _next(reason.next_best),
                "other_outfit": _next(reason.other_outfit),
                "other_day": _next(reason.other_day),
                "sooner": _next(reason.sooner),
            }
            for reason in reasons.placed
        ],
        "left": [
            {
                "id": reason.task,
                "cause": reason.cause,
                "says": reason.says,
                "blocker": reason.blocker,
                "next_best": _next(reason.next_best),
            }
            for reason in reasons.left
        ],
    }


def _next(best: NextBest | None) -> dict[str, Any] | None:
    if best is None:
        return None
    return {
        "mode": best.mode,
        "from": best.start,
        "to": best.end,
        "more_cents": best.more_cents,
        "parts": dict(best.parts),
        "says": best.says,
    }
