"""The hours of a task are read out of a plan once, and anew when the plan has other ones."""

import datetime as dt
from typing import Any

from farmops.farms.models import Farm
from scheduling.models import PlannedTask, WeekPlan
from scheduling.selectors.plans import worked_hours

START = dt.datetime(2026, 4, 20, 11, tzinfo=dt.UTC)
MINUTE = dt.timedelta(minutes=1)


def answer(ends_min: int) -> dict[str, Any]:
    return {"tasks": [{"id": "disk", "mode": "with-hand", "from": 0, "to": ends_min}]}


def test_hours_follow_the_plan_its_start_and_its_documents() -> None:
    all_day = [{"from": 0, "to": 600}]
    plan = WeekPlan(
        farm=Farm(zone="America/New_York"),
        starts_at=START,
        days=7,
        problem={
            "tasks": [{"id": "disk", "open": all_day, "modes": [{"id": "with-hand", "resources": ["hand"]}]}],
            "resources": [{"id": "hand", "calendar": all_day}],
        },
        plan=answer(90),
    )
    task = PlannedTask(task_key="disk")
    first = worked_hours(plan=plan, task=task)
    assert first == [(START, START + 90 * MINUTE)]
    first.clear()  # what was given is the asker's own
    assert worked_hours(plan=plan, task=task) == [(START, START + 90 * MINUTE)]
    plan.plan = answer(120)
    assert worked_hours(plan=plan, task=task) == [(START, START + 120 * MINUTE)]
    plan.starts_at = START + MINUTE
    assert worked_hours(plan=plan, task=task) == [(START + MINUTE, START + 121 * MINUTE)]
