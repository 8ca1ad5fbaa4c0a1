"""How good a plan is: the sharpest bound within a limit, and the proof that nothing is cheaper where that is in reach."""

from collections.abc import Callable, Iterator
from time import monotonic

from scheduling.solver.board import Board
from scheduling.solver.branching import MOST_CHOICES, Branching
from scheduling.solver.cpsat import Model, Outcome, is_in_reach
from scheduling.solver.greedy import MUST_UNITS, schedule_of
from scheduling.solver.lagrange import (
    MOST_CELLS,
    QUICKLY,
    SURELY,
    Priced,
    cells_of,
    priced,
    scarce_groups,
)
from scheduling.solver.layout import has_row
from scheduling.solver.routes import choices_of
from scheduling.solver.schedule import Schedule
from scheduling.solver.trimming import translated, trimmed

# Steps are as many as about so many cells of the priced table make, whatever the clock says.
CELLS, FEWEST_STEPS, MOST_STEPS = 80_000_000, 30, 250
QUICK_STEPS = 60
CELLS_A_ROUND = 400_000
MOST_FINE_CELLS = 3_000_000
PRICING_SHARE = 0.2
FEWEST_TO_PRICE = 6
# With a count of rounds, no clock decides: so many choices and cases to a unit of deterministic work.
CHOICES_A_WORK, CASES_A_WORK = 700, 4


def best_prices(
    board: Board,
    upper_units: int,
    *,
    until: float | None = None,
    stop: Callable[[], bool] | None = None,
    rounds: int | None = None,
) -> Priced | None:
    """Return the best prices found below a known cost, None when the problem is too large or its numbers are.

    `until` is a moment of `time.monotonic`; without it the count of steps alone decides, which for few `rounds` of
    search is as small as they are.
    """
    most_cells = CELLS if rounds is None else min(CELLS, rounds * CELLS_A_ROUND)

    def is_over() -> bool:
        return (until is not None and monotonic() > until) or (stop is not None and stop())

    found: Priced | None = None
    for is_fine, most in ((False, MOST_CELLS), (True, MOST_FINE_CELLS)):
        groups = scarce_groups(board, is_fine=is_fine)
        cells = cells_of(board, groups)
        if cells > most or (found is not None and (is_over() or cells * FEWEST_STEPS > most_cells)):
            break
        steps = min(MOST_STEPS, max(1 if rounds is not None else FEWEST_STEPS, most_cells // max(1, cells)))
        sharper = priced(board, groups, upper_units, steps=steps, begin=found, is_over=is_over)
        if sharper is not None and (found is None or sharper.units >= found.units):
            found = sharper
    return found


def sharper_prices(
    board: Board,
    upper_units: int,
    *,
    until: float | None,
    stop: Callable[[], bool],
    rounds: int | None,
) -> Iterator[Priced]:
    """Give prices as soon as they are of use to a search, then, while there is time, sharper ones.

    Prices by groups of alike resources at once, where their table is not too large: a search that goes by coarser ones
    finds no cheaper plans. `until` and `rounds` are as in `best_prices`.
    """
    most_cells = CELLS if rounds is None else min(CELLS, rounds * CELLS_A_ROUND)

    def is_over() -> bool:
        return (until is not None and monotonic() > until) or stop()

    for is_fine, most in ((True, MOST_FINE_CELLS), (False, MOST_CELLS)):
        groups = scarce_groups(board, is_fine=is_fine)
        cells = cells_of(board, groups)
        if cells <= most:
            break
    else:
        return
    found: Priced | None = None
    for pace, most_steps in ((QUICKLY, QUICK_STEPS), (SURELY, MOST_STEPS)):
        steps = min(most_steps, max(1, most_cells // max(1, cells)))
        sharper = priced(board, groups, upper_units, steps=steps, pace=pace, begin=found, is_over=is_over)
        if sharper is None:
            return
        if found is None or sharper.units > found.units:
            found = sharper
            yield found
        if is_over():
            return


def prove(
    board: Board,
    schedule: Schedule | None,
    *,
    seconds: float | None,
    work: float | None,
    seed: int,
    workers: int,
    stop: Callable[[], bool] | None = None,
) -> Outcome | None:
    """Look for the cheapest plan and the proof that it is; None when the exact model would be too large.

    `schedule` is a plan that leaves nothing undone that must be done: only what is no dearer is looked at. Where nothing
    has ways or changes to make, networks of routes tell nothing, and the exact model alone is sooner done.
    """
    if schedule is None or schedule.units >= MUST_UNITS:
        model = Model(board) if is_in_reach(board) else None
        if model is None or not model.fits:
            return None
        return model.solve(None, seconds=seconds, work=work, seed=seed, workers=workers, stop=stop)
    began = monotonic()
    upper = schedule.units
    until = None if seconds is None else began + seconds * PRICING_SHARE
    prices = None
    if len(board.jobs) >= FEWEST_TO_PRICE:  # the model alone is sooner done with fewer
        prices = best_prices(board, upper, until=until, stop=stop)
    small, can_follow = board, None
    if prices is not None and prices.units <= upper:
        small, follow = trimmed(board, prices, upper)
        can_follow = follow.can
    least = 0 if prices is None else min(prices.units, upper)
    if least >= upper:
        return Outcome(list(schedule.places), upper, True)
    places = translated(schedule.places, small)
    most = MOST_CHOICES if work is None else work * CHOICES_A_WORK
    travels = any(has_row(board, number) for number in range(len(board.roads)))
    if travels and prices is not None and places is not None and choices_of(small) <= most:
        proof = Branching(
            small,
            schedule_of(small, places),
            workers=workers,
            seed=seed,
            until=None if seconds is None else began + seconds,
            most_cases=None if work is None else max(1, round(work * CASES_A_WORK)),
            stop=stop,
        ).run(least)
        there = translated(proof.places, board)
        if there is not None:
            return Outcome(there, proof.bound_units, proof.bound_units >= proof.units)
    model = Model(small, can_follow) if is_in_reach(small) else None
    if model is None or not model.fits or places is None:
        return Outcome(list(schedule.places), least, False)
    hint = schedule_of(small, places)
    left = None if seconds is None else max(0.01, seconds - (monotonic() - began))
    found = model.solve(hint, seconds=left, work=work, seed=seed, workers=workers, stop=stop, is_proof=True)
    better = None if found.places is None else translated(found.places, board)
    if better is None:
        return Outcome(list(schedule.places), least, found.proved)
    # What was trimmed away costs more than the plan in hand.
    bound = max(least, min(upper, found.bound_units or 0))
    return Outcome(better, bound, found.proved)
