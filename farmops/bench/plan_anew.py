"""Planning anew after a wet half day, measured: how long it takes, and how much of the plan it moves.

The farm's plan is made and sent, then on its first morning rain is told for the afternoon of the second day on every
field, and the farm is planned again; changes cost what they do where a week plan was sent, and what was sent for the
first day stays unless it cannot. How many passes had to change is the fewest that a plan changes which the planner makes
when every change is dearer than all else; beside it stand two counts from below: the passes whose own old place breaks a
rule, by the planner's comparison of the two plans, and what no plan can keep (a pass whose start is gone, or one of two
that now run into each other), whatever waits for those passes.
"""

from dataclasses import replace
from time import monotonic
from typing import Any

from farmops.bench.plan_measures import farm_problem, judged
from scheduling.solver import Plan, Problem, solve
from scheduling.solver.board import Board
from scheduling.solver.compare import compare
from scheduling.solver.keeping import Prices, prices_of_change
from scheduling.solver.line import Line, Stop
from scheduling.solver.problem import OpenStretch, Task, Was

WET_FROM_MIN, WET_TO_MIN = 1440 + 780, 2 * 1440
PRICES = Prices(today_until_min=1440, soon_until_min=1440, soon_cents=30_000, later_cents=25_000)
"""What changes cost where a week plan was sent."""
STILL = Prices(today_until_min=1440, soon_until_min=1440, soon_cents=1_000_000, later_cents=1_000_000)
"""What they cost where nothing is worth a change."""


def after_rain(problem: Problem, sent: Plan, *, prices: Prices = PRICES) -> Problem:
    """Return the problem with the wet half day shut on the fields, and the sent plan as what was."""
    was = {placed.id: Was(placed.mode, placed.start, 0) for placed in sent.tasks}
    tasks = [
        replace(
            task, was=was.get(task.id), open=task.open if task.operation == "move" else _without_wet(task)
        )
        for task in problem.tasks
    ]
    cents_of = prices_of_change(replace(problem, tasks=tuple(tasks)), prices)
    priced = [
        task if task.was is None else replace(task, was=replace(task.was, change_cents=cents_of[task.id]))
        for task in tasks
    ]
    return replace(problem, tasks=tuple(priced))


def _without_wet(task: Task) -> tuple[OpenStretch, ...]:
    found = []
    for stretch in task.open:
        for start, end in ((stretch.start, WET_FROM_MIN), (WET_TO_MIN, stretch.end)):
            start, end = max(start, stretch.start), min(end, stretch.end)
            if start < end:
                found.append(replace(stretch, start=start, end=end))
    return tuple(found)


def had_to_at_least(problem: Problem, sent: Plan) -> int:
    """Return how many of the sent plan's passes cannot all stand where they were, at the least."""
    board = Board(problem)
    stands: dict[int, tuple[Stop, tuple[int, ...]]] = {}
    gone = 0
    for placed in sent.tasks:
        number = board.job_no[placed.id]
        way = next((way for way in board.jobs[number].ways if way.mode.id == placed.mode), None)
        if way is None or placed.start not in way.options.starts:
            gone += 1
            continue
        end = way.options.ends[way.options.starts.index(placed.start)]
        stands[number] = Stop(number, placed.start, end, way.place, way.setup), way.resources
    return gone + _pairs(board, stands)


def _pairs(board: Board, stands: dict[int, tuple[Stop, tuple[int, ...]]]) -> int:
    """Return how many pairs, none sharing a pass, cannot stand together."""
    clashes = []
    for number, (stop, _) in stands.items():
        for ahead, least, _ in board.jobs[number].before:
            if ahead in stands and stands[ahead][0].end + least > stop.start:
                clashes.append((ahead, number))
    for resource, road in enumerate(board.roads):
        stops = sorted(
            (stop for stop, resources in stands.values() if resource in resources),
            key=lambda stop: stop.start,
        )
        line = Line(road, board.horizon, tuple(stops))
        for index in range(1, len(stops)):
            one, other = stops[index - 1], stops[index]
            room = road.clock.before(other.start) - road.clock.before(min(one.end, other.start))
            if other.start < one.end or room < line.needed(index):
                clashes.append((one.job, other.job))
    taken: set[int] = set()
    pairs = 0
    for pair in clashes:
        if taken.isdisjoint(pair):
            taken.update(pair)
            pairs += 1
    return pairs


def passes_changed(sent: Plan, anew: Plan) -> int:
    """Return how many passes of the sent plan are left, or stand with another outfit or at another hour."""
    now = {placed.id: (placed.mode, placed.start) for placed in anew.tasks}
    return sum(now.get(placed.id) != (placed.mode, placed.start) for placed in sent.tasks)


def planned_anew(
    *, fields: int, seed: int, first_seconds: float, seconds: float, workers: int
) -> dict[str, Any]:
    """Plan a farm, let it rain, plan it again."""
    problem = farm_problem(fields=fields, seed=seed)
    sent = judged(problem, solve(problem, seconds=first_seconds, workers=workers))
    wet = after_rain(problem, sent)
    began = monotonic()
    anew = solve(wet, seconds=seconds, workers=workers, start=sent)
    took = monotonic() - began
    judged(wet, anew)
    dear = after_rain(problem, sent, prices=STILL)
    still = judged(dear, solve(dear, seconds=seconds, workers=workers, start=sent))
    changed = passes_changed(sent, anew)
    return {
        "seconds": took,
        "changed": changed,
        "had_to": min(changed, passes_changed(sent, still)),
        "broken": compare(problem, sent, wet, anew).had_to,
        "had_to_at_least": had_to_at_least(wet, sent),
        "planned": len(sent.tasks),
        "cost": anew.cost,
        "bound": anew.bound,
        "left": len(anew.left),
    }
