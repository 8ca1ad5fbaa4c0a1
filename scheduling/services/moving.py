"""Moving a pass of a plan by hand: checked and priced before it is kept, kept as a hold and a new plan, and undone.

A move goes by the problem of the plan that it moves in, so that its price is the difference of two costs of the same
week. What was said since that plan was made binds the moved pass through its hold; the rest of the week learns of it when
the week is planned again.
"""

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.db.models import Max
from django.utils.translation import gettext as _

from farmops.core.models import User
from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm, Hand, Implement, Machine
from scheduling.models import FieldPass, PassState, PlannedCare, PlannedTask, PlanState, WeekPlan
from scheduling.selectors.day_parts import HUNDREDTH
from scheduling.selectors.holding import capital, spoken
from scheduling.selectors.horizon import Horizon
from scheduling.selectors.passes import OPEN_STATES, field_names, open_passes, pass_key
from scheduling.selectors.plan_news import LAID_AT, laid_at
from scheduling.selectors.spoken import ids_in_words, names_of
from scheduling.selectors.versions import week_version
from scheduling.selectors.worked_out import worked_out
from scheduling.services.fixing import fix_pass, refuse_fixing
from scheduling.services.supposing import read_back
from scheduling.solver import from_json, parse_problem, problem_hash
from scheduling.solver.moving import Shift, move_task
from scheduling.solver.plan import PlacedTask, Plan
from scheduling.solver.plan import to_json as plan_to_json

MOVED, UNDONE = "moved", "undone"
"""Under these names a plan's limits tell which move it was made by and what that changed, or which move it undid."""


class CannotMove(DomainError):
    """A pass of a plan that cannot be moved there, or a move that cannot be undone; the sentence says why."""

    code = "cannot_move"
    kind = Kind.CONFLICT


class WeekChanged(DomainError):
    """Somebody else changed the plan or what is held since the page was opened."""

    code = "week_changed"
    kind = Kind.STALE


@dataclass(frozen=True)
class Priced:
    """A move with all that comes of it; nothing of it is stored."""

    base: WeekPlan
    field_pass: FieldPass
    task: str
    outfit: str
    starts_at: dt.datetime
    problem: Mapping[str, Any]
    plan: Plan
    cost_before_cents: int
    shifts: tuple[Shift, ...]

    @property
    def more_cents(self) -> int:
        """What the plan costs more with the move; below 0 where it costs less."""
        return (self.plan.cost or 0) - self.cost_before_cents


def task_to_move(*, plan: WeekPlan, field_pass: FieldPass, not_before: dt.datetime) -> str:
    """Return the task of a plan that a move of a pass moves: its first part that has not begun. Raises CannotMove."""
    what = capital(spoken(field_pass))
    if field_pass.state not in OPEN_STATES:
        says = _("{what} is {state}; there is nothing left to move.")
        raise CannotMove(says.format(what=what, state=_(field_pass.get_state_display())))
    key = pass_key(field_pass)
    rows = [row for row in plan.problem.get("tasks", []) if row["id"].partition("#")[0] == key]
    if not rows:
        says = _("Plan {number} knows nothing of {what}. Plan again, and it can be moved.")
        raise CannotMove(says.format(number=plan.number, what=spoken(field_pass)))
    placed = {row["id"]: row["from"] for row in plan.plan.get("tasks", [])}
    before_min = _minute(plan, not_before)
    for row in rows:
        if "under_way" not in row and placed.get(row["id"], before_min) >= before_min:
            return str(row["id"])
    says = _("{what} was to begin before now in plan {number}. Plan again, and it can be moved.")
    raise CannotMove(says.format(what=what, number=plan.number))


def price_move(
    *,
    plan: WeekPlan,
    field_pass: FieldPass,
    outfit: str,
    starts_at: dt.datetime,
    not_before: dt.datetime,
    as_of: dt.date,
) -> Priced:
    """Return what comes of holding a pass to an outfit and an hour within a plan; stores nothing.

    `not_before` is the first instant that can still be planned, `as_of` the last day whose weather is known. Raises
    BadFixing and CannotBeFixed where the pass cannot stand there by itself, CannotMove where it cannot in this plan,
    PlanTooOld where the plan cannot be read any more.
    """
    if plan.state == PlanState.REPLACED:
        says = _("Plan {number} was replaced by a later one; move the pass in that one.")
        raise CannotMove(says.format(number=plan.number))
    task = task_to_move(plan=plan, field_pass=field_pass, not_before=not_before)
    refuse_fixing(
        field_pass=field_pass, outfit=outfit, starts_at=starts_at, not_before=not_before, as_of=as_of
    )
    row = next(one for one in plan.problem["tasks"] if one["id"] == task)
    start = Horizon(plan.starts_at, plan.farm.zone, plan.days).after(starts_at)
    if not 0 <= start < plan.problem["horizon"]:
        raise CannotMove(_("That hour is none of the days of plan {number}.").format(number=plan.number))
    if all(mode["id"] != outfit for mode in row["modes"]):
        says = _("Plan {number} does not reckon with that outfit for it. Hold it and plan again instead.")
        raise CannotMove(says.format(number=plan.number), fields={"outfit": "not in the plan"})
    _problem, answer = read_back(plan=plan)
    asked: dict[str, Any] = {"task": task, "mode": outfit, "start": start}
    asked |= {"before_min": _minute(plan, not_before), "sent": plan.state == PlanState.SENT}
    # A minute of waiting changes nothing as long as nothing begins in it.
    begun = [one.start for one in answer.tasks if one.start < asked["before_min"]]
    asked["before_min"] = max(begun, default=-1) + 1
    told = worked_out("move-1", [plan.problem, plan.plan, asked], _making(plan, answer, asked))
    if told["why_not"]:
        names = names_of(farm=plan.farm, problem=plan.problem)
        why = ids_in_words(told["why_not"], names=names, fields=field_names(farm=plan.farm))
        raise CannotMove(why)
    return Priced(
        base=plan,
        field_pass=field_pass,
        task=task,
        outfit=outfit,
        starts_at=starts_at,
        problem=told["problem"],
        plan=from_json(told["plan"]),
        cost_before_cents=told["cost_before_cents"],
        shifts=tuple(Shift(one["task"], _placed(one["old"]), _placed(one["new"])) for one in told["shifts"]),
    )


@transaction.atomic
def keep_move(
    *,
    priced: Priced,
    seen: str,
    made_by: User | None,
    now: dt.datetime,
    not_before: dt.datetime,
    as_of: dt.date,
) -> WeekPlan:
    """Hold the pass where the move puts it, and store the plan that comes of it with a number of its own.

    It counts only when it is sent. `seen` is the version of the week that the move goes by; raises WeekChanged where
    that is no longer so, and what `fix_pass` raises.
    """
    base, field_pass = priced.base, priced.field_pass
    farm = _unchanged(base.farm, seen)
    field_pass.refresh_from_db()
    before = {
        "held_outfit": field_pass.fixed_outfit,
        "held_from": field_pass.fixed_from.isoformat() if field_pass.fixed_from is not None else None,
    }
    fix_pass(
        field_pass=field_pass,
        outfit=priced.outfit,
        starts_at=priced.starts_at,
        not_before=not_before,
        as_of=as_of,
    )
    moved = {"pass": field_pass.pk, "task": priced.task, "of_plan": base.number, "seen": seen, **before}
    stored = _copied(
        base,
        farm,
        made_by=made_by,
        now=now,
        problem=dict(priced.problem),
        plan=plan_to_json(priced.plan),
        limits={**_bare(base.limits), MOVED: moved},
        against=base if base.state == PlanState.SENT else base.against,
    )
    _lay_rows(stored, base)
    return stored


@transaction.atomic
def undo_move(*, plan: WeekPlan, seen: str, made_by: User | None, now: dt.datetime) -> WeekPlan:
    """Go back to the plan before a move: its hold as it was, and the plan before again, with a number of its own.

    Raises WeekChanged where the week is no longer as it was `seen`, CannotMove where the plan is none of a move, or
    not the newest.
    """
    farm = _unchanged(plan.farm, seen)
    moved = plan.limits.get(MOVED)
    newest = WeekPlan.objects.filter(farm=farm).aggregate(last=Max("number"))["last"]
    if not moved or newest != plan.number:
        says = _("Plan {number} is no move that can be undone.")
        raise CannotMove(says.format(number=plan.number))
    before = WeekPlan.objects.get(farm=farm, number=moved["of_plan"])
    held_from = dt.datetime.fromisoformat(moved["held_from"]) if moved["held_from"] else None
    FieldPass.objects.filter(farm=farm, pk=moved["pass"]).update(
        fixed_from=held_from, fixed_outfit=moved["held_outfit"]
    )
    stored = _copied(
        before,
        farm,
        made_by=made_by,
        now=now,
        problem=before.problem,
        plan=before.plan,
        limits=before.limits | {UNDONE: {"plan": plan.number, "seen": seen}},
        against=before if before.state == PlanState.SENT else before.against,
    )
    _lay_rows(stored, before)
    return stored


def _unchanged(farm: Farm, seen: str) -> Farm:
    """Return the farm, locked; WeekChanged where its week is no longer as it was seen."""
    locked = Farm.objects.select_for_update().get(pk=farm.pk)
    if week_version(farm=locked) != seen:
        raise WeekChanged(_("The week was changed meanwhile: look at both versions, then choose."))
    return locked


def _bare(limits: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in limits.items() if key not in (MOVED, UNDONE)}


def _minute(plan: WeekPlan, instant: dt.datetime) -> int:
    """Return the minute of a plan at an instant, 0 where the plan begins later."""
    return max(0, Horizon(plan.starts_at, plan.farm.zone, plan.days).after(instant))


def _making(plan: WeekPlan, answer: Plan, asked: Mapping[str, Any]) -> Callable[[], dict[str, Any]]:
    def make() -> dict[str, Any]:
        moved = move_task(plan.problem, answer, **asked)
        return {
            "why_not": moved.why_not,
            "problem": moved.document,
            "plan": plan_to_json(moved.plan) if moved.plan is not None else None,
            "cost_before_cents": moved.cost_before_cents,
            "shifts": [
                {"task": one.task, "old": _row(one.old), "new": _row(one.new)} for one in moved.shifts
            ],
        }

    return make


def _row(placed: PlacedTask | None) -> list[Any] | None:
    return None if placed is None else [placed.id, placed.mode, placed.start, placed.end]


def _placed(row: list[Any] | None) -> PlacedTask | None:
    return None if row is None else PlacedTask(*row)


def _copied(
    base: WeekPlan,
    farm: Farm,
    *,
    made_by: User | None,
    now: dt.datetime,
    problem: dict[str, Any],
    plan: dict[str, Any],
    limits: dict[str, Any],
    against: WeekPlan | None,
) -> WeekPlan:
    last = WeekPlan.objects.filter(farm=farm).aggregate(last=Max("number"))["last"] or 0
    return WeekPlan.objects.create(
        farm=farm,
        number=last + 1,
        starts_at=base.starts_at,
        days=base.days,
        made_at=now,
        made_by=made_by,
        problem=problem,
        problem_hash=problem_hash(parse_problem(problem)),
        plan=plan,
        not_offered=base.not_offered,
        windows=base.windows,
        status=plan["status"],
        cost_cents=plan["cost"],
        bound_cents=plan["bound"],
        against=against,
        seed=base.seed,
        limits={**limits, LAID_AT: laid_at(plan=base).isoformat()},
    )


def _lay_rows(stored: WeekPlan, base: WeekPlan) -> None:
    """Store a row for each task of a plan: as in the plan that it comes of, at its own hour and with its own outfit."""
    horizon = Horizon(stored.starts_at, stored.farm.zone, stored.days)
    of_task = {row["id"]: row for row in stored.problem["tasks"]}
    tasks = {row.task_key: row for row in PlannedTask.objects.filter(plan=base)}
    stops = {row.task_key: row for row in PlannedCare.objects.filter(plan=base)}
    passes = {pass_key(one): one for one in open_passes(farm=stored.farm)}
    parts = _Outfits(stored.farm)
    laid: list[PlannedTask] = []
    care: list[PlannedCare] = []
    for placed in stored.plan["tasks"]:
        asked = of_task[placed["id"]]
        mode = next(one for one in asked["modes"] if one["id"] == placed["mode"])
        stop = stops.get(placed["id"])
        row: PlannedTask | PlannedCare | None = stop or tasks.get(placed["id"])
        if row is None:
            row = _new_row(placed["id"], asked, passes, tasks, of_task)
        if row is None:
            continue
        if row.mode != placed["mode"]:
            row.machine, row.implement, row.hand = parts.of(mode["resources"])
            row.work_min = mode["minutes"]
        row.pk, row.farm_id, row.plan, row.mode = None, stored.farm_id, stored, placed["mode"]
        row.starts_at, row.ends_at = horizon.at(placed["from"]), horizon.at(placed["to"])
        if isinstance(row, PlannedCare):
            care.append(row)
        else:
            row.work_min = row.work_min or mode["minutes"]
            laid.append(row)
    for one in (*laid, *care):
        one._state.adding = True
    PlannedTask.objects.bulk_create(laid)
    PlannedCare.objects.bulk_create(care)
    in_plan = {row.field_pass_id for row in laid}
    of_farm = FieldPass.objects.filter(farm=stored.farm)
    of_farm.filter(pk__in=in_plan, state=PassState.WAITING).update(state=PassState.PLANNED)
    of_farm.exclude(pk__in=in_plan).filter(state=PassState.PLANNED).update(state=PassState.WAITING)


def _new_row(
    task_id: str,
    asked: Mapping[str, Any],
    passes: Mapping[str, FieldPass],
    tasks: Mapping[str, PlannedTask],
    of_task: Mapping[str, Any],
) -> PlannedTask | None:
    """Return a row of a task that the plan before had left; None where its pass is no longer open."""
    key, _hash, number = task_id.partition("#")
    field_pass = passes.get(key)
    if field_pass is None:
        return None
    siblings = [one for one in of_task if one.partition("#")[0] == key]
    known = [one.area_ac for name, one in tasks.items() if name in siblings]
    unknown = max(1, len(siblings) - len(known))
    area_ac = max(field_pass.area_ac - field_pass.done_ac - sum(known), field_pass.area_ac * 0) / unknown
    return PlannedTask(
        task_key=task_id,
        field_pass=field_pass,
        field_id=field_pass.season.field_id,
        operation=field_pass.operation,
        part_no=int(number or 1),
        part_count=max([int(number or 1), *(int(one.partition("#")[2] or 1) for one in siblings)]),
        area_ac=area_ac.quantize(HUNDREDTH),
        mode="",
        work_min=0,
    )


class _Outfits:
    """The machine, implement and hand that the resources of a mode stand for."""

    def __init__(self, farm: Farm) -> None:
        self.rows: list[dict[str, Any]] = []
        for model in (Machine, Implement, Hand):
            named: dict[str, Any] = {}
            for row in model._default_manager.filter(farm=farm):
                named |= {row.code: row, f"{model.__name__.lower()}:{row.code}": row}
            self.rows.append(named)

    def of(self, resources: list[str]) -> tuple[Machine | None, Implement | None, Hand | None]:
        machine, implement, hand = (
            next((named[one] for one in resources if one in named), None) for named in self.rows
        )
        return machine, implement, hand
