"""What giving up one rule of a clash would allow: the whole problem, planned anew without it."""

from collections.abc import Callable
from dataclasses import dataclass
from random import Random
from time import monotonic

from scheduling.solver import cost, greedy
from scheduling.solver.board import Board
from scheduling.solver.bounds import lower_bound
from scheduling.solver.cpsat import Model, Outcome, is_in_reach
from scheduling.solver.explain import dollars
from scheduling.solver.problem import Problem
from scheduling.solver.search import Search
from scheduling.solver.standing import restrict, variants
from scheduling.solver.timeline import UNITS_PER_CENT

ROUNDS = 120
WORK = 1.0
NOT_TRIED = ""


@dataclass(frozen=True, slots=True)
class Allowed:
    """The cheapest plan found without a rule; `units` is None when none was found, `is_proved` that there is none."""

    units: int | None
    left: int
    is_proved: bool

    @property
    def says(self) -> str:
        if self.units is not None:
            whole = cost.cents(self.units) * UNITS_PER_CENT
            return f"Without it a plan is there: {dollars(whole)}, {self.left} left."
        if self.is_proved:
            return "Even without it there is no plan, for other rules."
        return "Without it a plan may be there; none was found in the time given."


def without(problem: Problem, *, seed: int, until: float | None) -> Allowed:
    """Plan a problem from which a rule has been taken, for ROUNDS rounds or until the monotonic clock shows `until`."""
    base = Board(problem)
    found: list[tuple[int, int]] = []
    is_proved = True
    for variant in variants(base):
        board = restrict(base, variant)
        if lower_bound(board) >= greedy.MUST_UNITS:
            continue
        best = _searched(board, seed, until) or _modeled(board, seed, until)
        if best is None:
            is_proved = False
        elif best.places is not None:
            schedule = greedy.empty(board)
            for number in board.order:
                place = best.places[number]
                if place is not None:
                    schedule.put(number, place)
            found.append((schedule.units, sum(place is None for place in best.places)))
        else:
            is_proved = is_proved and best.proved
    if found:
        return Allowed(*min(found), is_proved=False)
    return Allowed(None, 0, is_proved)


def _searched(board: Board, seed: int, until: float | None) -> Outcome | None:
    search = Search(greedy.construct(board), Random(seed))
    search.run(until=None, rounds=ROUNDS, stop=lambda: until is not None and monotonic() > until)
    return Outcome(search.best[0], None, False) if search.is_complete else None


def _modeled(board: Board, seed: int, until: float | None) -> Outcome | None:
    seconds = None if until is None else until - monotonic()
    if (seconds is not None and seconds <= 0) or not is_in_reach(board):
        return None
    model = Model(board)
    return model.solve(None, seconds=seconds, work=WORK, seed=seed, workers=1) if model.fits else None


def says_of(relaxed: list[Callable[[], Problem]], *, seed: int, seconds: float | None) -> list[str]:
    """Return for each relaxed problem what it would allow; nothing is said of those that the time did not reach."""
    found: list[str] = []
    end = None if seconds is None else monotonic() + seconds
    for i, problem in enumerate(relaxed):
        now = monotonic()
        if end is not None and now >= end:
            found.append(NOT_TRIED)
            continue
        until = None if end is None else now + (end - now) / (len(relaxed) - i)
        found.append(without(problem(), seed=seed, until=until).says)
    return found
