"""A second program as a peer: PyJobShop, as far as it can say a planning problem.

What it is told: modes with all that they hold, calendars and shut hours as breaks that work goes on after, the order of
passes with the least and most time between, road minutes and sure changeovers as setup times, lateness at its price,
and leaving a pass at its price (a mode that holds nobody and ends so late that the lateness costs as much; a pass that
waits for one that is left can then only be left). All in whole steps, rounded up.

What it cannot be told: direct cents, the price of overtime, the weather allowance, the first trip from home, when roads may
be used, the hold limit, changeovers that depend on the mode chosen, and different prices of a road minute (it gets
the mean). Its plan is therefore laid into the format afterwards: same outfits, same order, moved later by the least
that is needed; what does not fit is left.
"""

from bisect import bisect_left
from itertools import permutations
from time import monotonic
from typing import Any

import pyjobshop

from farmops.bench.plan_measures import farm_problem, of_schedule
from scheduling.solver import greedy
from scheduling.solver.board import Board, Job, Way
from scheduling.solver.problem import Problem, Stretch, Task
from scheduling.solver.schedule import Place, Schedule

LEFT = "left"


class CannotSay(ValueError):
    """The problem holds what the program has no words for."""


class Translation:
    """A problem in the program's terms."""

    def __init__(self, problem: Problem) -> None:
        if any(task.fixed or task.under_way or task.was for task in problem.tasks):
            raise CannotSay("fixed, under-way and earlier places of a task cannot be said")
        self.problem, self.step = problem, problem.step
        self.end = self._up(problem.horizon)
        last = max((self._left_at(task) or 0 for task in problem.tasks), default=0)
        self.far = max(self.end, last) + len(problem.tasks) + 1
        self.model = pyjobshop.Model()
        self.proved: int | None = None
        """What the program proved to be the least cost in its terms."""
        self.machines = {
            resource.id: self.model.add_machine(self._breaks(resource.calendar), name=resource.id)
            for resource in problem.resources
        }
        self.grounds: dict[tuple[Stretch, ...], Any] = {}
        self.limbos: dict[int, Any] = {}
        self.tasks = {task.id: self._task(task) for task in problem.tasks}
        self._order()
        self._roads()

    def _up(self, minutes: int) -> int:
        return -(-minutes // self.step)

    def _breaks(self, stretches: tuple[Stretch, ...]) -> list[tuple[int, int]]:
        """Return when nothing goes on, in whole steps; whatever lies beyond the horizon is one long break."""
        found, free_at = [], 0
        for stretch in stretches:
            if self._up(stretch.start) > free_at:
                found.append((free_at, self._up(stretch.start)))
            free_at = max(free_at, stretch.end // self.step)
        return [*found, (free_at, self.far)] if free_at < self.end else found

    def _weight(self, task: Task) -> int:
        return 0 if task.due is None else round(task.late_cents_per_hour * self.step / 60)

    def _left_at(self, task: Task) -> int | None:
        """Return the step at which a pass that is left ends, so that its lateness costs what leaving it does."""
        weight = self._weight(task)
        if task.leave_cents is None or not weight or task.due is None:
            return None
        return self._up(task.due) + -(-task.leave_cents // weight)

    def _task(self, task: Task) -> Any:
        model = self.model
        due = self.far if task.due is None else task.due // self.step
        job = model.add_job(weight=self._weight(task), due_date=due, name=task.id)
        left_at = self._left_at(task)
        latest = {} if task.latest is None else {"latest_start": task.latest // self.step}
        added = model.add_task(
            job,
            earliest_start=self._up(task.earliest),
            # What must be done ends inside the horizon; what is left ends late, but before work could go on again.
            latest_end=self.end if left_at is None else self.far,
            allow_breaks=True,
            name=task.id,
            **latest,
        )
        ground = self._ground(task.open)
        for mode in task.modes:
            held = [self.machines[name] for name in mode.resources]
            demands = [*([0] * len(held)), 1]
            model.add_mode(added, [*held, ground], self._up(mode.minutes), demands, name=mode.id)
        if left_at is not None:
            if left_at not in self.limbos:
                count = len(self.problem.tasks)
                self.limbos[left_at] = model.add_renewable(count, breaks=[(0, left_at - 1)], name=LEFT)
            model.add_mode(added, [self.limbos[left_at]], 1, [1], name=LEFT)
        return added

    def _ground(self, stretches: tuple[Stretch, ...]) -> Any:
        plain = tuple(Stretch(stretch.start, stretch.end) for stretch in stretches)
        if plain not in self.grounds:
            breaks = self._breaks(plain)
            if not breaks or breaks[-1][1] < self.far:
                breaks.append((self.end, self.far))
            self.grounds[plain] = self.model.add_renewable(len(self.problem.tasks), breaks=breaks)
        return self.grounds[plain]

    def _order(self) -> None:
        for task in self.problem.tasks:
            for after in task.after:
                ahead, behind = self.tasks[after.task], self.tasks[task.id]
                self.model.add_end_before_start(ahead, behind, self._up(after.min_gap))
                if after.max_gap is not None:
                    self.model.add_start_before_end(behind, ahead, -(after.max_gap // self.step))

    def _roads(self) -> None:
        problem, prices = self.problem, []
        for resource in problem.resources:
            users = [
                task for task in problem.tasks if any(resource.id in mode.resources for mode in task.modes)
            ]
            change = 0 if resource.changeover is None else resource.changeover.minutes
            if not (resource.roams or change):
                continue
            prices.append(resource.road_cents_per_minute)
            for one, other in permutations(users, 2):
                minutes = 0
                if resource.roams:
                    road = problem.road_minutes[problem.place_index[one.place]][
                        problem.place_index[other.place]
                    ]
                    minutes = -(-road * resource.road_factor.numerator // resource.road_factor.denominator)
                if change and not self._setups(one, resource.id) & self._setups(other, resource.id):
                    minutes += change
                if minutes:
                    self.model.add_setup_time(
                        self.machines[resource.id],
                        self.tasks[one.id],
                        self.tasks[other.id],
                        self._up(minutes),
                    )
        price = sum(prices) * self.step // max(1, len(prices))
        if not self.model.constraints.setup_times:
            price = 0  # the program refuses a price of what there is none of
        self.model.set_objective(weight_total_tardiness=1, weight_total_setup_time=price)

    def _setups(self, task: Task, resource: str) -> set[str | None]:
        return {mode.setup for mode in task.modes if resource in mode.resources}

    def solve(self, *, seconds: float, seed: int, workers: int) -> list[tuple[int, str, str]] | None:
        """Return (minute, task, mode) of what it plans, in order of time, or None when it finds nothing."""
        result = self.model.solve(
            time_limit=seconds,
            display=False,
            num_workers=workers,
            random_seed=seed,
            cp_model_probing_level=0,
        )
        if result.status.value == "Optimal":
            self.proved = round(result.objective)
        if not result.best.tasks:
            return None
        found = []
        for task, placed in zip(self.problem.tasks, result.best.tasks):
            mode = self.model.modes[placed.mode].name
            if mode != LEFT:
                found.append((placed.start * self.step, task.id, mode))
        return sorted(found)


def laid_in(board: Board, found: list[tuple[int, str, str]], schedule: Schedule) -> Schedule:
    """Lay (minute, task, mode) in order of time into an empty schedule, each as soon as it fits from its minute on."""
    for minute, task, mode in found:
        job = board.jobs[board.job_no[task]]
        way = next((way for way in job.ways if way.mode.id == mode), None)
        at = None if way is None else _soonest(schedule, job, way, minute)
        if way is not None and at is not None:
            schedule.put(job.number, Place(way, at))
    return schedule


def _soonest(schedule: Schedule, job: Job, way: Way, minute: int) -> int | None:
    window = schedule.window(job)
    if window is None:
        return None
    low, high, low_end, high_end = window
    rows = [schedule.lines[number].gaps(way.place, way.setup) for number in way.resources]
    options = way.options
    for at in range(bisect_left(options.starts, max(low, minute)), len(options.starts)):
        start, end = options.starts[at], options.ends[at]
        if start > high or end > high_end:
            return None
        if end >= low_end and all(any(a <= start and end <= b for a, b, _ in row) for row in rows):
            return at
    return None


def planned(*, fields: int, seed: int, seconds: float, workers: int) -> dict[str, Any]:
    """Plan a farm with PyJobShop; its plan is laid into the format and costed there. Translating counts."""
    problem = farm_problem(fields=fields, seed=seed)
    began = monotonic()
    said = Translation(problem)
    remaining = seconds - (monotonic() - began)
    found = said.solve(seconds=remaining, seed=seed, workers=workers) if remaining > 0 else None
    if found is None:
        return {"cost": None, "left": None, "seconds": monotonic() - began}
    board = Board(problem)
    return of_schedule(laid_in(board, found, greedy.empty(board)), 0, began)
