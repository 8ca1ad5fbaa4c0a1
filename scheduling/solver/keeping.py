"""What it is worth not to change a sent plan: which of its places can still be kept, and the price of changing each.

Changing costs, so that nothing moves without a gain. What was sent for today stays unless it cannot: its price is more
than everything else that any plan of the problem could cost, so no gain outweighs it; only a rule does, be it that
another task must be done. Nobody pays that price where there is no choice: a place that cannot be kept changes for
nothing, else the plan's cost would tell of sums that never were at stake.
"""

from bisect import bisect_left
from dataclasses import dataclass
from math import ceil

from scheduling.solver.board import Board, Job
from scheduling.solver.problem import Problem, Resource, Task
from scheduling.solver.schedule import Place, Schedule
from scheduling.solver.values import MOST_CENTS


@dataclass(frozen=True)
class Prices:
    """Whole cents for changing a place that begins before `soon_until_min`, and for a later one.

    A place before `today_until_min` was sent for today.
    """

    today_until_min: int
    soon_until_min: int
    soon_cents: int
    later_cents: int


def prices_of_change(problem: Problem, prices: Prices) -> dict[str, int]:
    """Return the `change_cents` of every task that has a `was`.

    No price is above what a problem may hold; only where more than a billion dollars are at stake does today's come to that.
    """
    gone = cannot_stay(problem)
    least = {task.id: _by_hour(task.was.start, prices) for task in problem.tasks if task.was is not None}
    today = {
        task.id
        for task in problem.tasks
        if task.was is not None and task.was.start < prices.today_until_min and task.id not in gone
    }
    found = {key: 0 if key in gone else cents for key, cents in least.items()}
    most = most_cents(problem) + sum(cents for key, cents in found.items() if key not in today)
    return found | dict.fromkeys(today, min(most + 1, MOST_CENTS))


def _by_hour(start: int, prices: Prices) -> int:
    return prices.soon_cents if start < prices.soon_until_min else prices.later_cents


def cannot_stay(problem: Problem) -> frozenset[str]:
    """Return the tasks whose `was` can no longer be had: it breaks a rule by itself, or beside what is fixed, under way
    or was to begin sooner, or what it waits for cannot end in time.
    """
    board = Board(problem)
    schedule = Schedule(board, 0)
    pinned = [job for job in board.jobs if job.pinned and job.ways]
    for job in sorted(pinned, key=lambda job: (job.task.under_way is None, job.ways[0].options.starts[0])):
        _put_if_it_fits(schedule, job, Place(job.ways[0], 0))
    sent = [job for job in board.jobs if job.task.was is not None]
    sent.sort(key=lambda job: (_was_start(job.task), job.number))
    gone: set[int] = set()
    for job in sent:
        place = _old_place(job)
        if schedule.places[job.number] is None:
            if place is None or not _put_if_it_fits(schedule, job, place):
                gone.add(job.number)
        elif place is None or schedule.places[job.number] != place:
            gone.add(job.number)
    _take_what_comes_too_soon(schedule, gone)
    return frozenset(board.jobs[number].task.id for number in gone)


def _take_what_comes_too_soon(schedule: Schedule, gone: set[int]) -> None:
    """Leave each place that begins before what it waits for can have ended, now that some of that moves."""
    board = schedule.board
    soonest_end = [0] * len(board.jobs)
    for number in board.order:
        job, place = board.jobs[number], schedule.places[number]
        low = max((soonest_end[ahead] + least for ahead, least, _ in job.before), default=0)
        if place is not None and not job.pinned and place.start < low:
            gone.add(number)
            place = None
        soonest_end[number] = place.end if place is not None else _soonest_end(job, low, board.horizon)


def _was_start(task: Task) -> int:
    assert task.was is not None
    return task.was.start


def _old_place(job: Job) -> Place | None:
    """Return the place that the sent plan had, if the task could by itself still have it."""
    was = job.task.was
    assert was is not None
    for way in job.ways:
        if way.mode.id == was.mode:
            at = bisect_left(way.options.starts, was.start)
            if at < len(way.options.starts) and way.options.starts[at] == was.start:
                return Place(way, at)
    return None


def _put_if_it_fits(schedule: Schedule, job: Job, place: Place) -> bool:
    """Place a job where its resources are free, can get there, and the tasks before and behind it that stand allow it."""
    for ahead, least, most in job.before:
        other = schedule.places[ahead]
        if other is not None and not _is_between(place.start - other.end, least, most):
            return False
    for behind, least, most in job.behind:
        other = schedule.places[behind]
        if other is not None and not _is_between(other.start - place.end, least, most):
            return False
    for resource in place.way.resources:
        gaps = schedule.lines[resource].gaps(place.way.place, place.way.setup)
        if not any(low <= place.start and place.end <= high for low, high, _ in gaps):
            return False
    schedule.put(job.number, place)
    return True


def _is_between(gap: int, least: int, most: int | None) -> bool:
    return gap >= least and (most is None or gap <= most)


def _soonest_end(job: Job, low: int, horizon: int) -> int:
    """Return the soonest minute by which a job can, by itself, have ended if it starts at `low` or later.

    Of a job that cannot, it is the end of the horizon: what waits for it is left with it.
    """
    ends = []
    for way in job.ways:
        at = bisect_left(way.options.starts, low)
        ends += way.options.ends[at : at + 1]
    return min(ends, default=horizon)


def most_cents(problem: Problem) -> int:
    """Return what no plan of the problem can cost more than, changes to the sent plan aside, in whole cents.

    Each task costs at most what leaving it costs, or else its dearest way, as late as the horizon lets it be, every
    minute at the dearest hour of each of its resources, each of which comes the longest road and changes its setup.
    """
    longest = max((max(row, default=0) for row in problem.road_minutes), default=0)
    dearest = {one.id: _dearest(one, longest) for one in problem.resources}
    return sum(_most_of(task, problem.horizon, dearest) for task in problem.tasks)


def _dearest(resource: Resource, longest: int) -> tuple[int, int]:
    """Return what a resource costs at most: an hour of work on top, and a trip with a change."""
    trip = ceil(longest * resource.road_factor) * resource.road_cents_per_minute if resource.roams else 0
    change = resource.changeover.cents if resource.changeover is not None else 0
    return max((s.extra_cents_per_hour for s in resource.calendar), default=0), trip + change


def _most_of(task: Task, horizon: int, dearest: dict[str, tuple[int, int]]) -> int:
    late_min = 0 if task.due is None else max(0, horizon - task.due)
    most = task.leave_cents or 0
    for mode in task.modes:
        minutes = mode.minutes if task.under_way is None else task.under_way.minutes_left
        cents = mode.cents if task.under_way is None else task.under_way.cents_left
        hourly = sum(dearest[name][0] for name in mode.resources)
        at_times = minutes * (hourly + task.late_cents_per_hour) + late_min * task.late_cents_per_hour
        trips = sum(dearest[name][1] for name in mode.resources)
        most = max(most, cents + -(-at_times // 60) + trips)
    return most
