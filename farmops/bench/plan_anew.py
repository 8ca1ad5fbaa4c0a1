"""Planning anew after a wet half day, measured: how long it takes, and how much of the plan it moves.

The farm's plan is made, then rain shuts the afternoon of the second day on every field, and the farm is planned again
with the first plan as the one that was sent. A pass had to change when it cannot stand where it was: its start is gone,
or it now lasts so long that it runs into another that stands too. Of two that run into each other one had to change.
"""

from dataclasses import replace
from time import monotonic
from typing import Any

from farmops.bench.plan_measures import farm_problem, judged
from scheduling.solver import Plan, Problem, solve
from scheduling.solver.board import Board
from scheduling.solver.line import Line, Stop
from scheduling.solver.problem import OpenStretch, Task, Was

WET_FROM_MIN, WET_TO_MIN = 1440 + 780, 2 * 1440
SOON_MIN = 1440
CHANGE_SOON_CENTS, CHANGE_LATER_CENTS = 10_000, 2_000
"""What a change of the first day and of later days costs where a week plan was sent."""


def after_rain(problem: Problem, sent: Plan) -> Problem:
    """Return the problem with the wet half day shut on the fields, and the sent plan as what was."""
    was = {placed.id: placed for placed in sent.tasks}
    tasks = []
    for task in problem.tasks:
        changed = task
        if task.operation != "move":
            changed = replace(changed, open=_without_wet(task))
        if (placed := was.get(task.id)) is not None:
            change = CHANGE_SOON_CENTS if placed.start < SOON_MIN else CHANGE_LATER_CENTS
            changed = replace(changed, was=Was(placed.mode, placed.start, change))
        tasks.append(changed)
    return replace(problem, tasks=tuple(tasks))


def _without_wet(task: Task) -> tuple[OpenStretch, ...]:
    found = []
    for stretch in task.open:
        for start, end in ((stretch.start, WET_FROM_MIN), (WET_TO_MIN, stretch.end)):
            start, end = max(start, stretch.start), min(end, stretch.end)
            if start < end:
                found.append(replace(stretch, start=start, end=end))
    return tuple(found)


def had_to(problem: Problem, sent: Plan) -> int:
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
    now = {placed.id: (placed.mode, placed.start) for placed in anew.tasks}
    changed = sum(now.get(placed.id) != (placed.mode, placed.start) for placed in sent.tasks)
    return {
        "seconds": took,
        "changed": changed,
        "had_to": had_to(wet, sent),
        "planned": len(sent.tasks),
        "cost": anew.cost,
        "bound": anew.bound,
        "left": len(anew.left),
    }
