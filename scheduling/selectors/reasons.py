"""Why a stored plan has each task when it does, what the next best choice would cost, and why others are left."""

from dataclasses import dataclass
from typing import Any

from scheduling.models import WeekPlan
from scheduling.selectors.spoken import names_of
from scheduling.selectors.worked_out import worked_out
from scheduling.solver import ProblemError, parse_problem
from scheduling.solver.choices import PlanMismatchError
from scheduling.solver.plan import from_json
from scheduling.solver.reasons import explain, to_json

NONE: dict[str, Any] = {"format": "plan-reasons/1", "tasks": [], "left": []}


@dataclass(frozen=True)
class Why:
    """What is told of one task: why then, and the next best choices, each a sentence."""

    says: str
    next_best: tuple[str, ...]


def reasons_of(*, plan: WeekPlan) -> dict[str, Any]:
    """Return the reasons of a plan as `plan-reasons/1`, in the names of the farm's records.

    They are worked out from the stored problem and plan. A plan whose problem was stored in an older form has none.
    """
    names = names_of(farm=plan.farm, problem=plan.problem)

    def make() -> dict[str, Any]:
        try:
            return to_json(explain(parse_problem(plan.problem), from_json(plan.plan), names=names))
        except (ProblemError, PlanMismatchError):
            return NONE

    return worked_out("plan-reasons-1", [plan.problem, plan.plan, names], make)


def why_each(*, plan: WeekPlan) -> dict[str, Why]:
    """Return for each task of a plan, standing or left, why it is so and what else could be, by its id."""
    told = reasons_of(plan=plan)
    return {row["id"]: _why(row) for row in (*told["tasks"], *told["left"])}


def _why(row: dict[str, Any]) -> Why:
    """Return what is told of a task, each choice once: the reason itself may name one already."""
    others = [row[name]["says"] for name in ("next_best", "other_outfit", "other_day") if row.get(name)]
    new = [says for says in dict.fromkeys(others) if says.lower() not in row["says"].lower()]
    return Why(_capital(row["says"]), tuple(_capital(says) for says in new))


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
