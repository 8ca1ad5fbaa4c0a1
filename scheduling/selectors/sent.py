"""Where the sent plan had each task: so that a plan made anew changes only what it must.

What is under way or was sent for today stays unless it cannot; of the later days each change has its price
(`scheduling.solver.keeping`).
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from farmops.core.clock import local_date
from farmops.farms.operations import ALONE
from scheduling.models import FieldPass, PassState, PlannedTask, WeekPlan
from scheduling.selectors.horizon import Horizon, Stretch
from scheduling.selectors.task_rows import STEP_MIN
from scheduling.selectors.worked_stretches import worked_stretches
from scheduling.solver import Plan, parse_problem
from scheduling.solver.keeping import Prices, prices_of_change
from scheduling.solver.plan import PlacedTask

CHANGE_SOON_CENTS = 30_000  # farm judgement: what it is worth not to change the first day of a sent plan
CHANGE_LATER_CENTS = 25_000  # farm judgement: the same for its later days
SOON_MIN = 1_440


@dataclass(frozen=True)
class Sent:
    """The tasks of a sent plan by their id, seen from the start of the plan being made.

    Nothing can begin before `soonest_min`: on the day itself that is the minute at which the plan is made.
    """

    horizon: Horizon
    tasks: Mapping[str, PlannedTask]
    soonest_min: int = 0

    def modes_of(self, field_pass_id: int) -> set[str]:
        """Return the outfits that the sent plan has for a pass."""
        return {task.mode for task in self.tasks.values() if task.field_pass_id == field_pass_id}

    def stands_in_field(self, task_id: str, field_pass: FieldPass, *, waits: bool) -> str | None:
        """Return the outfit that stands in the field, at work or at rest, because the task had begun."""
        task = self.tasks.get(task_id)
        if task is None or waits or not _has_begun(field_pass):
            return None
        return task.mode if self.horizon.after(task.starts_at) < self.soonest_min else None

    def standing(
        self, task_id: str, field_pass: FieldPass, *, row: Mapping[str, Any], waits: bool
    ) -> dict[str, Any]:
        """Return where a task of the problem was: `under_way` if it is being worked at minute 0, and its `was`, if any.

        What changing it costs is put in by `price_changes`, once the whole problem is there.

        A task that rests at minute 0, overnight or in a shower, is not under way: its outfit may go elsewhere, and
        where the sent plan would take it up again is its `was`. So it is with what the sent plan has at work when a
        plan is made in the midst of its day: it was to go on with its outfit. A task that still `waits` for another
        has not begun, whatever the hour says.
        """
        task = self.tasks.get(task_id)
        if task is None:
            return {}
        hours = self._hours_left(task)
        begins = self.horizon.after(task.starts_at)
        mode = next((mode for mode in row["modes"] if mode["id"] == task.mode), None)
        walks = field_pass.operation in ALONE
        is_open = any(stretch["from"] == 0 for stretch in row["open"])
        is_worked = bool(hours) and hours[0].from_min == 0 and (walks or not self.soonest_min)
        stands = self.stands_in_field(task_id, field_pass, waits=waits) is not None
        if mode is not None and is_open and is_worked and stands and begins < 0:
            return {
                "under_way": {
                    "mode": task.mode,
                    "minutes_left": min(mode["minutes"], _minutes_of(hours)) if walks else mode["minutes"],
                    "cents_left": mode["cents"],
                    "held_for": -begins,
                },
                "was": {"mode": task.mode, "from": 0, "change_cents": 0},
            }
        if begins >= self.soonest_min:
            return {"was": {"mode": task.mode, "from": begins, "change_cents": 0}}
        hours = from_minute(hours, self.soonest_min)
        goes_on = next((s.from_min for s in hours), self.soonest_min if stands else begins)
        told: dict[str, Any] = {"was": {"mode": task.mode, "from": goes_on, "change_cents": 0}}
        if walks and stands and hours:
            left_min = _minutes_of(hours)
            told["modes"] = [one | {"minutes": min(one["minutes"], left_min)} for one in row["modes"]]
        return told

    def today_until_min(self, *, now: dt.datetime) -> int:
        """Return the minute at which the farm's day of `now` is over; 0 if that is no day of the horizon."""
        over = self.horizon.midnight(local_date(now, self.horizon.zone) + dt.timedelta(days=1))
        return over if 0 < over < self.horizon.minutes + SOON_MIN else 0

    def _hours_left(self, task: PlannedTask) -> list[Stretch]:
        """Return what the sent plan still has of a task from minute 0 on."""
        plan = task.plan
        shift = self.horizon.after(plan.starts_at)
        worked = worked_stretches(problem=plan.problem, plan=plan.plan, task_id=task.task_key)
        return [Stretch(max(s.from_min + shift, 0), s.to_min + shift) for s in worked if s.to_min + shift > 0]


def from_minute(stretches: Sequence[Stretch], minute: int) -> list[Stretch]:
    """Return what is left of stretches from a minute on, each beginning where a task can be planned to start."""
    later = [Stretch(-(-max(s.from_min, minute) // STEP_MIN) * STEP_MIN, s.to_min) for s in stretches]
    return [s for s in later if s.from_min < s.to_min]


def sent_tasks(*, plan: WeekPlan | None, horizon: Horizon, soonest_min: int = 0) -> Sent:
    """Return the tasks of the sent plan that had not ended when the new plan begins."""
    if plan is None:
        return Sent(horizon, {}, soonest_min)
    rows = list(PlannedTask.objects.filter(plan=plan, ends_at__gt=horizon.start))
    for row in rows:
        row.plan = plan
    return Sent(horizon, {row.task_key: row for row in rows}, soonest_min)


def _minutes_of(stretches: Sequence[Stretch]) -> int:
    return sum(stretch.to_min - stretch.from_min for stretch in stretches)


def price_changes(problem: dict[str, Any], *, sent: Sent, now: dt.datetime) -> None:
    """Put into each `was` of a whole problem what changing it costs. ProblemError if it is no problem."""
    if not any("was" in row for row in problem["tasks"]):
        return
    prices = Prices(sent.today_until_min(now=now), SOON_MIN, CHANGE_SOON_CENTS, CHANGE_LATER_CENTS)
    cents_of = prices_of_change(parse_problem(problem), prices)
    for row in problem["tasks"]:
        if "was" in row:
            row["was"]["change_cents"] = cents_of[row["id"]]


def as_it_was_sent(problem: Mapping[str, Any]) -> Plan | None:
    """Return the places that the sent plan has for the tasks of a problem, to begin a search from; None without any."""
    placed = tuple(
        PlacedTask(row["id"], row["was"]["mode"], row["was"]["from"], row["was"]["from"] + 1)
        for row in problem["tasks"]
        if "was" in row
    )
    return Plan("good", None, None, 0.0, None, placed) if placed else None


def _has_begun(field_pass: FieldPass) -> bool:
    """A pivot goes on by itself once its start is done; other work has begun when somebody reported a part of it."""
    return field_pass.state == PassState.UNDER_WAY or field_pass.operation in ALONE
