"""The independent check of a week plan against its problem: every rule, and the cost from nothing.

Plain on purpose: it walks minute by minute and shares no code with the search, its timeline or its
costs, so that a fault there cannot hide here.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from scheduling.solver.plan import PARTS, STATUSES, PlacedTask, Plan
from scheduling.solver.problem import Mode, Problem, Resource, Task


@dataclass(frozen=True, slots=True)
class Violation:
    """A broken rule: its key, the task it is about (None: the whole plan), and a sentence."""

    rule: str
    task: str | None
    says: str


@dataclass(frozen=True, slots=True)
class CheckResult:
    """What the check found; cost and parts are whole cents, None for a plan of status none."""

    violations: tuple[Violation, ...]
    cost: int | None
    cost_parts: dict[str, int] | None


def check(problem: Problem, plan: Plan) -> CheckResult:
    """Return every broken rule and the recomputed cost of a plan."""
    return _Checker(problem, plan).run()


class _Checker:
    def __init__(self, problem: Problem, plan: Plan) -> None:
        self.problem, self.plan = problem, plan
        self.found: list[Violation] = []
        self.tasks = {task.id: task for task in problem.tasks}
        self.resources = {resource.id: resource for resource in problem.resources}
        self.place_no = {place: number for number, place in enumerate(problem.places)}
        # Minute by minute: -1 where the resource is off, else what an hour costs on top.
        self.at_work: dict[str, list[int]] = {}
        self.on_road: dict[str, bytearray] = {}
        for resource in problem.resources:
            line = [-1] * problem.horizon
            for work in resource.calendar:
                line[work.start : work.end] = [work.extra_cents_per_hour] * (work.end - work.start)
            self.at_work[resource.id] = line
            road = bytearray(problem.horizon)
            stretches = resource.calendar if resource.road_calendar is None else resource.road_calendar
            for stretch in stretches:
                road[stretch.start : stretch.end] = b"\x01" * (stretch.end - stretch.start)
            self.on_road[resource.id] = road

    def say(self, rule: str, task: str | None, says: str) -> None:
        self.found.append(Violation(rule, task, says))

    def run(self) -> CheckResult:
        plan = self.plan
        if plan.status not in STATUSES:
            self.say("status", None, f"The status {plan.status!r} is not best, good or none.")
        if plan.status == "none":
            self.empty()
            return CheckResult(tuple(self.found), None, None)
        if plan.why:
            self.say("why", None, "Only a plan of status none says which rules clash.")
        self.everyone_once()
        standing = {p.id: p for p in plan.tasks if p.id in self.tasks}
        worked: dict[str, list[int]] = {}
        for placed in standing.values():
            task = self.tasks[placed.id]
            mode = task.mode(placed.mode)
            if mode is None:
                self.say("mode", task.id, f"{task.id} has no mode {placed.mode!r}.")
                continue
            faults, minutes = self.alone(task, mode, placed.start, placed.end)
            self.found.extend(faults)
            worked[task.id] = minutes
            self.chosen(task, placed)
        self.found.extend(self.order(standing.values()))
        self.found.extend(self.rows(standing.values())[0])
        self.the_left(standing)
        cost, parts = self.costs(standing, worked)
        self.money(cost, parts)
        return CheckResult(tuple(self.found), cost, parts)

    def empty(self) -> None:
        plan = self.plan
        if plan.tasks or plan.left:
            self.say("status", None, "A plan of status none holds no task and leaves none.")
        if plan.cost is not None:
            self.say("cost", None, "A plan of status none has no cost.")
        if not plan.why:
            self.say("why", None, "A plan of status none must say which rules clash.")
        for clash in plan.why:
            if (clash.task is not None and clash.task not in self.tasks) or not clash.rule or not clash.says:
                self.say("why", clash.task, "A clash names a task of the problem, a rule and a sentence.")

    def everyone_once(self) -> None:
        times = Counter([p.id for p in self.plan.tasks] + [left.id for left in self.plan.left])
        for task_id, count in times.items():
            if task_id not in self.tasks:
                self.say("tasks", task_id, f"The problem has no task {task_id!r}.")
            elif count > 1:
                self.say("tasks", task_id, f"{task_id} stands {count} times.")
        for task_id in self.tasks:
            if task_id not in times:
                self.say("tasks", task_id, f"{task_id} is neither planned nor left.")

    def open_line(self, task: Task) -> list[int]:
        line = [-1] * self.problem.horizon
        for stretch in task.open:
            line[stretch.start : stretch.end] = [stretch.chance_e4] * (stretch.end - stretch.start)
        return line

    def alone(self, task: Task, mode: Mode, start: int, end: int | None) -> tuple[list[Violation], list[int]]:
        """Return the rules the task breaks by itself, and the minutes it works; `end` None: not judged."""
        faults: list[Violation] = []

        def say(rule: str, says: str) -> None:
            faults.append(Violation(rule, task.id, f"{task.id} {says}"))

        horizon, way = self.problem.horizon, task.under_way
        if not 0 <= start < horizon:
            say("horizon", f"starts at {start}, outside the horizon.")
            return faults, []
        open_line = self.open_line(task)
        needed = mode.minutes if way is None else way.minutes_left
        calendars = [self.at_work[name] for name in mode.resources]
        minutes: list[int] = []
        minute = start
        while len(minutes) < needed and minute < horizon:
            if open_line[minute] >= 0 and all(line[minute] >= 0 for line in calendars):
                minutes.append(minute)
            minute += 1
        if way is None:
            if task.fixed is None and start % self.problem.step:
                say("step", f"starts at {start}, which is not a multiple of {self.problem.step}.")
            if not minutes or minutes[0] != start:
                say("workable", f"starts at {start}, a minute in which its mode cannot work.")
            if start < task.earliest:
                say("earliest", f"starts at {start}, before {task.earliest}.")
            if task.latest is not None and start > task.latest:
                say("latest", f"starts at {start}, after {task.latest}.")
        if len(minutes) < needed:
            say("horizon", f"has had {len(minutes)} of its {needed} minutes when the horizon ends.")
        elif end is not None and end != minute:
            say("to", f"ends at {minute}, not at {end}.")
        held = minute - start + (0 if way is None else way.held_for)
        if task.hold_limit is not None and held > task.hold_limit:
            say("hold_limit", f"is held for {held} minutes, of at most {task.hold_limit}.")
        return faults, minutes

    def chosen(self, task: Task, placed: PlacedTask) -> None:
        """A fixed task and one under way stand exactly so."""
        if task.under_way is not None:
            if (placed.mode, placed.start) != (task.under_way.mode, 0):
                self.say("under_way", task.id, f"{task.id} is under way in {task.under_way.mode} from 0.")
        elif task.fixed is not None and (placed.mode, placed.start) != (task.fixed.mode, task.fixed.start):
            self.say("fixed", task.id, f"{task.id} is fixed to {task.fixed.mode} from {task.fixed.start}.")

    def order(self, placed: Iterable[PlacedTask]) -> list[Violation]:
        """Gaps of `after` between tasks that both stand."""
        faults = []
        at = {p.id: p for p in placed}
        for p in at.values():
            for after in self.tasks[p.id].after:
                if after.task not in at:
                    continue
                gap = p.start - at[after.task].end
                if gap < after.min_gap:
                    says = f"{p.id} starts {gap} minutes after {after.task} ends, not {after.min_gap}."
                    faults.append(Violation("after", p.id, says))
                if after.max_gap is not None and gap > after.max_gap:
                    says = (
                        f"{p.id} starts {gap} minutes after {after.task} ends; the most is {after.max_gap}."
                    )
                    faults.append(Violation("after", p.id, says))
        return faults

    def rows(self, placed: Iterable[PlacedTask]) -> tuple[list[Violation], int]:
        """Walk each resource through its tasks: overlaps, trips, changeovers; and what those cost."""
        faults: list[Violation] = []
        cents = 0
        rows: dict[str, list[PlacedTask]] = {name: [] for name in self.resources}
        for p in placed:
            mode = self.tasks[p.id].mode(p.mode)
            for name in mode.resources if mode is not None else ():
                rows[name].append(p)
        for name, row in rows.items():
            resource = self.resources[name]
            free_at, place, setup = 0, resource.home, resource.setup_now
            for p in sorted(row, key=lambda p: (p.start, p.end)):
                task = self.tasks[p.id]
                mode = task.mode(p.mode)
                assert mode is not None
                road = self.road(resource, place, task.place) if resource.roams else 0
                cents += road * resource.road_cents_per_minute
                needed, change = road, resource.changeover
                if change is not None and None not in (mode.setup, setup) and mode.setup != setup:
                    needed += change.minutes
                    cents += change.cents
                if p.start < free_at:
                    faults.append(
                        Violation("resources", p.id, f"{name} is not free for {p.id} at {p.start}.")
                    )
                elif needed:
                    had = sum(self.on_road[name][free_at : p.start])
                    if had < needed:
                        says = f"{name} needs {needed} minutes on the road or for a change before {p.id}, and has {had}."
                        faults.append(Violation("road", p.id, says))
                free_at, place = max(free_at, p.end), task.place
                setup = mode.setup if mode.setup is not None else setup
        return faults, cents

    def road(self, resource: Resource, one: str | None, other: str) -> int:
        if one is None or one == other:
            return 0
        table = self.problem.road_minutes[self.place_no[one]][self.place_no[other]]
        return ceil(table * resource.road_factor)

    def the_left(self, standing: dict[str, PlacedTask]) -> None:
        """Successors of the left are left; the left may be left, and have a why; fixed ones had to be."""
        for p in standing.values():
            for after in self.tasks[p.id].after:
                if after.task not in standing:
                    self.say("after", p.id, f"{p.id} stands, though {after.task} before it is left.")
        for left in self.plan.left:
            task = self.tasks.get(left.id)
            if task is None:
                continue
            if not left.why.strip():
                self.say("why", left.id, f"{left.id} is left without a why.")
            orphan = any(after.task not in standing for after in task.after)
            if task.fixed is not None and task.under_way is None:
                if self.cannot_stand(task, standing) or (orphan and task.leave_cents is not None):
                    continue
                self.say("fixed", left.id, f"{left.id} is fixed and left, though nothing hinders it.")
            elif task.leave_cents is None:
                self.say("leave_cents", left.id, f"{left.id} must be done, and is left.")

    def cannot_stand(self, task: Task, standing: dict[str, PlacedTask]) -> bool:
        """Whether a fixed task breaks a rule by itself, or clashes with a fixed or under-way one that stands."""
        assert task.fixed is not None
        mode = task.mode(task.fixed.mode)
        if mode is None:
            return True
        faults, minutes = self.alone(task, mode, task.fixed.start, None)
        if faults:
            return True
        here = PlacedTask(task.id, mode.id, task.fixed.start, minutes[-1] + 1)
        held = [
            p
            for p in standing.values()
            if self.tasks[p.id].fixed is not None or self.tasks[p.id].under_way is not None
        ]
        if self.between([here]):
            return True
        # What the others break without it is no fault of its.
        return bool(self.between([*held, here]) - self.between(held))

    def between(self, placed: list[PlacedTask]) -> set[Violation]:
        return {*self.order(placed), *self.rows(placed)[0]}

    def costs(
        self, standing: dict[str, PlacedTask], worked: dict[str, list[int]]
    ) -> tuple[int, dict[str, int]]:
        exact = dict.fromkeys(PARTS, Fraction(0))
        for task in self.tasks.values():
            placed = standing.get(task.id)
            mode = task.mode(placed.mode) if placed is not None else None
            if placed is None or mode is None:
                exact["left"] += task.leave_cents or 0
                exact["change"] += task.was.change_cents if task.was is not None else 0
                continue
            if task.was is not None and (placed.mode, placed.start) != (task.was.mode, task.was.start):
                exact["change"] += task.was.change_cents
            exact["direct"] += mode.cents if task.under_way is None else task.under_way.cents_left
            if task.due is not None:
                late = max(0, placed.end - task.due)
                exact["late"] += Fraction(late * task.late_cents_per_hour, 60)
            open_line = self.open_line(task)
            extra = sum(self.at_work[name][minute] for minute in worked[task.id] for name in mode.resources)
            exact["extra"] += Fraction(extra, 60)
            shut_e4 = sum(10_000 - open_line[minute] for minute in worked[task.id])
            exact["weather"] += Fraction(shut_e4 * task.late_cents_per_hour, 600_000)
        exact["road"] += self.rows(standing.values())[1]
        return round(sum(exact.values(), Fraction(0))), {part: round(cents) for part, cents in exact.items()}

    def money(self, cost: int, parts: dict[str, int]) -> None:
        plan = self.plan
        if plan.cost != cost:
            self.say("cost", None, f"The plan says it costs {plan.cost} cents; it costs {cost}.")
        if plan.cost_parts != parts:
            self.say("cost_parts", None, f"The plan's parts are {plan.cost_parts}; they come to {parts}.")
        if plan.bound is None or (plan.cost is not None and plan.bound > plan.cost):
            self.say("bound", None, f"The bound {plan.bound} is no lower bound of {plan.cost}.")
        elif plan.status == "best" and plan.bound != plan.cost:
            self.say("bound", None, f"A best plan's bound equals its cost; here it is {plan.bound}.")
