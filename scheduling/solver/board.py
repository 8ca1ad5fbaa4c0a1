"""The problem laid out for the search: numbers in place of names, and for each way to do a task all its starts.

A `Way` is a task in one of its modes. Its `Options` hold every start that the task may take by itself (workable,
on the step, within earliest, latest and hold limit, ending inside the horizon) with the end and the cost of each.
"""

from bisect import bisect_left
from copy import copy
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

import numpy as np

from scheduling.solver.problem import CHANCE_WHOLE_E4, Mode, OpenStretch, Problem, Resource, Task, WorkStretch
from scheduling.solver.timeline import UNITS_PER_CENT, Clock, Ints, Workable


class Options:
    """Starts (ascending), their ends (never descending) and the units each costs by its time."""

    def __init__(self, starts: Ints, ends: Ints, units: Ints) -> None:
        self.starts: list[int] = starts.tolist()
        self.ends: list[int] = ends.tolist()
        self.units: list[int] = units.tolist()
        # From each index on, where the cheapest start is: the first of equals.
        self.cheapest_from: list[int] = []
        best = len(self.units) - 1
        for i in range(len(self.units) - 1, -1, -1):
            if self.units[i] <= self.units[best]:
                best = i
            self.cheapest_from.append(best)
        self.cheapest_from.reverse()

    def cheapest(self, low: int, high: int) -> int:
        """Return the index in low..high-1 that costs least, the soonest of equals."""
        found = self.cheapest_from[low]
        if found < high:
            return found
        window = self.units[low:high]
        return low + window.index(min(window))


@dataclass(eq=False, slots=True)
class Way:
    job: int
    mode: Mode
    resources: tuple[int, ...]
    setup: int
    place: int
    base_units: int
    options: Options
    least_units: int = 0


@dataclass(eq=False, slots=True)
class Job:
    """A task with its ways, cheapest first. `left_units` is what leaving costs; None: it must be done."""

    number: int
    task: Task
    place: int
    ways: list[Way]
    before: list[tuple[int, int, int | None]]
    left_units: int | None
    pinned: bool
    holds: bool = False  # a fixed task that stands: left only when one that it waits for is left
    behind: list[tuple[int, int, int | None]] = field(default_factory=list)


@dataclass(eq=False, slots=True)
class Road:
    """How a resource gets about: minutes and units from place to place, its changeover, its road clock."""

    clock: Clock
    minutes: list[list[int]] | None
    units_per_minute: int
    change_minutes: int
    change_units: int
    home: int
    setup_now: int
    metric: bool

    @property
    def changes(self) -> bool:
        return self.change_minutes > 0 or self.change_units > 0


class Board:
    """Everything the search looks up, for one problem and one choice of the fixed tasks that cannot stand."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.horizon = problem.horizon
        self._calendars: dict[tuple[WorkStretch, ...], int] = {}
        self._workable: dict[tuple[object, ...], Workable] = {}
        self._options: dict[tuple[object, ...], Options] = {}
        self._opens: dict[tuple[OpenStretch, ...], int] = {}
        self._tables: dict[Fraction, tuple[list[list[int]], bool]] = {}
        self._clocks: dict[tuple[tuple[int, int], ...], Clock] = {}
        self._setups: dict[str, int] = {}
        self.resource_no = {resource.id: i for i, resource in enumerate(problem.resources)}
        self.calendar_no = [
            self._calendars.setdefault(resource.calendar, len(self._calendars))
            for resource in problem.resources
        ]
        self._calendar_list = list(self._calendars)
        self.roads = [self._road(resource) for resource in problem.resources]
        self.always_on_road = [road.clock.always for road in self.roads]
        self.runs: dict[tuple[int, tuple[int, ...]], list[Any]] = {}
        self.job_no = {task.id: i for i, task in enumerate(problem.tasks)}
        self.jobs = [self._job(i, task) for i, task in enumerate(problem.tasks)]
        for job in self.jobs:
            for ahead, least, most in job.before:
                self.jobs[ahead].behind.append((job.number, least, most))
        self.order = self._order()

    def with_jobs(self, jobs: list[Job]) -> "Board":
        """Return the same board with other jobs in the place of its own, one for one."""
        other = copy(self)
        other.jobs = jobs
        return other

    def setup_no(self, setup: str | None) -> int:
        return -1 if setup is None else self._setups.setdefault(setup, len(self._setups))

    @staticmethod
    def units(cents: int) -> int:
        return cents * UNITS_PER_CENT

    def _road(self, resource: Resource) -> Road:
        table, metric = self._table(resource.road_factor) if resource.roams else (None, True)
        change = resource.changeover
        return Road(
            clock=self._clock(resource),
            minutes=table,
            units_per_minute=resource.road_cents_per_minute * UNITS_PER_CENT,
            change_minutes=0 if change is None else change.minutes,
            change_units=0 if change is None else change.cents * UNITS_PER_CENT,
            home=self.problem.place_index[resource.home] if resource.home is not None else 0,
            setup_now=self.setup_no(resource.setup_now),
            metric=metric,
        )

    def _clock(self, resource: Resource) -> Clock:
        stretches = tuple((stretch.start, stretch.end) for stretch in resource.road_stretches)
        if stretches not in self._clocks:
            self._clocks[stretches] = Clock(resource.road_stretches, self.horizon)
        return self._clocks[stretches]

    def _table(self, factor: Fraction) -> tuple[list[list[int]], bool]:
        """Return the road minutes at a factor, rounded up, and whether no detour is ever shorter."""
        if factor not in self._tables:
            up, down = factor.numerator, factor.denominator
            table = [[-(-cell * up // down) for cell in row] for row in self.problem.road_minutes]
            grid = np.array(table, dtype=np.int64).reshape(len(table), len(table))
            metric = not any(
                (grid > grid[:, k : k + 1] + grid[k : k + 1, :]).any() for k in range(len(table))
            )
            self._tables[factor] = (table, metric)
        return self._tables[factor]

    def _job(self, number: int, task: Task) -> Job:
        change = 0 if task.was is None else task.was.change_cents
        pinned = task.fixed is not None or task.under_way is not None
        place = self.problem.place_index[task.place]
        ways = []
        open_no = self._opens.setdefault(task.open, len(self._opens))
        for mode in task.modes:
            options, cents = self._choose(task, mode, open_no), mode.cents
            if task.under_way is not None:
                cents = task.under_way.cents_left
            if options is None or not options.starts:
                continue
            base = (cents + change) * UNITS_PER_CENT
            numbers = tuple(sorted(self.resource_no[name] for name in mode.resources))
            way = Way(number, mode, numbers, self.setup_no(mode.setup), place, base, options)
            way.least_units = base + options.units[options.cheapest_from[0]]
            ways.append(way)
        ways.sort(key=lambda way: way.least_units)
        return Job(
            number=number,
            task=task,
            place=place,
            ways=ways,
            before=[(self.job_no[a.task], a.min_gap, a.max_gap) for a in task.after],
            left_units=None if task.leave_cents is None else (task.leave_cents + change) * UNITS_PER_CENT,
            pinned=pinned,
        )

    def workable(self, task: Task, mode: Mode, open_no: int | None = None) -> Workable:
        """Return the workable minutes of the mode, shared between modes that have the same."""
        if open_no is None:
            open_no = self._opens.setdefault(task.open, len(self._opens))
        late = task.late_cents_per_hour
        numbers = sorted(self.calendar_no[self.resource_no[name]] for name in mode.resources)
        key = (open_no, late, tuple(numbers))
        if key not in self._workable:
            self._workable[key] = Workable(task.open, [self._calendar_list[k] for k in numbers], late)
        return self._workable[key]

    def _choose(self, task: Task, mode: Mode, open_no: int) -> Options | None:
        """Return the starts of a mode; a fixed or under-way task has one at most, and only in its mode."""
        start: int | None = None
        needed, held_for = mode.minutes, 0
        if task.under_way is not None:
            if mode.id != task.under_way.mode:
                return None
            start, needed, held_for = 0, task.under_way.minutes_left, task.under_way.held_for
        elif task.fixed is not None:
            if mode.id != task.fixed.mode:
                return None
            start = task.fixed.start
        was = task.was.start if task.was is not None and task.was.mode == mode.id else None
        workable = self.workable(task, mode, open_no)
        key = (
            id(workable), needed, start, held_for, task.earliest, task.latest, task.hold_limit, task.due,
            was, task.was.change_cents if task.was is not None else 0, task.under_way is not None,
        )  # fmt: skip
        if key not in self._options:
            self._options[key] = self._build(task, workable, needed, start, held_for, was)
        return self._options[key]

    def _build(
        self, task: Task, workable: Workable, needed: int, start: int | None, held_for: int, was: int | None
    ) -> Options:
        latest = self.horizon if task.latest is None else min(task.latest, self.horizon)
        if task.under_way is not None:
            grid = np.zeros(1, dtype=np.int64)
        elif start is not None:
            low, high = max(task.earliest, start), min(latest, start)
            grid = workable.grid(1, low, high) if low <= high else np.empty(0, dtype=np.int64)
        else:
            grid = workable.grid(self.problem.step, task.earliest, latest)
        starts, ends, units = workable.run(grid, needed)
        if task.hold_limit is not None:
            keep = ends - starts + held_for <= task.hold_limit
            starts, ends, units = starts[keep], ends[keep], units[keep]
        if task.due is not None:
            units = units + np.maximum(0, ends - task.due) * (task.late_cents_per_hour * CHANCE_WHOLE_E4)
        options = Options(starts, ends, units)
        if was is not None and task.was is not None:
            i = bisect_left(options.starts, was)
            if i < len(options.starts) and options.starts[i] == was:
                units = units.copy()
                units[i] -= task.was.change_cents * UNITS_PER_CENT
                options = Options(starts, ends, units)
        return options

    def _order(self) -> list[int]:
        """Return the jobs so that each comes after those it waits for, else as listed."""
        waits = [len(job.before) for job in self.jobs]
        ready = [job.number for job in reversed(self.jobs) if not job.before]
        order = []
        while ready:
            number = ready.pop()
            order.append(number)
            for behind, _, _ in self.jobs[number].behind:
                waits[behind] -= 1
                if waits[behind] == 0:
                    ready.append(behind)
        return order
