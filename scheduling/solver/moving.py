"""One task of a plan put somewhere else by hand: what the rest of the plan does then, and what the whole costs.

All that can stay stays. What has to give way is planned again by a short search in which changing any other place has
a price, so that one move does not shuffle the week; the plan that comes of it is costed in the problem itself, without
those prices.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from random import Random
from typing import Any

from scheduling.solver.board import Board
from scheduling.solver.bounds import lower_bound
from scheduling.solver.check import check
from scheduling.solver.choices import PlanMismatchError, schedule_of
from scheduling.solver.greedy import fill
from scheduling.solver.plan import PlacedTask, Plan
from scheduling.solver.problem import Problem
from scheduling.solver.reading import parse_problem
from scheduling.solver.search import GOING_ON_LEGS, Search
from scheduling.solver.solving import as_plan, checked
from scheduling.solver.standing import restrict, variants
from scheduling.solver.starting import schedule_from

STAY_CENTS = 25_000
"""Farm judgement: what it is worth not to move another task for the sake of the moved one."""
ROUNDS = 1_500
NONE_FOUND = "With it there, no plan was found that still does what must be done in these days."
SEED = 1
OF_A_HOLD = ("fixed", "latest")


@dataclass(frozen=True, slots=True)
class Shift:
    """A task that the move puts elsewhere: where it was and where it is now, None where it is left."""

    task: str
    old: PlacedTask | None
    new: PlacedTask | None


@dataclass(frozen=True)
class Moved:
    """What comes of a move: the problem in which the task is fixed there, its plan, and what changes beside it.

    `plan` is None where the task cannot stand there; `why_not` then says why, in the ids of the problem.
    `cost_before_cents` is what the plan before costs in the same problem without the move.
    """

    document: dict[str, Any]
    plan: Plan | None
    cost_before_cents: int
    shifts: tuple[Shift, ...] = ()
    why_not: str = ""

    @property
    def more_cents(self) -> int:
        """What the plan costs more with the move; below 0 where it costs less."""
        assert self.plan is not None
        assert self.plan.cost is not None
        return self.plan.cost - self.cost_before_cents


def move_task(
    document: Mapping[str, Any],
    plan: Plan,
    *,
    task: str,
    mode: str,
    start: int,
    before_min: int = 0,
    sent: bool = False,
    rounds: int = ROUNDS,
) -> Moved:
    """Return what comes of a plan of a problem in its JSON form when one of its tasks is fixed in a mode at a minute.

    What begins before `before_min` is over or at work, and stays where it is. With `sent`, the plan is one that was
    sent: its places are what changing costs are reckoned from. The same call gives the same answer.
    KeyError for a task that the problem has not; ProblemError where the mode is none of the task's.
    """
    before = _from_where_it_stands(document, plan, task) if sent else dict(document)
    cost_before = _cost(parse_problem(before), plan)
    placed = {one.id: one for one in plan.tasks}
    after = _with_row(before, task, lambda row: _fixed_at(row, mode, start))
    problem = parse_problem(after)
    searched = parse_problem(_staying(after, placed, moved=task, before_min=before_min))
    begin = Plan("good", None, None, 0.0, None, _begun(plan, task, mode, start))
    found = _searched(searched, begin, rounds)
    if found is None:
        return Moved(after, None, cost_before, why_not=NONE_FOUND)
    left = next((one.why for one in found.left if one.id == task), "")
    if left:
        return Moved(after, None, cost_before, why_not=left)
    answer = _in_its_own_problem(problem, found)
    now = {one.id: one for one in answer.tasks}
    shifts = tuple(
        Shift(one.id, placed.get(one.id), now.get(one.id))
        for one in problem.tasks
        if one.id != task and _where(placed.get(one.id)) != _where(now.get(one.id))
    )
    return Moved(after, answer, cost_before, shifts)


def _searched(problem: Problem, begin: Plan, rounds: int) -> Plan | None:
    """Return the best plan found from one that stands already; None where none does all that must be done.

    There is no proof and no bound to work out, which a longer search would spend most of its time on.
    """
    whole, best = Board(problem), None
    for variant in variants(whole):
        board = restrict(whole, variant)
        schedule = schedule_from(board, begin)
        fill(schedule, [number for number in board.order if schedule.places[number] is None])
        search = Search(schedule, Random(SEED))
        search.run(until=None, rounds=rounds, enough_units=lower_bound(board), legs=GOING_ON_LEGS)
        if search.is_complete and (best is None or search.best[2] < best.best[2]):
            best = search
    if best is None:
        return None
    best.schedule.restore(best.best)
    return as_plan(best.schedule, is_proved=False, bound_units=0, seconds=0.0)


def _where(placed: PlacedTask | None) -> tuple[str, int] | None:
    return None if placed is None else (placed.mode, placed.start)


def _begun(plan: Plan, task: str, mode: str, start: int) -> tuple[PlacedTask, ...]:
    others = tuple(one for one in plan.tasks if one.id != task)
    return (*others, PlacedTask(task, mode, start, start + 1))


def _fixed_at(row: dict[str, Any], mode: str, start: int) -> dict[str, Any]:
    """Return the row of a task held to a mode and a minute, and to nothing that it was held to before."""
    kept = {key: value for key, value in row.items() if key not in OF_A_HOLD}
    if "latest" in row and row["latest"] == row["earliest"]:
        kept["earliest"] = min(row["earliest"], start)
    return kept | {"fixed": {"mode": mode, "from": start}}


def _with_row(document: Mapping[str, Any], task: str, change: Any) -> dict[str, Any]:
    if all(row["id"] != task for row in document["tasks"]):
        raise KeyError(task)
    rows = [change(row) if row["id"] == task else row for row in document["tasks"]]
    return {**document, "tasks": rows}


def _from_where_it_stands(document: Mapping[str, Any], plan: Plan, moved: str) -> dict[str, Any]:
    """Return the problem with the places of a sent plan as what was sent; the moved task is free to go."""
    placed = {one.id: one for one in plan.tasks}
    rows = []
    for row in document["tasks"]:
        bare = {key: value for key, value in row.items() if key != "was"}
        stands = placed.get(row["id"])
        if stands is not None and row["id"] != moved:
            cents = max(STAY_CENTS, row.get("was", {}).get("change_cents", 0))
            bare["was"] = {"mode": stands.mode, "from": stands.start, "change_cents": cents}
        rows.append(bare)
    return {**document, "tasks": rows}


def _staying(
    document: Mapping[str, Any], placed: Mapping[str, PlacedTask], *, moved: str, before_min: int
) -> dict[str, Any]:
    """Return the problem to search in: what has begun is fixed, and what stands has a price to be moved."""
    rows = []
    for row in document["tasks"]:
        stands = placed.get(row["id"])
        if stands is None or row["id"] == moved:
            rows.append({key: value for key, value in row.items() if key != "was"})
            continue
        here = {"mode": stands.mode, "from": stands.start}
        told = {**row, "was": {**here, "change_cents": STAY_CENTS}}
        if stands.start < before_min and "under_way" not in row:
            told["fixed"] = here
        rows.append(told)
    return {**document, "tasks": rows}


def _in_its_own_problem(problem: Problem, found: Plan) -> Plan:
    schedule = schedule_of(problem, found)
    bound = min(lower_bound(schedule.board), schedule.units)
    return checked(problem, as_plan(schedule, is_proved=False, bound_units=bound, seconds=found.seconds))


def _cost(problem: Problem, plan: Plan) -> int:
    """Return what a plan costs in a problem, told by the check; PlanMismatchError where it is none of it."""
    result = check(problem, plan)
    if result.cost is None:
        raise PlanMismatchError("The plan before is none of this problem.")
    return result.cost
