"""Why a stored plan has each task when it does, what the next best choice would cost, and why others are left."""

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from scheduling.models import WeekPlan
from scheduling.selectors.plan_documents import digest_of, made_once
from scheduling.selectors.said_again import limits_of_plan, said_again
from scheduling.selectors.speaking import speaking
from scheduling.selectors.spoken import names_of_plan
from scheduling.selectors.worked_out import worked_out
from scheduling.solver import ProblemError, parse_problem
from scheduling.solver.choices import PlanMismatchError
from scheduling.solver.plan import from_json
from scheduling.solver.reasons import explain, to_json

SHUT_UNTIL = re.compile(r"It is shut until [^.]+\.")
NONE: dict[str, Any] = {"format": "plan-reasons/1", "tasks": [], "left": []}


@dataclass(frozen=True)
class _Same:
    """Names that are the same only where they were made once: comparing thousands is dearer than telling anew."""

    names: Mapping[str, str]

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and other.names is self.names

    def __hash__(self) -> int:
        return id(self.names)


@dataclass(frozen=True)
class Why:
    """What is told of one task: why then, and the next best choices, each a sentence."""

    says: str
    next_best: tuple[str, ...]


def reasons_of(*, plan: WeekPlan) -> dict[str, Any]:
    """Return the reasons of a plan as `plan-reasons/1`, in the names of the farm's records.

    They are worked out from the stored problem and plan; where hours are shut, they tell by which limit. A plan whose problem was stored in an older form has none.
    """
    names = names_of_plan(plan=plan)

    def make() -> dict[str, Any]:
        try:
            return to_json(explain(parse_problem(plan.problem), from_json(plan.plan), names=names))
        except (ProblemError, PlanMismatchError):
            return NONE

    return _with_limits(worked_out("plan-reasons-4", [digest_of(plan=plan), names], make), plan)


def why_each(*, plan: WeekPlan) -> Mapping[str, Why]:
    """Return for each task of a plan, standing or left, why it is so and what else could be, by its id, in the reader's
    language.
    """
    names = names_of_plan(plan=plan)

    def make() -> dict[str, Why]:
        told, limits = reasons_of(plan=plan), limits_of_plan(plan=plan)
        return {row["id"]: _in_language(_why(row), limits) for row in (*told["tasks"], *told["left"])}

    return made_once(plan, f"whys-{speaking()}", make, of=_Same(names))


def _in_language(why: Why, limits: Mapping[str, str]) -> Why:
    return Why(
        _capital(said_again(why.says, limits=limits)),
        tuple(_capital(said_again(says, limits=limits)) for says in why.next_best),
    )


def _with_limits(told: dict[str, Any], plan: WeekPlan) -> dict[str, Any]:
    """Return reasons in which shut hours are told by the limit that shuts them, as the plan's windows have it."""
    shut = {row["pass"]: row["shut"] for row in plan.windows.get("passes", [])}
    begins = {row["id"]: row["from"] for row in plan.plan.get("tasks", [])}

    def limited(row: dict[str, Any]) -> dict[str, Any]:
        stretches = shut.get(row["id"].partition("#")[0], [])
        return {**row, "says": _with_limit(row, stretches, begins.get(row["id"]))}

    return {
        **told,
        "tasks": [limited(row) for row in told["tasks"]],
        "left": [limited(row) for row in told["left"]],
    }


def _with_limit(row: dict[str, Any], shut: list[dict[str, Any]], begins: int | None) -> str:
    """Return the sentence of a reason, with the limit that shuts the hours it tells of."""
    says: str = row["says"]
    if begins is None:
        limit = _shuts_longest(shut) if row["cause"] == "never" else ""
        return f"{says} Shut for longest: {limit}." if limit else says
    before = [one for one in shut if one["to"] <= begins]
    limit = _short(max(before, key=lambda one: one["to"])["says"]) if before else ""
    return SHUT_UNTIL.sub(lambda found: f"{found[0]} {_capital(limit)}.", says) if limit else says


def _shuts_longest(shut: list[dict[str, Any]]) -> str:
    """Return in words the limit that shuts the most of these days; "" where nothing does."""
    minutes: Counter[str] = Counter()
    for one in shut:
        minutes[one["limit"]] += one["to"] - one["from"]
    if not minutes:
        return ""
    limit = minutes.most_common(1)[0][0]
    longest = max((one for one in shut if one["limit"] == limit), key=lambda one: one["to"] - one["from"])
    return _short(longest["says"])


def _short(says: str) -> str:
    """Return the limit alone of what is said of shut hours, without when they end."""
    return says.partition(";")[0]


def _why(row: dict[str, Any]) -> Why:
    """Return what is told of a task, each choice once: the reason itself may name one already."""
    others = [row[name]["says"] for name in ("next_best", "other_outfit", "other_day") if row.get(name)]
    new = [says for says in dict.fromkeys(others) if says.lower() not in row["says"].lower()]
    return Why(_capital(row["says"]), tuple(_capital(says) for says in new))


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
