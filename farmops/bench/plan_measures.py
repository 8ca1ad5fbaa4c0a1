"""What the bench of plans measures; each function is called in a child process of its own.

A farm is named by its fields and its seed. Every plan is gone over by the independent check before it counts; `seconds` of
the outcome is wall time from the problem, already read, to the checked plan.
"""

from collections.abc import Sequence
from time import monotonic
from typing import Any

from farmops.bench.plan_best import HASH_SIGNS
from farmops.bench.plan_exact import ExactPeer
from farmops.bench.plan_farms import Farm
from farmops.bench.plan_job_shops import as_problem, shops
from farmops.bench.plan_pieces import Pieces
from scheduling.solver import Plan, Problem, check, compiled, greedy, parse_problem, problem_hash, solve
from scheduling.solver.board import Board
from scheduling.solver.bounds import lower_bound
from scheduling.solver.cost import cents
from scheduling.solver.schedule import Place, Schedule
from scheduling.solver.solving import as_plan

LARGE_FIELDS, LONG_DAYS, WEEK_DAYS = 100, 14, 7


class BadPlan(RuntimeError):
    """A plan that the independent check refuses."""


def farm_problem(*, fields: int, seed: int) -> Problem:
    """Return the planning problem of a drawn farm: a week, or two for a large one."""
    days = LONG_DAYS if fields >= LARGE_FIELDS else WEEK_DAYS
    return parse_problem(Farm(fields, seed, days).problem)


def named(*, fields: int, seed: int) -> dict[str, Any]:
    """Return what a drawn farm is called and how large it is."""
    problem = farm_problem(fields=fields, seed=seed)
    return {
        "instance": f"{fields} fields, seed {seed}",
        "problem": problem_hash(problem)[:HASH_SIGNS],
        "tasks": len(problem.tasks),
        "days": problem.horizon // 1440,
    }


def compiled_before() -> dict[str, Any]:
    """Have the search's kernel compiled before anything is measured; say whether there is a compiler."""
    if compiled.is_available():
        compiled.compile_here()
    return {"is_compiled": compiled.is_available()}


def judged(problem: Problem, plan: Plan) -> Plan:
    """Return the plan, or raise BadPlan naming the first rules that it breaks."""
    broken = check(problem, plan).violations
    if broken:
        raise BadPlan("; ".join(violation.says for violation in broken[:3]))
    return plan


def outcome(problem: Problem, plan: Plan, began: float) -> dict[str, Any]:
    """Return what is told of a plan that was begun at a monotonic moment, once the check has passed it."""
    judged(problem, plan)
    return {
        "cost": plan.cost,
        "bound": plan.bound,
        "left": len(plan.left),
        "tasks": len(problem.tasks),
        "status": plan.status,
        "seconds": monotonic() - began,
    }


def of_schedule(schedule: Schedule, bound_units: int, began: float) -> dict[str, Any]:
    """Return the same of a schedule that is not a plan yet."""
    is_proved = bound_units >= schedule.units
    plan = as_plan(schedule, is_proved=is_proved, bound_units=bound_units, seconds=monotonic() - began)
    return outcome(schedule.board.problem, plan, began)


def planned(*, fields: int, seed: int, seconds: float, workers: int) -> dict[str, Any]:
    """Plan a farm; `first_seconds` is when there was a plan at all."""
    return _planned(farm_problem(fields=fields, seed=seed), seconds, workers)


def job_shop(*, name: str, seconds: float, workers: int) -> dict[str, Any]:
    """Plan a published job shop, whose cost in cents is its makespan."""
    return _planned(parse_problem(as_problem(shops()[name]["jobs"])), seconds, workers)


def _planned(problem: Problem, seconds: float, workers: int) -> dict[str, Any]:
    plans_at: list[float] = []

    def told(incumbent_cents: int | None, bound_cents: int | None) -> None:
        if incumbent_cents is not None and not plans_at:
            plans_at.append(monotonic())

    began = monotonic()
    plan = solve(problem, seconds=seconds, workers=workers, progress=told)
    first = plans_at[0] - began if plans_at else None
    return {**outcome(problem, plan, began), "first_seconds": first}


def greedy_alone(*, fields: int, seed: int) -> dict[str, Any]:
    """Plan a farm by construction alone, with the bound by parts."""
    problem = farm_problem(fields=fields, seed=seed)
    began = monotonic()
    board = Board(problem)
    return of_schedule(greedy.construct(board), lower_bound(board), began)


def exact_whole(*, fields: int, seed: int, at: Sequence[float], workers: int) -> dict[str, Any]:
    """Plan a farm with the exact model of all of it, from the greedy plan; `by` has the cost after each of `at`.

    Building the model counts. The costs are those of the plans that the library told of in time.
    """
    began = monotonic()
    board = Board(farm_problem(fields=fields, seed=seed))
    found = greedy.construct(board)
    told = [(monotonic() - began, found.units)]
    model = ExactPeer(board)
    bound_units = None
    if model.fits and monotonic() - began < max(at):
        ended = model.improve(
            found,
            until=began + max(at),
            seed=seed,
            workers=workers,
            told=lambda units: told.append((monotonic() - began, units)),
        )
        bound_units = ended.bound_units
        if ended.places is not None:
            found = _laid(board, ended.places)
    by = {}
    for limit in at:
        units = min((units for moment, units in told if moment <= limit), default=None)
        by[str(limit)] = {"cost": None if units is None else cents(units)}
    told_of = of_schedule(found, bound_units or 0, began)
    return {**told_of, "bound": None if bound_units is None else told_of["bound"], "by": by}


def _laid(board: Board, places: Sequence[Place | None]) -> Schedule:
    schedule = greedy.empty(board)
    for number in board.order:
        place = places[number]
        if place is not None:
            schedule.put(number, place)
    return schedule


def exact_pieces(*, fields: int, seed: int, at: Sequence[float], workers: int) -> dict[str, Any]:
    """Plan a farm by freeing small pieces to the exact model; `by` has the outcome after each of `at`."""
    problem = farm_problem(fields=fields, seed=seed)
    began = monotonic()
    pieces = Pieces(greedy.construct(Board(problem)), seed=seed, workers=workers)
    by = {}
    for limit in sorted(at):
        pieces.run(began + limit)
        by[str(limit)] = of_schedule(pieces.schedule, 0, began)
    return {**by[str(max(at))], "bound": None, "by": by, "pieces": pieces.pieces_done}
