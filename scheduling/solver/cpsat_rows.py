"""The rows of the resources in the exact model: no overlap, and a way from task to task for whoever has roads or changes.

Alike resources are one class: as many routes from home as the class has members, told apart by who comes first.
"""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

from ortools.sat.python import cp_model

from scheduling.solver.board import Board, Way
from scheduling.solver.layout import all_ahead, has_row
from scheduling.solver.runs import Run
from scheduling.solver.schedule import Schedule

CanFollow = Callable[
    [int, int, int, int, int, int, int], bool
]  # resource, one job, other job, units, minutes, setup of the one and of the other
Say = Callable[[cp_model.LinearExpr, int], None]


@dataclass(slots=True)
class Choice:
    """A job done with so many of each class (named by its first member); `way` is one of the alike ways."""

    literal: cp_model.IntVar
    way: Way
    counts: dict[int, int]


@dataclass(slots=True)
class Piece:
    """The variables of one job; `roads` has, by road clock, the road minutes before its start and its end."""

    present: cp_model.IntVar
    grid: cp_model.IntVar
    start: cp_model.LinearExpr
    end: cp_model.IntVar
    length: cp_model.IntVar
    choices: list[Choice]
    runs: list[tuple[int, Run, cp_model.IntVar]]
    over: cp_model.IntVar
    grain: int
    roads: dict[int, tuple[cp_model.LinearExpr, cp_model.LinearExpr]]


@dataclass(slots=True)
class _Node:
    """A job in the rows of a class, in the choices that bring one setup (-1: none), for one of those it needs."""

    job: int
    setup: int
    slot: int
    here: cp_model.IntVar
    states: dict[int, cp_model.IntVar]


class Rows:
    """The rows of all classes; what they cost goes into `terms`."""

    def __init__(
        self,
        board: Board,
        model: cp_model.CpModel,
        pieces: list[Piece],
        soonest: list[int],
        latest: list[int],
        terms: list[tuple[int, cp_model.IntVar, int]],
        follow: CanFollow | None,
    ) -> None:
        self.follow = follow
        self.board, self.model, self.pieces, self.terms = board, model, pieces, terms
        self.soonest, self.latest = soonest, latest
        self.soonest_end = [
            min((way.options.ends[0] for way in job.ways if way.options.ends), default=board.horizon)
            for job in board.jobs
        ]
        self.ahead = all_ahead(board)
        self.classes: list[tuple[list[int], list[_Node]]] = []
        self.literals: dict[int, dict[tuple[int, int], cp_model.IntVar]] = {}
        self.routes: dict[int, cp_model.IntVar] = {}  # how many of a class leave home
        self.changes: list[tuple[cp_model.IntVar, int, _Node, _Node, cp_model.IntVar]] = []

    def _bool(self) -> cp_model.IntVar:
        return self.model.new_bool_var("")

    def _any(self, literals: list[cp_model.IntVar]) -> cp_model.IntVar:
        if len(literals) == 1:
            return literals[0]
        here = self._bool()
        self.model.add(sum(literals) == here)
        return here

    def add(self, members: list[int]) -> None:
        """Add the rows of one class."""
        first, changes = members[0], self.board.roads[members[0]].changes
        nodes: list[_Node] = []
        intervals = []
        for job, piece in zip(self.board.jobs, self.pieces):
            groups: dict[tuple[int, int], list[cp_model.IntVar]] = {}
            for choice in piece.choices:
                for slot in range(choice.counts.get(first, 0)):
                    groups.setdefault((slot, choice.way.setup if changes else -1), []).append(choice.literal)
            by_slot: dict[int, list[cp_model.IntVar]] = {}
            for (slot, setup), literals in sorted(groups.items()):
                here = self._any(literals)
                nodes.append(_Node(job.number, setup, slot, here, {}))
                by_slot.setdefault(slot, []).append(here)
            for literals in by_slot.values():
                here = self._any(literals)
                intervals.append(
                    self.model.new_optional_interval_var(piece.start, piece.length, piece.end, here, "")
                )
        self.classes.append((members, nodes))
        if nodes and has_row(self.board, first):
            self._row(members, nodes)
        if len(intervals) > len(members) or (first in self.routes and len(intervals) > 1):
            if len(members) == 1:
                self.model.add_no_overlap(intervals)
            else:
                # No more are busy at a time than ever left home.
                most = self.routes.get(first, len(members))
                self.model.add_cumulative(intervals, [1] * len(intervals), most)

    def _row(self, members: list[int], nodes: list[_Node]) -> None:
        model, first = self.model, members[0]
        road = self.board.roads[first]
        setups = sorted({node.setup for node in nodes} | {road.setup_now, -1})
        for node in nodes:
            if road.changes and node.setup < 0:
                node.states = {setup: self._bool() for setup in setups}
                model.add_exactly_one(node.states.values())
        literals: dict[tuple[int, int], cp_model.IntVar] = {}
        arcs: list[tuple[int, int, cp_model.LiteralT]] = []
        for b, node in enumerate(nodes, start=1):
            arcs.append((b, b, node.here.negated()))
            for a in range(len(nodes) + 1):
                if a == 0 or self._can_follow(first, nodes[a - 1], node):
                    literals[a, b] = self._bool()
                    self._arc(first, nodes[a - 1] if a else None, node, literals[a, b])
            literals[b, 0] = self._bool()
        if len(members) == 1:
            idle = literals[0, 0] = self._bool()
            for node in nodes:
                model.add_implication(idle, node.here.negated())
        arcs += [(a, b, literal) for (a, b), literal in literals.items()]
        if len(members) == 1:
            model.add_circuit(arcs)
        else:
            # Several circuits must leave home at least once, even when no task is done: one that goes nowhere.
            nowhere, always = len(nodes) + 1, model.new_constant(1)
            model.add_multiple_circuit([*arcs, (0, nowhere, always), (nowhere, 0, always)])
            routes = self.routes[first] = model.new_int_var(0, min(len(members), len(nodes)), "")
            model.add(sum(literals[0, b] for b in range(1, len(nodes) + 1)) == routes)
        self.literals[first] = literals

    def _can_follow(self, number: int, one: _Node, other: _Node) -> bool:
        """Whether a task may come right after another in a row, by time and by what waits for what."""
        if one.job == other.job or other.job in self.ahead[one.job]:
            return False
        road = self.board.roads[number]
        places = self.board.jobs[one.job].place, self.board.jobs[other.job].place
        needed = 0 if road.minutes is None else road.minutes[places[0]][places[1]]
        units = needed * road.units_per_minute
        if road.changes and 0 <= one.setup != other.setup >= 0:
            needed, units = needed + road.change_minutes, units + road.change_units
        there = road.clock.reach(self.soonest_end[one.job], needed)
        if there is None or there > self.latest[other.job]:
            return False
        return self.follow is None or self.follow(
            number, one.job, other.job, units, needed, one.setup, other.setup
        )

    def _arc(self, number: int, one: _Node | None, other: _Node, arc: cp_model.IntVar) -> None:
        board, model, road = self.board, self.model, self.board.roads[number]
        place = road.home if one is None else board.jobs[one.job].place
        minutes = road.minutes[place][board.jobs[other.job].place] if road.minutes is not None else 0
        units = minutes * road.units_per_minute
        needed: cp_model.LinearExpr | int = minutes
        state = road.setup_now if one is None else one.setup
        if road.changes and other.setup < 0:
            if one is not None and one.states:
                for setup, literal in other.states.items():
                    model.add_implication(one.states[setup], literal).only_enforce_if(arc)
            else:
                model.add_implication(arc, other.states[state])
        elif road.changes and one is not None and one.states:
            change = self._bool()
            model.add_bool_or([change, arc.negated(), one.states[-1], one.states[other.setup]])
            needed = minutes + road.change_minutes * change
            if road.change_units:
                self.terms.append((road.change_units, change, 1))
            self.changes.append((change, number, one, other, arc))
        elif road.changes and 0 <= state != other.setup:
            needed = minutes + road.change_minutes
            units += road.change_units
        if units:
            self.terms.append((units, arc, 1))
        after, before_start = self.pieces[other.job], self._roads(number, other.job)[0]
        if one is None:
            if not isinstance(needed, int) or needed:
                model.add(before_start >= needed).only_enforce_if(arc)
            return
        before, after_end = self.pieces[one.job], self._roads(number, one.job)[1]
        model.add(before_start >= after_end + needed).only_enforce_if(arc)
        if not self.board.always_on_road[number]:
            model.add(after.start >= before.end).only_enforce_if(arc)

    def _roads(self, number: int, job: int) -> tuple[cp_model.LinearExpr, cp_model.LinearExpr]:
        piece = self.pieces[job]
        if self.board.always_on_road[number]:
            return piece.start, piece.end
        return piece.roads[id(self.board.roads[number].clock)]

    def told_apart(self, solver: cp_model.CpSolver) -> list[list[int]]:
        """Return for each job the resources that do it, alike ones handed out in the order of their first tasks."""
        found: list[list[int]] = [[] for _ in self.pieces]
        for members, nodes in self.classes:
            for job, member in self._handed_out(solver, members, nodes):
                found[job].append(member)
        return found

    def _handed_out(
        self, solver: cp_model.CpSolver, members: list[int], nodes: list[_Node]
    ) -> list[tuple[int, int]]:
        found = []
        if members[0] in self.literals:
            onward = {}
            firsts = []
            for (a, b), literal in self.literals[members[0]].items():
                if b and solver.boolean_value(literal):
                    if a:
                        onward[a] = b
                    else:
                        firsts.append(b)
            for member, first in zip(members, firsts):
                at: int | None = first
                while at is not None:
                    found.append((nodes[at - 1].job, member))
                    at = onward.get(at)
            return found
        free_at = dict.fromkeys(members, 0)
        here = [node for node in nodes if solver.boolean_value(node.here)]
        for node in sorted(here, key=lambda node: solver.value(self.pieces[node.job].start)):
            start = solver.value(self.pieces[node.job].start)
            # One to a task at most: whoever got this one by another slot is busy past its start.
            member = next(member for member in members if free_at[member] <= start)
            free_at[member] = solver.value(self.pieces[node.job].end)
            found.append((node.job, member))
        return found

    def hint(self, schedule: Schedule, say: Say) -> None:
        """Say where the rows of a schedule go."""
        for members, nodes in self.classes:
            changes = self.board.roads[members[0]].changes
            at = {(node.job, node.setup, node.slot): i for i, node in enumerate(nodes, start=1)}
            used: set[tuple[int, int]] = set()
            here: set[int] = set()
            for member in members:
                line = schedule.lines[member]
                trail = [0]
                for i, stop in enumerate(line.stops):
                    place = schedule.places[stop.job]
                    assert place is not None
                    slot = [number for number in place.way.resources if number in members].index(member)
                    index = at[stop.job, stop.setup if changes else -1, slot]
                    trail.append(index)
                    for setup, literal in nodes[index - 1].states.items():
                        say(literal, int(setup == line.states[i]))
                used |= set(pairwise([*trail, 0]))
                here |= set(trail)
            if members[0] in self.routes:
                say(self.routes[members[0]], sum(bool(schedule.lines[member].stops) for member in members))
            for index, node in enumerate(nodes, start=1):
                say(node.here, int(index in here))
            for pair, literal in self.literals.get(members[0], {}).items():
                say(literal, int(pair in used))
