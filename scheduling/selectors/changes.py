"""A stored plan beside the sent one that it changes: what moves, whether it had to, and what the change saves."""

import datetime as dt
from typing import Any

from scheduling.models import PlanState, WeekPlan
from scheduling.selectors.plans import sent_plan
from scheduling.selectors.spoken import names_of
from scheduling.selectors.worked_out import worked_out
from scheduling.solver import ProblemError, parse_problem
from scheduling.solver.choices import PlanMismatchError
from scheduling.solver.compare import compare, to_json
from scheduling.solver.plan import from_json


def plan_before(*, plan: WeekPlan) -> WeekPlan | None:
    """Return the plan that a plan is to be read beside: of one not sent, the sent one; of a sent one, what it was made against.

    A plan whose days are over when the other's begin is no plan to be beside of.
    """
    before = sent_plan(farm=plan.farm) if plan.state == PlanState.MADE else plan.against
    if before is None or before.pk == plan.pk:
        return None
    return before if before.starts_at + dt.timedelta(days=before.days) > plan.starts_at else None


def changes_of(*, plan: WeekPlan, before: WeekPlan) -> dict[str, Any] | None:
    """Return what a plan changes of another as `plan-changes/1`, in the names of the farm's records.

    None where one of the two was stored in an older form, so that they cannot be laid side by side.
    """
    names = names_of_both(plan=plan, before=before)

    def make() -> dict[str, Any]:
        try:
            told = compare(
                parse_problem(before.problem),
                from_json(before.plan),
                parse_problem(plan.problem),
                from_json(plan.plan),
                names=names,
            )
        except (ProblemError, PlanMismatchError):
            return {}
        return to_json(told)

    made_from = [before.problem, before.plan, plan.problem, plan.plan, names]
    return worked_out("plan-changes-1", made_from, make) or None


def names_of_both(*, plan: WeekPlan, before: WeekPlan) -> dict[str, str]:
    """Return what people call the ids of two plans' problems."""
    return names_of(farm=plan.farm, problem=before.problem) | names_of(farm=plan.farm, problem=plan.problem)
