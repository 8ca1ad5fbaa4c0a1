"""The networks of `routes` as a linear program, solved in floats; only its potentials and shares are used.

Nothing rests on how exact they are: `Routes.judge` works the bound out anew in whole numbers.
"""

from dataclasses import dataclass
from datetime import timedelta

import numpy as np
import numpy.typing as npt
from ortools.math_opt import model_pb2
from ortools.math_opt.python import mathopt
from ortools.math_opt.solvers import highs_pb2

from scheduling.solver.routes import NEVER, Open, Routes
from scheduling.solver.timeline import Ints

Floats = npt.NDArray[np.float64]


@dataclass(slots=True)
class Solved:
    """Potentials for the nodes of each net, rounded, and how much of each choice is taken."""

    potentials: list[Ints]
    shares: Floats


class _Program:
    def __init__(self) -> None:
        self.rows = self.columns = 0
        self.lower: list[Floats] = []
        self.upper: list[Floats] = []
        self.units: list[Floats] = []
        self.parts: list[tuple[Ints, Ints, Floats]] = []

    def add_rows(self, lower: Floats, upper: Floats) -> int:
        self.lower.append(lower)
        self.upper.append(upper)
        self.rows += len(lower)
        return self.rows - len(lower)

    def add_columns(self, units: Floats) -> int:
        self.units.append(units)
        self.columns += len(units)
        return self.columns - len(units)

    def put(self, rows: Ints, columns: Ints, values: Floats | float) -> None:
        self.parts.append((rows, columns, np.broadcast_to(np.asarray(values, dtype=np.float64), rows.shape)))

    def model(self, scale: float) -> model_pb2.ModelProto:
        rows, columns, values = (np.concatenate(part) for part in zip(*self.parts))
        cells, where = np.unique(rows * self.columns + columns, return_inverse=True)
        sums = np.zeros(len(cells))
        np.add.at(sums, where, values)
        keep = sums != 0
        cells, sums = cells[keep], sums[keep]
        model = model_pb2.ModelProto()
        model.variables.ids.extend(range(self.columns))
        model.variables.lower_bounds.extend([0.0] * self.columns)
        model.variables.upper_bounds.extend([np.inf] * self.columns)
        model.variables.integers.extend([False] * self.columns)
        units = np.concatenate(self.units) / scale
        priced = np.nonzero(units)[0]
        model.objective.linear_coefficients.ids.extend(priced.tolist())
        model.objective.linear_coefficients.values.extend(units[priced].tolist())
        model.linear_constraints.ids.extend(range(self.rows))
        model.linear_constraints.lower_bounds.extend(np.concatenate(self.lower).tolist())
        model.linear_constraints.upper_bounds.extend(np.concatenate(self.upper).tolist())
        model.linear_constraint_matrix.row_ids.extend((cells // self.columns).tolist())
        model.linear_constraint_matrix.column_ids.extend((cells % self.columns).tolist())
        model.linear_constraint_matrix.coefficients.extend(sums.tolist())
        return model


def solved(routes: Routes, open_: Open, *, seconds: float | None) -> Solved | None:
    """Solve the program of what is allowed; None when the time is over first or nothing can be done at all."""
    program = _Program()
    number_of: Ints = np.cumsum(open_.choices) - 1  # by choice: its column
    chosen = np.nonzero(open_.choices)[0]
    program.add_columns(routes.units[chosen].astype(np.float64))
    _chains(program, routes, open_, number_of)
    first_rows = _nets(program, routes, open_, number_of)
    scale = max(1.0, float(routes.units.max(initial=1)) / 1000)
    parameters = mathopt.SolveParameters(
        lp_algorithm=mathopt.LPAlgorithm.BARRIER,
        time_limit=None if seconds is None else timedelta(seconds=max(0.05, seconds)),
        # Potentials from the middle of the best ones tell more dear choices than those of a corner, and sooner.
        highs=highs_pb2.HighsOptionsProto(string_options={"run_crossover": "off"}),
    )
    model = mathopt.Model.from_model_proto(program.model(scale))
    try:
        result = mathopt.solve(model, mathopt.SolverType.HIGHS, params=parameters)
    except (AttributeError, RuntimeError, ValueError):
        return None  # so the library says that it knows no answer: it fails to name its own state
    solution = result.solutions[0] if result.solutions else None
    if solution is None or solution.dual_solution is None or solution.primal_solution is None:
        return None
    duals = np.zeros(program.rows)
    for row, dual in solution.dual_solution.dual_values.items():
        duals[row.id] = dual
    if not np.isfinite(duals).all():
        return None
    potentials = [
        np.clip(np.rint(-duals[first : first + net.nodes] * scale), 0, NEVER // 64).astype(np.int64)
        for net, first in zip(routes.nets, first_rows)
    ]
    shares = np.zeros(len(routes.job))
    for variable, value in solution.primal_solution.variable_values.items():
        if variable.id < len(chosen):
            shares[chosen[variable.id]] = value
    return Solved(potentials, shares)


def _chains(program: _Program, routes: Routes, open_: Open, number_of: Ints) -> None:
    """Each chain is one unit that flows through its choices, or is left on the way."""
    leave = routes.leave_units(open_)

    def allowed(number: int) -> Ints:
        a, z = routes.span[number]
        return a + np.nonzero(open_.choices[a:z])[0]

    for number in routes.board.order:
        here = allowed(number)
        parent = routes.parent[number]
        if parent is None:
            row = last = program.add_rows(np.ones(1), np.ones(1))
            program.put(np.full(len(here), row), number_of[here], 1.0)
        else:
            starts = routes.starts[number]
            row = program.add_rows(np.zeros(len(starts) + 1), np.zeros(len(starts) + 1))
            last = row + len(starts)
            program.put(row + np.searchsorted(starts, routes.start[here]), number_of[here], 1.0)
            ahead = allowed(parent[0])
            to = np.searchsorted(starts, routes.end[ahead] + parent[1])
            program.put(row + to, number_of[ahead], -1.0)
            waits = program.add_columns(np.zeros(len(starts)))
            each: Ints = np.arange(len(starts), dtype=np.int64)
            program.put(row + each, waits + each, 1.0)
            program.put(row + 1 + each, waits + each, -1.0)
        if leave[number] < NEVER:
            column = program.add_columns(np.array([float(leave[number])]))
            program.put(np.array([last]), np.array([column]), 1.0)


def _nets(program: _Program, routes: Routes, open_: Open, number_of: Ints) -> list[int]:
    """What leaves a node has come to it; from home go as many as the class has members. Returns the first rows."""
    found = []
    for net, arcs in zip(routes.nets, open_.arcs):
        most = np.zeros(net.nodes)
        most[net.home] = len(net.members)
        row = program.add_rows(np.full(net.nodes, -np.inf), most)
        found.append(row)
        tail, head = net.tail[arcs], net.head[arcs]
        columns = program.add_columns(net.units[arcs].astype(np.float64))
        each: Ints = columns + np.arange(len(tail), dtype=np.int64)
        program.put(row + tail, each, 1.0)
        program.put(row + head, each, -1.0)
        use = open_.choices[net.choices]
        count = net.count[use].astype(np.float64)
        program.put(row + net.begin[use], number_of[net.choices[use]], count)
        program.put(row + net.end[use], number_of[net.choices[use]], -count)
    return found
