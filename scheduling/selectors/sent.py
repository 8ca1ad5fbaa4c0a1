"""Where the sent plan had each task: so that a plan made anew changes only what it must."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from farmops.farms.operations import Operation
from scheduling.models import FieldPass, PassState, PlannedTask, WeekPlan
from scheduling.selectors.horizon import Horizon

CHANGE_SOON_CENTS = 10_000  # farm judgement: what it is worth not to change the first day of a sent plan
CHANGE_LATER_CENTS = 2_000  # farm judgement: the same for its later days
SOON_MIN = 1_440


@dataclass(frozen=True)
class Sent:
    """The tasks of a sent plan by their id, seen from the start of the plan being made."""

    horizon: Horizon
    tasks: Mapping[str, PlannedTask]

    def modes_of(self, field_pass_id: int) -> set[str]:
        """Return the outfits that the sent plan has for a pass."""
        return {task.mode for task in self.tasks.values() if task.field_pass_id == field_pass_id}

    def standing(
        self, task_id: str, field_pass: FieldPass, *, modes: Mapping[str, Mapping[str, Any]], waits: bool
    ) -> dict[str, Any]:
        """Return `under_way` for a task that had begun and is not done, else its `was`, else nothing.

        A task that still `waits` for another has not begun, whatever the hour says.
        """
        task = self.tasks.get(task_id)
        if task is None:
            return {}
        begins = self.horizon.after(task.starts_at)
        is_due_to_run = begins < 0 < self.horizon.before(task.ends_at) and task.mode in modes
        if is_due_to_run and _has_begun(field_pass) and not waits:
            mode = modes[task.mode]
            left = mode["minutes"]
            if field_pass.operation == Operation.PIVOT_WALK:
                left = min(left, self.horizon.before(task.ends_at))
            return {
                "under_way": {
                    "mode": task.mode,
                    "minutes_left": left,
                    "cents_left": mode["cents"],
                    "held_for": -begins,
                }
            }
        change = CHANGE_SOON_CENTS if begins < SOON_MIN else CHANGE_LATER_CENTS
        return {"was": {"mode": task.mode, "from": begins, "change_cents": change}}


def sent_tasks(*, plan: WeekPlan | None, horizon: Horizon) -> Sent:
    """Return the tasks of the sent plan that had not ended when the new plan begins."""
    if plan is None:
        return Sent(horizon, {})
    rows = PlannedTask.objects.filter(plan=plan, ends_at__gt=horizon.start).select_related("field_pass")
    return Sent(horizon, {task.task_key: task for task in rows})


def _has_begun(field_pass: FieldPass) -> bool:
    """A walk begins by itself once its start is done; other work has begun when somebody reported a part of it."""
    return field_pass.state == PassState.UNDER_WAY or field_pass.operation == Operation.PIVOT_WALK
