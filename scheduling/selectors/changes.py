"""A stored plan beside the sent one that it changes: what moves, whether it had to, and what the change saves."""

import datetime as dt
import re
from collections.abc import Mapping
from typing import Any

from scheduling.models import PlanState, WeekPlan
from scheduling.selectors.passes import field_names, keys_in_words
from scheduling.selectors.plan_documents import digest_of, with_documents, without_documents
from scheduling.selectors.plans import ALL_REPORTED, sent_plan_in_short
from scheduling.selectors.speaking import speaking
from scheduling.selectors.spoken import names_of_plan
from scheduling.selectors.worked_out import worked_out
from scheduling.solver import ProblemError, parse_problem
from scheduling.solver.choices import PlanMismatchError
from scheduling.solver.compare import compare, counted, to_json
from scheduling.solver.explain import moment
from scheduling.solver.plan import from_json

HAD_TO = " It had to: "


def plan_before(*, plan: WeekPlan) -> WeekPlan | None:
    """Return the plan that a plan is to be read beside: of one not sent, the sent one; of a sent one, what it was made against.

    A plan whose days are over when the other's begin is no plan to be beside of.
    """
    if plan.state == PlanState.MADE:
        before = sent_plan_in_short(farm=plan.farm)
    else:
        before = without_documents().get(pk=plan.against_id) if plan.against_id is not None else None
    if before is None or before.pk == plan.pk:
        return None
    if before.starts_at + dt.timedelta(days=before.days) <= plan.starts_at:
        return None
    before.farm = plan.farm
    return with_documents(plan=before)


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

    made_from = [digest_of(plan=before), digest_of(plan=plan), names]
    told = worked_out("plan-changes-3", made_from, make)
    return _with_names(_with_what_none_can_do(told, plan, names), names) if told else None


def _with_names(told: dict[str, Any], names: Mapping[str, str]) -> dict[str, Any]:
    """Return the changes with a reason that begins with a name as the name is written, though a colon is before it."""
    capital = "|".join(re.escape(name) for name in names.values() if name[:1].isupper())
    begins = re.compile(rf"(?:{capital})(?!\w)") if capital else None
    rows = []
    for row in told["tasks"]:
        before, colon, reason = row["says"].partition(HAD_TO)
        written = f"{reason[:1].upper()}{reason[1:]}"
        is_name = begins is not None and begins.match(written)
        rows.append({**row, "says": f"{before}{colon}{written}"} if is_name else row)
    return {**told, "tasks": rows}


def _with_what_none_can_do(told: dict[str, Any], plan: WeekPlan, names: Mapping[str, str]) -> dict[str, Any]:
    """Return the changes with what is no task any more because nobody and nothing here can do it told as left."""
    whys = dict(plan.not_offered)
    rows = [_left_or_gone(row, whys.get(row["id"].partition("#")[0]), plan, names) for row in told["tasks"]]
    more = sum(now is not was for now, was in zip(rows, told["tasks"]))
    if not more:
        return told
    changed, had_to = told["changed"] + more, told["had_to"] + more
    of = sum(row["kind"] != "gone" for row in rows)
    rest = told["says"].removeprefix(counted(told["changed"], of - more, told["had_to"]))
    return {
        **told,
        "changed": changed,
        "had_to": had_to,
        "says": counted(changed, of, had_to) + rest,
        "tasks": rows,
    }


def _left_or_gone(
    row: dict[str, Any], why: str | None, plan: WeekPlan, names: Mapping[str, str]
) -> dict[str, Any]:
    if row["kind"] != "gone" or row["old"] is None or why is None or ALL_REPORTED in why:
        return row
    at = moment(parse_problem(plan.problem), row["old"]["from"])
    outfit = names.get(row["old"]["mode"], row["old"]["mode"])
    reason = keys_in_words(why, names=field_names(farm=plan.farm), language=speaking())
    says = f"It was planned for {at} with {outfit}, and is now left.{HAD_TO}{reason[:1].lower()}{reason[1:]}"
    return {**row, "kind": "left", "had_to": True, "rule": "modes", "says": says}


def names_of_both(*, plan: WeekPlan, before: WeekPlan) -> dict[str, str]:
    """Return what people call the ids of two plans' problems."""
    return {**names_of_plan(plan=before), **names_of_plan(plan=plan)}
