"""The exact model as a peer: the solver library on its own, from a plan that is there.

The recipe that was found best for the library: probing off, and a hint for every variable. The plan that is there is
laid into the model first, with the variables that stand for it fixed; what the library makes of that is the hint.
"""

from collections.abc import Callable
from time import monotonic

from ortools.sat.python import cp_model

from scheduling.solver.cpsat import Model, Outcome
from scheduling.solver.schedule import Schedule

Told = Callable[[int], None]
MOST_COMPLETING_SECONDS = 5.0


class ExactPeer(Model):
    """The exact model of a board, solved by that recipe."""

    def improve(
        self, start: Schedule, *, until: float, seed: int, workers: int, told: Told | None = None
    ) -> Outcome:
        """Solve from a plan until the monotonic clock shows `until`; `told` hears the units of each better plan."""
        self._hint(start)
        self._complete_hint(min(until, monotonic() + MOST_COMPLETING_SECONDS))
        solver = _solver(until, seed, workers)
        listener = None if told is None else _Listener(lambda value: told(self.constant + self.unit * value))
        status = solver.solve(self.model, listener)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return Outcome(None, None, False)
        return Outcome(self._places(solver), self._bound(solver), status == cp_model.OPTIMAL)

    def _complete_hint(self, until: float) -> None:
        solver = _solver(until, 1, 1)
        solver.parameters.fix_variables_to_their_hinted_value = True
        if solver.solve(self.model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return
        self.model.clear_hints()
        for index, value in enumerate(solver.response_proto.solution):
            self.model.add_hint(self.model.get_int_var_from_proto_index(index), value)


class _Listener(cp_model.CpSolverSolutionCallback):
    def __init__(self, told: Callable[[int], None]) -> None:
        super().__init__()
        self.told = told

    def on_solution_callback(self) -> None:
        self.told(round(self.objective_value))


def _solver(until: float, seed: int, workers: int) -> cp_model.CpSolver:
    solver = cp_model.CpSolver()
    solver.parameters.cp_model_probing_level = 0
    solver.parameters.random_seed = seed
    solver.parameters.num_workers = workers
    solver.parameters.max_time_in_seconds = max(0.01, until - monotonic())
    return solver
