"""The next best choice for a task of a plan, all else standing: at any hour, with another outfit, on another day."""

from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from scheduling.solver import cost
from scheduling.solver.board import Way
from scheduling.solver.choices import Choice, Choices, Numbers
from scheduling.solver.explain import local
from scheduling.solver.plan import PARTS
from scheduling.solver.problem import Problem
from scheduling.solver.schedule import Place
from scheduling.solver.telling import Teller, dearer, differing

MOST_NAMED = 3
"""So many tasks that would be left with one are named; more are counted."""


@dataclass(frozen=True, slots=True)
class NextBest:
    """Another choice: a mode and its time, or all three None for leaving the task undone.

    `more_cents` is what the whole plan would cost more with it; `parts` (whole cents, each rounded by itself) is where
    that comes from. Below 0: the plan would be cheaper with it, and the search has not found it.
    """

    mode: str | None
    start: int | None
    end: int | None
    more_cents: int
    says: str
    parts: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True, slots=True)
class Nearby:
    """The cheapest other places of a job; `sooner` ones start before it does, in its own or another outfit."""

    cheapest: Choice | None
    other_outfit: Choice | None
    other_day: Choice | None
    sooner: Choice | None
    sooner_other: Choice | None


class Days:
    """The first minutes of the days of a problem, by the clock of its zone."""

    def __init__(self, problem: Problem) -> None:
        first, last = (local(problem, minute).date() for minute in (0, problem.horizon))
        zone, start = ZoneInfo(problem.zone), problem.start.astimezone(UTC)
        midnights = [
            datetime.combine(first + timedelta(days=day), time(), zone).astimezone(UTC)
            for day in range(1, (last - first).days + 1)
        ]
        firsts = [-((start - midnight) // timedelta(minutes=1)) for midnight in midnights]
        self._firsts = np.array(firsts, dtype=np.int64)

    def of(self, minutes: Numbers) -> Numbers:
        return np.searchsorted(self._firsts, minutes, side="right")


class _Cheapest:
    """Keeps the cheapest choice; of equals the soonest, and of those the first way."""

    def __init__(self) -> None:
        self.choice: Choice | None = None

    def see(self, way: Way, at: Numbers, more: Numbers) -> None:
        if not len(at):
            return
        i = int(np.argmin(more))
        units, place = int(more[i]), Place(way, int(at[i]))
        best = self.choice
        if best is None or (units, place.start) < (best.more_units, best.place.start):
            self.choice = Choice(place, units)


def nearby(choices: Choices, days: Days) -> Nearby:
    """Return the cheapest other places of a job that stands."""
    place = choices.place
    assert place is not None
    cheapest, outfit, day, sooner, sooner_other = (_Cheapest() for _ in range(5))
    today = int(days.of(np.array([place.start]))[0])
    for way, at, more in choices.open_places():
        starts = choices.arrays.of(way.options)[0][at]
        before = starts < place.start
        if way is place.way:
            is_other = starts != place.start
            sooner.see(way, at[before], more[before])
        else:
            is_other = np.ones(len(at), dtype=np.bool_)
            outfit.see(way, at, more)
            sooner_other.see(way, at[before], more[before])
        cheapest.see(way, at[is_other], more[is_other])
        elsewhen = days.of(starts) != today
        day.see(way, at[elsewhen], more[elsewhen])
    return Nearby(cheapest.choice, outfit.choice, day.choice, sooner.choice, sooner_other.choice)


def cheapest_of(choices: Choices) -> Choice | None:
    """Return the cheapest place of a job that is left, or None when nothing fits."""
    found = _Cheapest()
    for way, at, more in choices.open_places():
        found.see(way, at, more)
    return found.choice


def difference(choices: Choices, choice: Choice) -> dict[str, int]:
    """Return the exact units of each part of what a choice costs more; together they are `more_units`."""
    board, place = choices.schedule.board, choices.place
    assert place is not None
    there = cost.place_parts(board, choices.job, choice.place)
    here = cost.place_parts(board, choices.job, place)
    found = {part: there[part] - here[part] for part in PARTS}
    found["road"] += choice.more_units - sum(found.values())
    return found


def as_next(choices: Choices, choice: Choice, teller: Teller) -> NextBest:
    """Return a choice in words."""
    assert choices.place is not None
    place, parts = choice.place, difference(choices, choice)
    mode, now = place.way.mode.id, choices.place.way.mode.id
    outfit = "the same outfit" if mode == now else teller.name(mode)
    when = "at the same hour" if place.start == choices.place.start else teller.at(place.start)
    says = f"{_first_up(when)} with {outfit} would {differing(choice.more_units, parts)}."
    cents = tuple((part, cost.cents(units)) for part, units in parts.items() if cost.cents(units))
    return NextBest(mode, place.start, place.end, cost.cents(choice.more_units), says, cents)


def leaving(choices: Choices, teller: Teller) -> NextBest | None:
    """Return what leaving the task undone would cost more, with all that waits for it; None where it cannot be."""
    found = choices.leaving()
    if found is None:
        return None
    units, behind = found
    jobs = choices.schedule.board.jobs
    names = teller.all(jobs[number].task.id for number in behind)
    if len(behind) > MOST_NAMED:
        names = f"the {len(behind)} others that wait for it"
    says = f"Leaving it undone{f', and with it {names},' if names else ''} would {dearer(units)}."
    return NextBest(None, None, None, cost.cents(units), says)


def _first_up(text: str) -> str:
    return text[:1].upper() + text[1:]
