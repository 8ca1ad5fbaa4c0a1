"""Beginning from a plan that is there already: what of it still fits stands, the rest is dropped."""

from bisect import bisect_left

from scheduling.solver.board import Board
from scheduling.solver.greedy import empty
from scheduling.solver.plan import Plan
from scheduling.solver.schedule import Place, Schedule


def schedule_from(board: Board, plan: Plan) -> Schedule:
    """Return the schedule of a plan of this or a like problem, without what no longer fits."""
    found: dict[int, Place] = {}
    for placed in plan.tasks:
        number = board.job_no.get(placed.id)
        if number is None:
            continue
        for way in board.jobs[number].ways:
            if way.mode.id == placed.mode:
                at = bisect_left(way.options.starts, placed.start)
                if at < len(way.options.starts) and way.options.starts[at] == placed.start:
                    found[number] = Place(way, at)
    order = sorted(board.order, key=lambda number: found[number].start if number in found else 0)
    whole = empty(board)
    for number in order:
        if number in found:
            whole.put(number, found[number])
    if all(line.broken_at() is None for line in whole.lines) and _in_order(whole):
        return whole
    schedule = empty(board)
    # What is fixed or under way first, then as time goes on: whatever a job waits for stands before it.
    waiting = [number for number in order if number in found]
    for number in sorted(waiting, key=lambda number: not board.jobs[number].pinned):
        _put_if_it_fits(schedule, number, found[number])
    return schedule


def _put_if_it_fits(schedule: Schedule, number: int, place: Place) -> None:
    window = schedule.window(schedule.board.jobs[number])
    if window is None:
        return
    low, high, low_end, high_end = window
    if not (low <= place.start <= high and low_end <= place.end <= high_end):
        return
    for resource in place.way.resources:
        gaps = schedule.lines[resource].gaps(place.way.place, place.way.setup)
        if not any(a <= place.start and place.end <= b for a, b, _ in gaps):
            return
    schedule.put(number, place)


def _in_order(schedule: Schedule) -> bool:
    for job in schedule.board.jobs:
        place = schedule.places[job.number]
        for ahead, least, most in job.before if place is not None else ():
            other = schedule.places[ahead]
            assert place is not None
            if other is None or place.start - other.end < least:
                return False
            if most is not None and place.start - other.end > most:
                return False
    return True
