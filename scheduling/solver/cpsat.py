"""The exact model for small problems, in the solver library's terms; only `cpsat_rows` shares it.

Per job: present or left, one choice of classes of alike resources, one run of starts. A run is a stretch of neighboring
starts over which end, cost and road minutes go up evenly, so that all of them are linear in the start. The rows of the
resources are in `cpsat_rows`; which of the alike goes is told apart afterwards. Hints are complete, and probing is
off, which costs more than it brings.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import ceil, gcd

from ortools.sat.python import cp_model

from scheduling.solver.board import Board, Job
from scheduling.solver.bounds import heads, tails
from scheduling.solver.cpsat_rows import CanFollow, Choice, Piece, Rows
from scheduling.solver.layout import Layout, has_row
from scheduling.solver.runs import Run, runs_of
from scheduling.solver.schedule import Place, Schedule
from scheduling.solver.stopping import stopping

MOST_RUNS = 6_000
PROVERS = ("objective_lb_search_max_lp", "reduced_costs", "core", "pseudo_costs")
MOST_ARCS = 3_000
MOST_OBJECTIVE = 2**58


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the model found: `proved` says that `places` is cheapest (or, without places, that none exists)."""

    places: list[Place | None] | None
    bound_units: int | None
    proved: bool


def is_in_reach(board: Board) -> bool:
    """Whether the exact model stays small enough to be worth building."""
    layout = Layout(board)
    nodes: dict[int, set[tuple[int, int, int]]] = {}
    runs = 0
    for job in board.jobs:
        for options in {id(way.options): way.options for way in job.ways}.values():
            runs += len(runs_of(board, options, layout.clocks[job.number]))
        for members, setup in {(layout.key(way)[0], way.setup) for way in job.ways}:
            for slot, member in enumerate(members):
                nodes.setdefault(member, set()).add((job.number, setup, slot))
        if runs > MOST_RUNS:
            return False
    arcs = sum(
        (len(found) + 1) ** 2 for number, found in nodes.items() if has_row(board, layout.classes[number][0])
    )
    return arcs <= MOST_ARCS


class Model:
    """The exact model of one board; `can_follow` may rule out neighbors in a row that no plan looked for has."""

    def __init__(self, board: Board, can_follow: CanFollow | None = None) -> None:
        self.board = board
        self.model = cp_model.CpModel()
        self.layout = Layout(board)
        self.terms: list[tuple[int, cp_model.IntVar, int]] = []  # units, variable, its most
        self.constant = 0
        self.soonest, self.latest = heads(board), tails(board)
        self.pieces = [self._piece(job) for job in board.jobs]
        self._order()
        self.rows = Rows(board, self.model, self.pieces, self.soonest, self.latest, self.terms, can_follow)
        for members in self.layout.classes:
            self.rows.add(members)
        self.unit = 0
        for units, _, _ in self.terms:
            self.unit = gcd(self.unit, units)
        self.unit = self.unit or 1
        self.fits = sum(abs(units) // self.unit * most for units, _, most in self.terms) < MOST_OBJECTIVE
        if self.fits:
            self.model.minimize(sum(units // self.unit * variable for units, variable, _ in self.terms))

    def below(self, units: int) -> None:
        """Ask only for plans that cost less than so many units; there may be none."""
        total = sum(part // self.unit * variable for part, variable, _ in self.terms)
        self.model.add(total <= (units - 1 - self.constant) // self.unit)

    def _bool(self) -> cp_model.IntVar:
        return self.model.new_bool_var("")

    def _piece(self, job: Job) -> Piece:
        board, model = self.board, self.model
        step = 1 if job.pinned else board.problem.step
        present = self._bool()
        if job.left_units is None:
            model.add(present == 1)
        else:
            self.terms.append((-job.left_units, present, 1))
            self.constant += job.left_units
        choices: dict[object, Choice] = {}
        for way in job.ways:
            like = self.layout.key(way)
            if like not in choices:
                counts: dict[int, int] = {}
                for number in way.resources:
                    member = self.layout.class_no[number]
                    counts[member] = counts.get(member, 0) + 1
                heads_of = {self.layout.classes[member][0]: count for member, count in counts.items()}
                choices[like] = Choice(self._bool(), way, heads_of)
        for choice in choices.values():
            self.terms.append((choice.way.base_units, choice.literal, 1))
        model.add(sum(choice.literal for choice in choices.values()) == present)
        clocks = self.layout.clocks[job.number]
        profiles = {id(way.options): way.options for way in job.ways}
        found = [(key, run) for key, options in profiles.items() for run in runs_of(board, options, clocks)]
        found = [
            (key, run)
            for key, run in found
            if run.last_start >= self.soonest[job.number] and run.first_start <= self.latest[job.number]
        ]
        first = min((run.first_start for _, run in found), default=0)
        last = max((run.last_start for _, run in found), default=0)
        grid = model.new_int_var(first // step, max(first, last) // step, "")
        start: cp_model.LinearExpr = grid if step == 1 else step * grid
        first_end = min((run.end for _, run in found), default=0)
        last_end = max((run.end + run.end_rise * (run.count - 1) for _, run in found), default=0)
        end = model.new_int_var(min(first_end, last_end), max(first_end, last_end), "")
        length = model.new_int_var(0, board.horizon, "")
        grain = gcd(*(run.units_rise for _, run in found)) or 1
        most = max((run.rise() for _, run in found), default=0) // grain
        over = model.new_int_var(0, most, "")
        piece = Piece(present, grid, start, end, length, list(choices.values()), [], over, grain, {})
        for number in clocks:
            before, after = model.new_int_var(0, board.horizon, ""), model.new_int_var(0, board.horizon, "")
            piece.roads[id(board.roads[number].clock)] = before, after
        for key, run in found:
            self._run(piece, key, run, step)
        for key in profiles:
            of_it = [choice.literal for choice in piece.choices if id(choice.way.options) == key]
            model.add(sum(y for k, _, y in piece.runs if k == key) == sum(of_it))
        model.add(end == start + length)
        if most:
            self.terms.append((grain, over, most))
        return piece

    def _run(self, piece: Piece, key: int, run: Run, step: int) -> None:
        model = self.model
        y = self._bool()
        piece.runs.append((key, run, y))
        first = run.first_start // step
        into = piece.grid - first
        model.add_linear_constraint(piece.grid, first, first + run.count - 1).only_enforce_if(y)
        model.add(piece.end == run.end + run.end_rise * into).only_enforce_if(y)
        if run.least_units():
            self.terms.append((run.least_units(), y, 1))
        if run.units_rise:
            # What this start costs above the run's cheapest.
            from_least = (run.units - run.least_units()) // piece.grain
            rise = run.units_rise // piece.grain
            model.add(piece.over >= from_least + rise * into).only_enforce_if(y)
        for number, ((at_start, start_rise), (at_end, end_rise)) in run.roads.items():
            before, after = piece.roads[id(self.board.roads[number].clock)]
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

    def solve(
        self,
        hint: Schedule | None,
        *,
        seconds: float | None,
        work: float | None,
        seed: int,
        workers: int,
        stop: Callable[[], bool] | None = None,
        is_proof: bool = False,
    ) -> Outcome:
        """Solve within wall seconds, or within deterministic work where that is given, or until `stop` says yes.

        `is_proof` says that the hint is about the cheapest already: all effort goes into the bound.
        """
        if hint is not None:
            self._hint(hint)
        solver = cp_model.CpSolver()
        parameters = solver.parameters
        parameters.cp_model_probing_level = 0
        parameters.catch_sigint_signal = False  # who asks for a plan says what Ctrl-C means
        parameters.linearization_level = 1 if is_proof else 2
        if is_proof and workers > 1:
            parameters.subsolvers.extend(PROVERS)
        parameters.random_seed = seed % 2**31
        parameters.num_workers = workers
        if work is not None:
            parameters.max_deterministic_time = work
            if workers > 1:
                parameters.interleave_search = True
        if seconds is not None:
            parameters.max_time_in_seconds = max(0.01, seconds)
        with stopping(solver.stop_search, stop):
            status = solver.solve(self.model)
        if status == cp_model.INFEASIBLE:
            return Outcome(None, None, True)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            # Stopped before it began, the library reports 0 for a bound that it never worked out.
            return Outcome(None, None, False)
        return Outcome(self._places(solver), self._bound(solver), status == cp_model.OPTIMAL)

    def _places(self, solver: cp_model.CpSolver) -> list[Place | None]:
        members = self.rows.told_apart(solver)
        places: list[Place | None] = []
        for job, piece in zip(self.board.jobs, self.pieces):
            choice = next((one for one in piece.choices if solver.boolean_value(one.literal)), None)
            if choice is None:
                places.append(None)
                continue
            run = next(run for _, run, y in piece.runs if solver.boolean_value(y))
            step = 1 if job.pinned else self.board.problem.step
            into = solver.value(piece.grid) - run.first_start // step
            wanted, like = tuple(sorted(members[job.number])), self.layout.key(choice.way)
            way = next(way for way in job.ways if way.resources == wanted and self.layout.key(way) == like)
            places.append(Place(way, run.first_index + into))
        return places

    def _bound(self, solver: cp_model.CpSolver) -> int | None:
        if solver.best_objective_bound > solver.objective_value + 0.5:
            return None
        # The bound is a float: step back by more than its rounding before it counts as a whole number.
        bound = solver.best_objective_bound
        return self.constant + self.unit * ceil(bound - max(1e-4, abs(bound) * 1e-12))

    def _hint(self, schedule: Schedule) -> None:
        model = self.model
        model.clear_hints()
        said: set[int] = set()

        def say(variable: cp_model.LinearExpr, value: int) -> None:
            if isinstance(variable, cp_model.IntVar) and variable.index not in said:
                said.add(variable.index)
                model.add_hint(variable, value)

        for job, piece, place in zip(self.board.jobs, self.pieces, schedule.places):
            say(piece.present, int(place is not None))
            step = 1 if job.pinned else self.board.problem.step
            like = None if place is None else self.layout.key(place.way)
            for choice in piece.choices:
                say(choice.literal, int(self.layout.key(choice.way) == like))
            for key, run, y in piece.runs:
                inside = (
                    place is not None
                    and id(place.way.options) == key
                    and run.first_index <= place.at < run.first_index + run.count
                )
                say(y, int(inside))
                if inside and place is not None:
                    say(piece.over, (place.way.options.units[place.at] - run.least_units()) // piece.grain)
            if place is not None:
                say(piece.grid, place.start // step)
                say(piece.end, place.end)
                say(piece.length, place.end - place.start)
                for number in self.layout.clocks[job.number]:
                    clock = self.board.roads[number].clock
                    say(piece.roads[id(clock)][0], clock.before(place.start))
                    say(piece.roads[id(clock)][1], clock.before(place.end))
        self.rows.hint(schedule, say)
