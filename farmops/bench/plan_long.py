"""Looking long for the cheapest plan of a farm, by any method, so that a short run has something to be held against."""

from time import monotonic
from typing import Any

from farmops.bench.plan_measures import farm_problem, judged
from farmops.bench.plan_pieces import Pieces
from scheduling.solver import Plan, solve
from scheduling.solver.board import Board
from scheduling.solver.solving import as_plan
from scheduling.solver.starting import schedule_from

LEG_SHARE, PIECES_SHARE = 0.2, 0.25


def cheapest(*, fields: int, seed: int, minutes: float, workers: int) -> dict[str, Any]:
    """Search for so many minutes: afresh with several seeds, on from the best, then by small pieces from the best."""
    problem = farm_problem(fields=fields, seed=seed)
    began = monotonic()
    whole = minutes * 60
    best: tuple[Plan, str] | None = None

    def look(method: str, found: Plan) -> None:
        nonlocal best
        judged(problem, found)
        assert found.cost is not None
        if best is None or best[0].cost is None or found.cost < best[0].cost:
            best = (found, method)

    leg = 0
    while (passed := monotonic() - began) < whole * (1 - PIECES_SHARE):
        seconds = min(whole * LEG_SHARE, whole * (1 - PIECES_SHARE) - passed)
        if seconds < 0.5:
            break
        leg += 1
        # Every second leg goes on from the best; the others begin afresh, so that one bad turn does not decide.
        start = best[0] if best is not None and leg % 2 == 0 else None
        look("search", solve(problem, seconds=seconds, seed=leg, workers=workers, start=start))
    assert best is not None
    pieces = Pieces(schedule_from(Board(problem), best[0]), seed=seed, workers=workers)
    pieces.run(began + whole)
    look(
        "search, then pieces by the exact model",
        as_plan(pieces.schedule, is_proved=False, bound_units=0, seconds=0),
    )
    plan, method = best
    return {
        "cost": plan.cost,
        "method": method,
        "left": len(plan.left),
        "minutes": (monotonic() - began) / 60,
    }
