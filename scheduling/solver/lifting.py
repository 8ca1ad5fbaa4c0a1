"""What keeps one task of a plan from starting sooner, all else standing: each rule is lifted, and tried exactly.

A rule binds by itself when the task could start sooner without it, every other rule kept. Where no single rule does,
a smallest set is found that together keeps it back: with all of them lifted it could start sooner, with any one of
them kept it could not.
"""

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace

import numpy as np

from scheduling.solver.board import Road, Way
from scheduling.solver.choices import Bools, Choices, Numbers, fits_in
from scheduling.solver.line import Line
from scheduling.solver.problem import OpenStretch, WorkStretch
from scheduling.solver.timeline import Clock, Workable

EARLIEST, WINDOW, PREDECESSOR, HOURS = "earliest", "window", "predecessor", "hours"
OUTFIT, ROAD, SUCCESSOR, HOLD, LATEST = "outfit", "road", "successor", "hold", "latest"
# Where two rules would let the task start at the same minute, the one named first here is told.
_TOLD_FIRST = (OUTFIT, PREDECESSOR, WINDOW, EARLIEST, HOURS, ROAD, SUCCESSOR, HOLD, LATEST)
# In a set of rules that bind together these are given up first, so that the telling ones remain.
_KEPT_FIRST = (LATEST, HOLD, SUCCESSOR, ROAD, HOURS, EARLIEST, WINDOW, PREDECESSOR, OUTFIT)


@dataclass(frozen=True, slots=True, order=True)
class Rule:
    """A rule that may hold a task back; `number` is the resource's or the other job's, -1 where there is none."""

    kind: str
    number: int = -1


Lifted = frozenset[Rule]


class Sooner:
    """The starts of one way of a job before a minute, with some of the rules lifted."""

    def __init__(self, choices: Choices, way: Way, below: int) -> None:
        self.choices, self.way, self.below = choices, way, below
        self.board = choices.schedule.board
        self.task = choices.job.task
        self._runs: dict[tuple[object, ...], tuple[Numbers, Numbers]] = {}
        self._rows: dict[tuple[object, ...], Bools] = {}
        self._workable: dict[tuple[object, ...], Workable] = {}
        self._clock: Clock | None = None
        self.rules = self._rules()

    def _rules(self) -> list[Rule]:
        task, job, schedule = self.task, self.choices.job, self.choices.schedule
        found = [Rule(WINDOW)]
        if task.earliest:
            found.append(Rule(EARLIEST))
        if task.latest is not None and task.latest < self.below:
            found.append(Rule(LATEST))
        if task.hold_limit is not None:
            found.append(Rule(HOLD))
        found += [Rule(PREDECESSOR, ahead) for ahead, _, _ in job.before]
        found += [
            Rule(SUCCESSOR, behind)
            for behind, _, most in job.behind
            if most is not None and schedule.places[behind] is not None
        ]
        for r in self.way.resources:
            road = self.board.roads[r]
            calendar = self.board.problem.resources[r].calendar
            if len(calendar) != 1 or calendar[0].end - calendar[0].start != self.board.horizon:
                found.append(Rule(HOURS, r))
            if road.minutes is not None or road.change_minutes:
                found.append(Rule(ROAD, r))
            if any(stop.start < self.below for stop in self.choices.line(r).stops):
                found.append(Rule(OUTFIT, r))
        return sorted(found, key=lambda rule: _TOLD_FIRST.index(rule.kind))

    def soonest(self, lifted: Lifted, since: int = 0, until: int | None = None) -> int | None:
        """Return the soonest start that keeps every rule but the lifted ones, from `since` to before `until`."""
        hours = tuple(Rule(HOURS, r) in lifted for r in self.way.resources)
        worked = (Rule(WINDOW) in lifted, hours)
        starts, ends = self._run(worked)
        fits = (starts >= since) & (starts < (self.below if until is None else until))
        if Rule(EARLIEST) not in lifted:
            fits &= starts >= self.task.earliest
        if Rule(LATEST) not in lifted and self.task.latest is not None:
            fits &= starts <= self.task.latest
        if Rule(HOLD) not in lifted and self.task.hold_limit is not None:
            fits &= ends - starts <= self.task.hold_limit
        places = self.choices.schedule.places
        for ahead, least, most in self.choices.job.before:
            place = places[ahead]
            if place is not None and Rule(PREDECESSOR, ahead) not in lifted:
                fits &= starts >= place.end + least
                if most is not None:
                    fits &= starts <= place.end + most
        for behind, least, most in self.choices.job.behind:
            place = places[behind]
            if place is not None:
                fits &= ends <= place.start - least
                if most is not None and Rule(SUCCESSOR, behind) not in lifted:
                    fits &= ends >= place.start - most
        for r, is_always in zip(self.way.resources, hours):
            if not fits.any():
                return None
            fits &= self._row(worked, r, is_always, Rule(ROAD, r) in lifted, Rule(OUTFIT, r) in lifted)
        first = int(np.argmax(fits)) if len(fits) else 0
        return int(starts[first]) if len(fits) and fits[first] else None

    def _run(self, worked: tuple[bool, tuple[bool, ...]]) -> tuple[Numbers, Numbers]:
        found = self._runs.get(worked)
        if found is None:
            always = [WorkStretch(0, self.board.horizon)]
            calendars = [
                always if is_lifted else self.board.problem.resources[r].calendar
                for r, is_lifted in zip(self.way.resources, worked[1])
            ]
            is_open = [OpenStretch(0, self.board.horizon)] if worked[0] else self.task.open
            workable = Workable(is_open, calendars, 0)
            grid = workable.grid(self.board.problem.step, 0, self.below - 1)
            starts, ends, _ = workable.run(grid, self.way.mode.minutes)
            found = self._runs[worked] = (starts, ends)
        return found

    def _row(self, worked: object, r: int, is_always: bool, no_road: bool, is_free: bool) -> Bools:
        key = (worked, r, no_road, is_free)
        found = self._rows.get(key)
        if found is None:
            line = self.choices.line(r)
            road = self._road(r, is_always, no_road)
            stops = tuple(stop for stop in line.stops if stop.start >= self.below) if is_free else line.stops
            if road is not line.road or is_free:
                line = Line(road, self.board.horizon, stops)
            starts, ends = self._runs[worked]  # type: ignore[index]
            found = self._rows[key] = fits_in(line, self.way, starts, ends)[0]
        return found

    def _road(self, r: int, is_always: bool, no_road: bool) -> Road:
        road = self.board.roads[r]
        if no_road:
            return replace(road, minutes=None, change_minutes=0)
        # The hours of the road are those of work where nothing else is said, and are lifted with them.
        if is_always and self.board.problem.resources[r].road_calendar is None:
            if self._clock is None:
                self._clock = Clock([WorkStretch(0, self.board.horizon)], self.board.horizon)
            return replace(road, clock=self._clock)
        return road

    def binding(
        self, since: int = 0, until: int | None = None, kept: Collection[Rule] = ()
    ) -> tuple[Rule, ...]:
        """Return the rule without which the task could start soonest, or else a smallest set that binds together.

        Only starts from `since` to before `until` count, and the `kept` rules are never lifted. Empty when it could
        start there as it is, or not even with all the others lifted.
        """
        if self.soonest(frozenset(), since, until) is not None:
            return ()
        rules = [rule for rule in self.rules if rule not in kept]
        best: tuple[int, Rule] | None = None
        for rule in rules:
            start = self.soonest(frozenset([rule]), since, until)
            if start is not None and (best is None or start < best[0]):
                best = (start, rule)
        if best is not None:
            return (best[1],)
        lifted = frozenset(rules)
        if self.soonest(lifted, since, until) is None:
            return ()
        for rule in sorted(rules, key=lambda rule: _KEPT_FIRST.index(rule.kind)):
            fewer = lifted - {rule}
            if self.soonest(fewer, since, until) is not None:
                lifted = fewer
        return tuple(rule for rule in rules if rule in lifted)


def numbers_of(rules: Iterable[Rule], kind: str) -> list[int]:
    """Return the resources or jobs of the rules of one kind."""
    return [rule.number for rule in rules if rule.kind == kind]
