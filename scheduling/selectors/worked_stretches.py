"""The minutes in which planned tasks are worked, read out of a plan and the problem that it answers."""

import datetime as dt
from dataclasses import dataclass, field
from typing import Any

from scheduling.models import WeekPlan
from scheduling.selectors.horizon import Stretch, overlap
from scheduling.selectors.plan_documents import made_once

Hours = tuple[tuple[dt.datetime, dt.datetime], ...]


@dataclass(frozen=True)
class Worked:
    """What a plan's documents say of tasks and resources, by their ids.

    `hours` keeps the instants in which a task is worked by that of the plan's start: they follow from both and nothing else.
    """

    planned: dict[str, dict[str, Any]]
    tasks: dict[str, dict[str, Any]]
    calendars: dict[str, list[Stretch]]
    hours: dict[tuple[dt.datetime, str], Hours] = field(default_factory=dict, compare=False)

    @classmethod
    def of(cls, problem: dict[str, Any], plan: dict[str, Any]) -> "Worked":
        return cls(
            {row["id"]: row for row in plan["tasks"]},
            {row["id"]: row for row in problem["tasks"]},
            {row["id"]: _stretches(row["calendar"]) for row in problem["resources"]},
        )

    def worked(self, task_id: str) -> list[Stretch]:
        planned, task = self.planned[task_id], self.tasks[task_id]
        mode = next(row for row in task["modes"] if row["id"] == planned["mode"])
        workable = [Stretch(planned["from"], planned["to"])]
        for stretches in (_stretches(task["open"]), *(self.calendars[one] for one in mode["resources"])):
            workable = overlap(workable, stretches)
        return _joined(workable)


def _stretches(rows: list[dict[str, Any]]) -> list[Stretch]:
    return [Stretch(row["from"], row["to"]) for row in rows]


def worked_of(plan: WeekPlan) -> Worked:
    """Return what a plan's documents say, put in order once for each plan that was read."""
    kept: tuple[Any, Any, Worked] | None = plan.__dict__.get("_documents")
    if kept is None or kept[0] is not plan.problem or kept[1] is not plan.plan:
        told = made_once(plan, "documents", lambda: Worked.of(plan.problem, plan.plan))
        kept = plan.problem, plan.plan, told
        plan.__dict__["_documents"] = kept
    return kept[2]


def worked_stretches(*, problem: dict[str, Any], plan: dict[str, Any], task_id: str) -> list[Stretch]:
    """Return the minutes in which a planned task is worked, by the problem that its plan answers."""
    return Worked.of(problem, plan).worked(task_id)


def _joined(stretches: list[Stretch]) -> list[Stretch]:
    joined: list[Stretch] = []
    for one in stretches:
        if joined and joined[-1].to_min == one.from_min:
            joined[-1] = Stretch(joined[-1].from_min, one.to_min)
        else:
            joined.append(one)
    return joined
