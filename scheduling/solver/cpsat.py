"""The exact model for small problems, in the solver library's terms; nothing else imports it.

Per job: present or left, one way, one run of starts. A run is a stretch of neighboring starts over which end, cost and
road minutes go up evenly, so that all of them are linear in the start. Per resource: no overlap, and where it has
roads or changes a circuit through its tasks. Hints are complete, and probing is off, which costs more than it brings.
"""

from dataclasses import dataclass
from itertools import pairwise
from math import ceil, gcd

from ortools.sat.python import cp_model

from scheduling.solver.board import Board
from scheduling.solver.runs import Run, runs_of
from scheduling.solver.schedule import Place, Schedule

MOST_RUNS = 9_000
MOST_ARCS = 6_000
MOST_OBJECTIVE = 2**58


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the model found: `proved` says that `places` is cheapest (or, without places, that none exists)."""

    places: list[Place | None] | None
    bound_units: int | None
    proved: bool


@dataclass(slots=True)
class _Piece:
    """The variables of one job."""

    present: cp_model.IntVar
    grid: cp_model.IntVar
    start: cp_model.LinearExpr
    end: cp_model.IntVar
    length: cp_model.IntVar
    ways: list[cp_model.IntVar]
    runs: list[tuple[int, Run, cp_model.IntVar]]
    over: cp_model.IntVar
    grain: int
    roads: dict[int, tuple[cp_model.LinearExpr, cp_model.LinearExpr]]


@dataclass(slots=True)
class _Node:
    """A job in the row of one resource, in the ways that bring one setup (-1: none)."""

    job: int
    setup: int
    here: cp_model.IntVar
    states: dict[int, cp_model.IntVar]


def is_in_reach(board: Board) -> bool:
    """Whether the exact model stays small enough to be worth building."""
    arcs = 0
    for number in range(len(board.roads)):
        if _has_row(board, number):
            nodes = {
                (job.number, way.setup) for job in board.jobs for way in job.ways if number in way.resources
            }
            arcs += (len(nodes) + 1) ** 2
    if arcs > MOST_ARCS or sum(len(job.ways) for job in board.jobs) > MOST_RUNS // 4:
        return False
    return sum(len(runs_of(board, way)) for job in board.jobs for way in job.ways) <= MOST_RUNS


def _has_row(board: Board, number: int) -> bool:
    road = board.roads[number]
    if road.changes:
        return True
    if road.minutes is None:
        return False
    stops = {road.home} | {job.place for job in board.jobs for way in job.ways if number in way.resources}
    return any(road.minutes[a][b] for a in stops for b in stops)


class Model:
    """The exact model of one board."""

    def __init__(self, board: Board) -> None:
        self.board = board
        self.model = cp_model.CpModel()
        self.hints: list[tuple[cp_model.IntVar, int]] = []
        self.terms: list[tuple[int, cp_model.IntVar, int]] = []  # units, variable, its most
        self.constant = 0
        self.pieces = [self._piece(number) for number in range(len(board.jobs))]
        self.rows: dict[int, tuple[list[_Node], dict[tuple[int, int], cp_model.IntVar]]] = {}
        self.changes: list[tuple[cp_model.IntVar, int, _Node, _Node, cp_model.IntVar]] = []
        self._order()
        for number in range(len(board.roads)):
            self._resource(number)
        self.unit = 0
        for units, _, _ in self.terms:
            self.unit = gcd(self.unit, units)
        self.unit = self.unit or 1
        self.fits = sum(abs(units) // self.unit * most for units, _, most in self.terms) < MOST_OBJECTIVE
        if self.fits:
            self.model.minimize(sum(units // self.unit * variable for units, variable, _ in self.terms))

    def _bool(self) -> cp_model.IntVar:
        return self.model.new_bool_var("")

    def _piece(self, number: int) -> _Piece:
        board, model, job = self.board, self.model, self.board.jobs[number]
        step = board.problem.step
        present = self._bool()
        ways = [self._bool() for _ in job.ways]
        model.add(sum(ways) == present)
        if job.left_units is None:
            model.add(present == 1)
        else:
            self.terms.append((-job.left_units, present, 1))
            self.constant += job.left_units
        found = [(w, run) for w, way in enumerate(job.ways) for run in runs_of(board, way)]
        singles = job.pinned
        last = max((run.last_start if singles else run.last_start // step for _, run in found), default=0)
        grid = model.new_int_var(0, max(0, last), "")
        start: cp_model.LinearExpr = grid if singles else step * grid
        end = model.new_int_var(0, board.horizon, "")
        length = model.new_int_var(0, board.horizon, "")
        grain = gcd(*(run.units_rise for _, run in found)) or 1
        most = max((run.rise() for _, run in found), default=0) // grain
        over = model.new_int_var(0, most, "")
        piece = _Piece(present, grid, start, end, length, ways, [], over, grain, {})
        for resource in sorted({number for way in job.ways for number in way.resources}):
            if _has_row(board, resource):
                piece.roads[resource] = self._road_variables(piece, resource)
        for w, run in found:
            self._run(piece, number, w, run, 1 if singles else step)
        for w, literal in enumerate(ways):
            model.add(sum(y for v, _, y in piece.runs if v == w) == literal)
        model.add(end == start + length).only_enforce_if(present)
        if most:
            self.terms.append((grain, over, most))
        return piece

    def _road_variables(
        self, piece: _Piece, resource: int
    ) -> tuple[cp_model.LinearExpr, cp_model.LinearExpr]:
        if self.board.always_on_road[resource]:
            return piece.start, piece.end
        horizon = self.board.horizon
        return self.model.new_int_var(0, horizon, ""), self.model.new_int_var(0, horizon, "")

    def _run(self, piece: _Piece, number: int, w: int, run: Run, step: int) -> None:
        model, way = self.model, self.board.jobs[number].ways[w]
        y = self._bool()
        piece.runs.append((w, run, y))
        first = run.first_start // step
        into = piece.grid - first
        model.add(piece.grid >= first).only_enforce_if(y)
        model.add(piece.grid <= first + run.count - 1).only_enforce_if(y)
        model.add(piece.end == run.end + run.end_rise * into).only_enforce_if(y)
        self.terms.append((way.base_units + run.least_units(), y, 1))
        if run.units_rise:
            # What this start costs above the run's cheapest.
            from_least = (run.units - run.least_units()) // piece.grain
            rise = run.units_rise // piece.grain
            model.add(piece.over >= from_least + rise * into).only_enforce_if(y)
        for resource in way.resources:
            if resource in piece.roads and not self.board.always_on_road[resource]:
                before, after = piece.roads[resource]
                (at_start, start_rise), (at_end, end_rise) = run.roads[resource]
                model.add(before == at_start + start_rise * into).only_enforce_if(y)
                model.add(after == at_end + end_rise * into).only_enforce_if(y)

    def _order(self) -> None:
        model = self.model
        for job, piece in zip(self.board.jobs, self.pieces):
            for ahead, least, most in job.before:
                other = self.pieces[ahead]
                model.add_implication(piece.present, other.present)
                model.add(piece.start >= other.end + least).only_enforce_if(piece.present)
                if most is not None:
                    model.add(piece.start <= other.end + most).only_enforce_if(piece.present)
            if job.holds:
                model.add_bool_or(
                    [piece.present, *(self.pieces[ahead].present.negated() for ahead, _, _ in job.before)]
                )

    def _resource(self, number: int) -> None:
        board, model = self.board, self.model
        intervals = []
        nodes: list[_Node] = []
        changes = board.roads[number].changes
        for job, piece in zip(board.jobs, self.pieces):
            groups: dict[int, list[cp_model.IntVar]] = {}
            for way, literal in zip(job.ways, piece.ways):
                if number in way.resources:
                    groups.setdefault(way.setup if changes else -1, []).append(literal)
            everywhere = []
            for setup, literals in sorted(groups.items()):
                here = self._any(literals)
                nodes.append(_Node(job.number, setup, here, {}))
                everywhere.append(here)
            if everywhere:
                here = self._any(everywhere)
                intervals.append(
                    model.new_optional_interval_var(piece.start, piece.length, piece.end, here, "")
                )
        if len(intervals) > 1:
            model.add_no_overlap(intervals)
        if nodes and _has_row(board, number):
            self._row(number, nodes)

    def _any(self, literals: list[cp_model.IntVar]) -> cp_model.IntVar:
        if len(literals) == 1:
            return literals[0]
        here = self._bool()
        self.model.add(sum(literals) == here)
        return here

    def _row(self, number: int, nodes: list[_Node]) -> None:
        model, road = self.model, self.board.roads[number]
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
                if a != b and (a == 0 or nodes[a - 1].job != node.job):
                    literals[a, b] = self._bool()
                    self._arc(number, nodes[a - 1] if a else None, node, literals[a, b])
            literals[b, 0] = self._bool()
        idle = self._bool()
        literals[0, 0] = idle
        arcs += [(a, b, literal) for (a, b), literal in literals.items()]
        for node in nodes:
            model.add_implication(idle, node.here.negated())
        model.add_circuit(arcs)
        self.rows[number] = (nodes, literals)

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
        if one is None:
            model.add(self.pieces[other.job].roads[number][0] >= needed).only_enforce_if(arc)
        else:
            before, after = self.pieces[one.job], self.pieces[other.job]
            model.add(after.roads[number][0] >= before.roads[number][1] + needed).only_enforce_if(arc)
            model.add(after.start >= before.end).only_enforce_if(arc)

    def solve(
        self,
        hint: Schedule | None,
        *,
        seconds: float | None,
        work: float | None,
        seed: int,
        workers: int,
    ) -> Outcome:
        """Solve within wall seconds, or within deterministic work where that is given."""
        if hint is not None:
            self._hint(hint)
        solver = cp_model.CpSolver()
        parameters = solver.parameters
        parameters.cp_model_probing_level = 0
        parameters.linearization_level = 2
        parameters.random_seed = seed % 2**31
        parameters.num_workers = workers
        if work is not None:
            parameters.max_deterministic_time = work
            if workers > 1:
                parameters.interleave_search = True
        if seconds is not None:
            parameters.max_time_in_seconds = max(0.01, seconds)
        status = solver.solve(self.model)
        if status == cp_model.INFEASIBLE:
            return Outcome(None, None, True)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            # Stopped before it began, the library reports 0 for a bound that it never worked out.
            return Outcome(None, None, False)
        places: list[Place | None] = []
        for job, piece in zip(self.board.jobs, self.pieces):
            chosen = next(((w, run) for w, run, y in piece.runs if solver.boolean_value(y)), None)
            if chosen is None:
                places.append(None)
                continue
            w, run = chosen
            step = 1 if job.pinned else self.board.problem.step
            into = solver.value(piece.grid) - run.first_start // step
            places.append(Place(job.ways[w], run.first_index + into))
        return Outcome(places, self._bound(solver), status == cp_model.OPTIMAL)

    def _bound(self, solver: cp_model.CpSolver) -> int | None:
        if solver.best_objective_bound > solver.objective_value + 0.5:
            return None
        # The bound is a float: step back by more than its rounding before it counts as a whole number.
        bound = solver.best_objective_bound
        return self.constant + self.unit * ceil(bound - max(1e-4, abs(bound) * 1e-12))

    def _hint(self, schedule: Schedule) -> None:
        model = self.model
        model.clear_hints()
        values: dict[int, int] = {}

        def say(variable: cp_model.LinearExpr, value: int) -> None:
            if isinstance(variable, cp_model.IntVar) and variable.index not in values:
                values[variable.index] = value
                model.add_hint(variable, value)

        for job, piece, place in zip(self.board.jobs, self.pieces, schedule.places):
            say(piece.present, int(place is not None))
            step = 1 if job.pinned else self.board.problem.step
            for w, literal in enumerate(piece.ways):
                say(literal, int(place is not None and place.way is job.ways[w]))
            for w, run, y in piece.runs:
                inside = (
                    place is not None
                    and place.way is job.ways[w]
                    and run.first_index <= place.at < run.first_index + run.count
                )
                say(y, int(inside))
                if inside and place is not None:
                    say(piece.over, (place.way.options.units[place.at] - run.least_units()) // piece.grain)
            if place is not None:
                say(piece.grid, place.start // step)
                say(piece.end, place.end)
                say(piece.length, place.end - place.start)
                for resource in place.way.resources:
                    if resource in piece.roads:
                        clock = self.board.roads[resource].clock
                        say(piece.roads[resource][0], clock.before(place.start))
                        say(piece.roads[resource][1], clock.before(place.end))
        for number, (nodes, literals) in self.rows.items():
            changes = self.board.roads[number].changes
            at = {(node.job, node.setup): i for i, node in enumerate(nodes, start=1)}
            line = schedule.lines[number]
            trail = [0, *(at[stop.job, stop.setup if changes else -1] for stop in line.stops), 0]
            used = set(pairwise(trail))
            for (a, b), literal in literals.items():
                say(literal, int((a, b) in used))
            for i, stop in enumerate(line.stops):
                for setup, literal in nodes[at[stop.job, stop.setup if changes else -1] - 1].states.items():
                    say(literal, int(setup == line.states[i]))
