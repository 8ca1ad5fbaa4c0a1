"""Every other place that one task of a plan could have, all else standing, and exactly what each would cost more."""

from bisect import bisect_left
from collections.abc import Container, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from scheduling.solver.board import Board, Job, Options, Way
from scheduling.solver.greedy import empty, standing_behind
from scheduling.solver.line import Line, Stop
from scheduling.solver.plan import PlacedTask, Plan
from scheduling.solver.problem import Problem
from scheduling.solver.schedule import Place, Schedule
from scheduling.solver.standing import Variant, restrict, variants

# Past this a sum of a few such numbers could leave the 64-bit integers; then they are kept as Python's own.
_SAFE_UNITS = 2**59

Numbers = npt.NDArray[Any]
Bools = npt.NDArray[np.bool_]


class PlanMismatchError(ValueError):
    """The plan is none of this problem: it names what the problem has not, or breaks one of its rules."""


def schedule_of(problem: Problem, plan: Plan) -> Schedule:
    """Return the schedule that stands as the plan says, exactly; PlanMismatchError where it cannot."""
    placed: dict[str, PlacedTask] = {}
    for stands in plan.tasks:
        if stands.id not in problem.task_of:
            raise PlanMismatchError(f"The plan has {stands.id}, which is no task of the problem.")
        if stands.id in placed:
            raise PlanMismatchError(f"The plan has {stands.id} twice.")
        placed[stands.id] = stands
    whole = Board(problem)
    board = restrict(whole, _variant_of(whole, placed))
    schedule = empty(board)
    for number in board.order:
        task = placed.get(board.jobs[number].task.id)
        if task is not None:
            place = place_of(board.jobs[number], task.mode, task.start)
            if place is None or place.end != task.end:
                raise PlanMismatchError(
                    f"{task.id} cannot stand in {task.mode} from {task.start} to {task.end} in this problem."
                )
            schedule.put(number, place)
    for name, line in zip(board.resource_no, schedule.lines):
        broken = line.broken_at()
        if broken is not None:
            late = board.jobs[line.stops[broken].job].task.id
            raise PlanMismatchError(f"{name} cannot be at {late} in time in this plan.")
    for job, place in zip(board.jobs, schedule.places):
        if place is None and job.left_units is None:
            raise PlanMismatchError(f"{job.task.id} must be done, and is left in this plan.")
        if place is not None and not _is_in_order(schedule, job, place):
            raise PlanMismatchError(f"{job.task.id} does not keep the time from the tasks that it waits for.")
    return schedule


def _variant_of(board: Board, placed: Container[str]) -> Variant:
    """Return the choice of standing fixed tasks that the plan made: those it leaves for a clash are dropped."""
    left = {
        job.number
        for job in board.jobs
        if job.task.fixed is not None and job.task.under_way is None and job.task.id not in placed
    }
    # One that stands, or would if what it waits for stood, is not dropped; any other that is left is.
    must = {
        number
        for number in left
        if board.jobs[number].task.leave_cents is None
        or all(board.jobs[ahead].task.id in placed for ahead, _, _ in board.jobs[number].before)
    }
    fitting = [v for v in variants(board) if must <= v.dropped <= left]
    return Variant(max((v.dropped for v in fitting), key=len, default=frozenset(must)), frozenset())


def place_of(job: Job, mode: str, start: int) -> Place | None:
    """Return the job's place in this mode at this start, or None when it has none by itself."""
    for way in job.ways:
        if way.mode.id == mode:
            at = bisect_left(way.options.starts, start)
            if at < len(way.options.starts) and way.options.starts[at] == start:
                return Place(way, at)
    return None


def _is_in_order(schedule: Schedule, job: Job, place: Place) -> bool:
    window = schedule.window(job, do_others_change=False)
    if window is None:
        return False
    low, high, low_end, high_end = window
    return low <= place.start <= high and low_end <= place.end <= high_end


@dataclass(frozen=True, slots=True)
class Choice:
    """A place that a task could have instead, and the units that the whole plan would cost more with it."""

    place: Place
    more_units: int


class Arrays:
    """The starts, ends and units of options as arrays, made once for each."""

    def __init__(self) -> None:
        self._found: dict[int, tuple[Options, Numbers, Numbers, Numbers]] = {}

    def of(self, options: Options) -> tuple[Numbers, Numbers, Numbers]:
        found = self._found.get(id(options))
        if found is None:
            starts, ends = (np.asarray(x, dtype=np.int64) for x in (options.starts, options.ends))
            found = self._found[id(options)] = (options, starts, ends, _exact(options.units))
        return found[1], found[2], found[3]


def _exact(units: list[int]) -> Numbers:
    fits = all(abs(value) < _SAFE_UNITS for value in units)
    return np.array(units, dtype=np.int64 if fits else object)


def fits_in(line: Line, way: Way, starts: Numbers, ends: Numbers) -> tuple[Bools, Numbers]:
    """Return at which of these starts the way fits into the row, and the units that it adds there.

    The row is one that the way's job is not in. Where it is broken without the job, only what mends it fits.
    """
    if line.broken_at() is not None:
        return _fits_by_trial(line, way, starts, ends)
    gaps = line.gaps(way.place, way.setup)
    if not gaps:
        return np.zeros(len(starts), dtype=np.bool_), np.zeros(len(starts), dtype=np.int64)
    lows = np.array([gap[0] for gap in gaps], dtype=np.int64)
    highs = np.array([gap[1] for gap in gaps], dtype=np.int64)
    found = np.searchsorted(lows, starts, side="right") - 1
    return (found >= 0) & (ends <= highs[found]), _exact([gap[2] for gap in gaps])[found]


def _fits_by_trial(line: Line, way: Way, starts: Numbers, ends: Numbers) -> tuple[Bools, Numbers]:
    fits, units = np.zeros(len(starts), dtype=np.bool_), [0] * len(starts)
    for i, (start, end) in enumerate(zip(starts.tolist(), ends.tolist())):
        tried = line.with_stop(Stop(way.job, start, end, way.place, way.setup))
        if tried.broken_at() is None:
            fits[i], units[i] = True, tried.units - line.units
    return fits, _exact(units)


class Choices:
    """What one job of a schedule could do instead, all else standing as it is."""

    def __init__(self, schedule: Schedule, number: int, arrays: Arrays) -> None:
        self.schedule, self.arrays = schedule, arrays
        self.job = schedule.board.jobs[number]
        self.place = schedule.places[number]
        self.without: dict[int, Line] = {}
        self.now_units = schedule.left_units[number]
        if self.place is not None:
            self.now_units = self.place.units
            for r in self.place.way.resources:
                old = schedule.lines[r]
                new = self.without[r] = old.without(number)
                self.now_units += old.units - new.units
        self._broken = {r for r, line in self.without.items() if line.broken_at() is not None}
        self._rows: dict[tuple[int, int, int], tuple[Bools, Numbers]] = {}

    def line(self, resource: int) -> Line:
        """Return the row of a resource without the job."""
        return self.without.get(resource, self.schedule.lines[resource])

    def _fits(self, resource: int, way: Way, starts: Numbers, ends: Numbers) -> tuple[Bools, Numbers]:
        setup = way.setup if self.schedule.board.roads[resource].changes else -1
        key = (id(way.options), resource, setup)
        found = self._rows.get(key)
        if found is None:
            found = self._rows[key] = fits_in(self.line(resource), way, starts, ends)
        return found

    def open_places(self) -> Iterator[tuple[Way, Numbers, Numbers]]:
        """Yield for each way the indexes of the starts that fit, and what the plan would cost more at each."""
        window = self.schedule.window(self.job, do_others_change=False)
        if window is None:
            return
        low, high, low_end, high_end = window
        for way in self.job.ways:
            if self._broken - set(way.resources):
                continue
            starts, ends, units = self.arrays.of(way.options)
            fits = (starts >= low) & (starts <= high) & (ends >= low_end) & (ends <= high_end)
            more = units + (way.base_units - self.now_units)
            for resource in way.resources:
                if not fits.any():
                    break
                here, added = self._fits(resource, way, starts, ends)
                fits &= here
                more = more + added
            at = np.flatnonzero(fits)
            if len(at):
                yield way, at, more[at]

    def leaving(self) -> tuple[int, tuple[int, ...]] | None:
        """Return the units more that leaving the job would cost, and the jobs that would be left with it.

        None where one of them must be done, or where leaving them would break a row.
        """
        schedule, jobs = self.schedule, self.schedule.board.jobs
        if self.place is None:
            return None
        group = [self.job.number, *standing_behind(schedule, self.job.number)]
        if any(jobs[member].left_units is None for member in group):
            return None
        saved = schedule.save()
        for member in reversed(group):
            schedule.take(member)
        more, sound = schedule.units - saved[2], schedule.is_sound()
        schedule.restore(saved)
        return (more, tuple(group[1:])) if sound else None
