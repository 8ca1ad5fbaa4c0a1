"""The week planner: a problem in, a checked plan out. Pure; knows no farm and no database.

`parse_problem` judges a problem, `solve` plans it, `check` goes over a plan with code of its own.
"""

from scheduling.solver.check import CheckResult, Violation, check
from scheduling.solver.plan import (
    Clash,
    LeftTask,
    PlacedTask,
    Plan,
    from_json,
    read_plan,
    to_json,
    write_plan,
)
from scheduling.solver.problem import Problem, problem_hash, problem_to_json
from scheduling.solver.reading import parse_problem, read_problem
from scheduling.solver.solving import SolverFault, solve
from scheduling.solver.values import ProblemError

__all__ = [
    "CheckResult",
    "Clash",
    "LeftTask",
    "PlacedTask",
    "Plan",
    "Problem",
    "ProblemError",
    "SolverFault",
    "Violation",
    "check",
    "from_json",
    "parse_problem",
    "problem_hash",
    "problem_to_json",
    "read_plan",
    "read_problem",
    "solve",
    "to_json",
    "write_plan",
]
