"""Making and sending the week plan."""

import datetime as dt
import logging
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.db.models import Max, Min
from django.utils.translation import gettext as _

from farmops.core.clock import local_date
from farmops.core.models import User
from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm
from scheduling.models import FieldPass, PassState, PlannedCare, PlannedTask, PlanState, WeekPlan
from scheduling.selectors.passes import open_passes
from scheduling.selectors.plan_news import WEATHER, weather_in
from scheduling.selectors.plans import plan_to_keep
from scheduling.selectors.prices import PlanPrices
from scheduling.selectors.problem import Built, lay_problem
from scheduling.selectors.said_again import said_again
from scheduling.selectors.sent import as_it_was_sent
from scheduling.selectors.windows import pass_windows
from scheduling.solver import Plan, Problem, ProblemError, check, parse_problem, problem_hash, solve
from scheduling.solver.plan import Clash
from scheduling.solver.plan import to_json as plan_to_json
from scheduling.windows.report import WindowsReport

logger = logging.getLogger(__name__)
MOST_DAYS = 21
MOST_REASONS = 20
"""So many reasons are told of a week in which nothing can be planned; nobody reads hundreds."""


class NothingToPlan(DomainError):
    """There is no pass that a plan could hold."""

    code = "nothing_to_plan"
    kind = Kind.CONFLICT


class NoPlan(DomainError):
    """No plan keeps every rule; the sentence says which rules clash, and `rules` holds them one by one.

    `is_proved` is False where the time ran out before a plan or a clash was found.
    """

    code = "no_plan"
    kind = Kind.CONFLICT

    def __init__(self, says: str, *, rules: Sequence[Clash] = (), is_proved: bool = True) -> None:
        super().__init__(says)
        self.rules = tuple(rules)
        self.is_proved = is_proved


class PlanFailedCheck(DomainError):
    """The search handed out a plan that the independent check refuses: our mistake, and nothing is stored."""

    code = "plan_failed_check"
    kind = Kind.UNAVAILABLE


class PlanIsReplaced(DomainError):
    """A plan that a later one has replaced is not sent any more, nor one that is older than the one that is sent."""

    code = "plan_is_replaced"
    kind = Kind.CONFLICT


class BadWeek(DomainError):
    """The days asked for make no plan."""

    code = "bad_week"


@dataclass(frozen=True)
class Laid:
    """A farm's week, ready to be planned: its windows, its problem, the sent plan that it keeps to, if any, and what
    weather was in before the windows were judged.
    """

    windows: WindowsReport
    built: Built
    problem: Problem
    against: WeekPlan | None
    weather: dict[str, Any]


@dataclass(frozen=True)
class Limits:
    """How far a search goes: `rounds` where they decide, else `seconds`; the seed it draws from; its threads."""

    seconds: float
    seed: int
    rounds: int | None
    workers: int


def lay_week(
    *,
    farm: Farm,
    starts_at: dt.datetime,
    days: int,
    prices: PlanPrices,
    as_of: dt.date,
    now: dt.datetime,
    keep_sent: bool,
    known_at: dt.datetime | None = None,
) -> Laid:
    """Lay out the days from an instant on as a problem; stores nothing.

    `as_of` is the last day whose observed weather counts. With `keep_sent`, changing what the plan that was sent for
    the first day says has a price. `known_at` is the clock's instant, where `now` is one of an old record. Raises BadWeek, NothingToPlan, and NoPlan where the records make no problem.
    """
    if not 1 <= days <= MOST_DAYS:
        raise BadWeek(_("A plan has 1 to {most} days, not {days}.").format(most=MOST_DAYS, days=days))
    passes = list(open_passes(farm=farm))
    if not passes:
        raise NothingToPlan(_("{farm} has no pass that is still to be done.").format(farm=farm.name))
    weather = weather_in(farm=farm)
    windows = pass_windows(farm=farm, passes=passes, starts_at=starts_at, days=days, as_of=as_of)
    first_on = local_date(starts_at, farm.zone)
    against = plan_to_keep(farm=farm, first_on=first_on, days=days) if keep_sent else None
    try:
        built = lay_problem(
            farm=farm,
            windows=windows,
            starts_at=starts_at,
            days=days,
            prices=prices,
            sent=against,
            now=now,
            known_at=known_at,
        )
        _refuse_what_cannot_be(farm, built)
        return Laid(windows, built, parse_problem(built.problem), against, weather)
    except ProblemError as error:
        says = _("The records of {farm} make no problem that can be solved: {error}")
        raise NoPlan(says.format(farm=farm.name, error=error)) from error


def solve_week(
    *,
    laid: Laid,
    limits: Limits,
    progress: Callable[..., None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Plan:
    """Plan a week that is laid out, from the sent plan on, and check the plan with code that shares nothing with the
    search. Raises NoPlan with the rules that clash, PlanFailedCheck.
    """
    plan = solve(
        laid.problem,
        seconds=limits.seconds,
        seed=limits.seed,
        workers=limits.workers,
        rounds=limits.rounds,
        progress=progress,
        start=as_it_was_sent(laid.built.problem),
        stop=stop,
    )
    if plan.status == "none":
        raise NoPlan(_clash(plan), rules=plan.why, is_proved=plan.is_proved_impossible)
    _refuse_what_breaks_a_rule(laid.problem, plan)
    return plan


def make_plan(
    *,
    farm: Farm,
    starts_at: dt.datetime,
    days: int,
    prices: PlanPrices,
    as_of: dt.date,
    seconds: float,
    seed: int,
    rounds: int | None,
    workers: int,
    made_by: User | None,
    now: dt.datetime,
    seen_at: dt.datetime | None = None,
    keep_sent: bool = False,
    progress: Callable[..., None] | None = None,
    stop: Callable[[], bool] | None = None,
    before_storing: Callable[[], None] | None = None,
) -> WeekPlan:
    """Plan the days from an instant on, check the plan, and store it with the sent plan that it was made against.

    `as_of` is the last day whose observed weather counts; `seen_at` the instant that is today for the plan, where it is
    not `now`. With `keep_sent`, changing what the plan that was sent for the first day says has a price. The same
    records, seed and `rounds` give the same plan; with `rounds` None the time decides. Once `stop` says yes, the best
    plan so far is stored. `before_storing` is called when there is a plan; what it raises keeps the plan from being stored.
    """
    laid = lay_week(
        farm=farm,
        starts_at=starts_at,
        days=days,
        prices=prices,
        as_of=as_of,
        now=seen_at or now,
        keep_sent=keep_sent,
        known_at=now,
    )
    limits = Limits(seconds, seed, rounds, workers)
    plan = solve_week(laid=laid, limits=limits, progress=progress, stop=stop)
    if before_storing is not None:
        before_storing()
    return _store(farm=farm, laid=laid, plan=plan, limits=limits, made_by=made_by, now=now)


@transaction.atomic
def send_plan(*, plan: WeekPlan, now: dt.datetime) -> WeekPlan:
    """Mark a plan sent: its passes are sent, and the plan sent before is replaced. Doing it twice changes nothing.

    Raises PlanIsReplaced for a plan that is older than the one that is sent: whoever sends it has an old page before
    them, and it knows nothing of what the later one was made for.
    """
    Farm.objects.select_for_update().get(pk=plan.farm_id)
    plan.refresh_from_db()
    if plan.state == PlanState.SENT:
        return plan
    if plan.state == PlanState.REPLACED:
        says = _("Plan {number} was replaced by a later one; make the plan anew.")
        raise PlanIsReplaced(says.format(number=plan.number))
    later = WeekPlan.objects.filter(
        farm_id=plan.farm_id, state=PlanState.SENT, number__gt=plan.number
    ).first()
    if later is not None:
        raise PlanIsReplaced(
            _("Plan {number} is older than plan {later}, which is sent; make the plan anew.").format(
                number=plan.number, later=later.number
            )
        )
    WeekPlan.objects.filter(farm_id=plan.farm_id, state=PlanState.SENT).update(state=PlanState.REPLACED)
    WeekPlan.objects.filter(pk=plan.pk, state=PlanState.MADE).update(state=PlanState.SENT, sent_at=now)
    in_plan = set(PlannedTask.objects.filter(plan=plan).values_list("field_pass_id", flat=True))
    of_farm = FieldPass.objects.filter(farm_id=plan.farm_id)
    of_farm.filter(pk__in=in_plan, state__in=(PassState.WAITING, PassState.PLANNED)).update(
        state=PassState.SENT
    )
    of_farm.exclude(pk__in=in_plan).filter(state__in=(PassState.PLANNED, PassState.SENT)).update(
        state=PassState.WAITING
    )
    plan.refresh_from_db()
    return plan


def _refuse_what_cannot_be(farm: Farm, built: Built) -> None:
    clashes = [one for one in built.not_offered if one.is_a_clash]
    if clashes:
        told = " ".join(f"{one.key}: {one.why}" for one in clashes)
        raise NoPlan(
            f"No plan keeps every rule. It must be done in these days, but: {told}",
            rules=[
                Clash(one.key, "leave_cents", f"It must be done in these days, but: {one.why}")
                for one in clashes
            ],
        )
    if not built.tasks:
        first_on = _first_day_of_all(farm, built)
        if first_on is not None:
            says = _("No pass of {farm} can be planned in these days: the first may start on {day}.")
            raise NothingToPlan(says.format(farm=farm.name, day=first_on))
        reasons = " ".join(f"{one.key}: {said_again(one.why)}" for one in built.not_offered[:MOST_REASONS])
        none = _("No pass of {farm} can be planned in these days.").format(farm=farm.name)
        raise NothingToPlan(f"{none} {reasons}")


def _first_day_of_all(farm: Farm, built: Built) -> dt.date | None:
    """Return the first day on which any pass may start, where that alone keeps several of them out."""
    waits = [one for one in built.not_offered if one.why.startswith("It may not start before")]
    if len(waits) < 2 or len(waits) < len(built.not_offered):
        return None
    first: dt.date | None = open_passes(farm=farm).aggregate(first=Min("earliest_on"))["first"]
    return first


def _clash(plan: Plan) -> str:
    told = [f"{one.task}: {one.says}" if one.task else one.says for one in plan.why]
    lead = "No plan keeps every rule. These clash: " if plan.is_proved_impossible else ""
    return lead + " ".join(told)


def _refuse_what_breaks_a_rule(problem: Problem, plan: Plan) -> None:
    result = check(problem, plan)
    if result.violations or result.cost != plan.cost:
        told = "; ".join(one.says for one in result.violations[:3]) or (
            f"it costs {result.cost} cents, not the {plan.cost} it says"
        )
        logger.error("A plan failed its check: %s", told)
        says = _("The plan that was made does not hold, so nothing was stored: {told}.")
        raise PlanFailedCheck(says.format(told=told))


def _store(
    *,
    farm: Farm,
    laid: Laid,
    plan: Plan,
    limits: Limits,
    made_by: User | None,
    now: dt.datetime,
) -> WeekPlan:
    answer, built = plan_to_json(plan), laid.built
    with transaction.atomic():
        Farm.objects.select_for_update().get(pk=farm.pk)
        last = WeekPlan.objects.filter(farm=farm).aggregate(last=Max("number"))["last"] or 0
        stored = WeekPlan.objects.create(
            farm=farm,
            number=last + 1,
            starts_at=built.horizon.start,
            days=built.horizon.days,
            made_at=now,
            made_by=made_by,
            problem=built.problem,
            problem_hash=problem_hash(laid.problem),
            plan=answer,
            not_offered=[[one.key, one.why] for one in built.not_offered],
            windows=laid.windows.to_json(),
            status=answer["status"],
            cost_cents=answer["cost"],
            bound_cents=answer["bound"],
            against=laid.against,
            seed=limits.seed,
            limits={
                "seconds": limits.seconds,
                "rounds": limits.rounds,
                "workers": limits.workers,
                WEATHER: laid.weather,
            },
        )
        rows = [_planned_task(stored, built, row) for row in answer["tasks"] if row["id"] in built.tasks]
        PlannedTask.objects.bulk_create(rows)
        PlannedCare.objects.bulk_create(
            [_planned_care(stored, built, row) for row in answer["tasks"] if row["id"] in built.stops]
        )
        in_plan = {row.field_pass_id for row in rows}
        of_farm = FieldPass.objects.filter(farm=farm)
        of_farm.filter(pk__in=in_plan, state=PassState.WAITING).update(state=PassState.PLANNED)
        of_farm.exclude(pk__in=in_plan).filter(state=PassState.PLANNED).update(state=PassState.WAITING)
    return stored


def _planned_task(stored: WeekPlan, built: Built, row: Mapping[str, Any]) -> PlannedTask:
    task = built.tasks[row["id"]]
    outfit = built.outfits[row["mode"]]
    asked = next(one for one in built.problem["tasks"] if one["id"] == row["id"])
    mode = next(one for one in asked["modes"] if one["id"] == row["mode"])
    work_min = asked["under_way"]["minutes_left"] if "under_way" in asked else mode["minutes"]
    return PlannedTask(
        farm_id=stored.farm_id,
        plan=stored,
        task_key=task.id,
        field_pass=task.field_pass,
        field_id=task.field_pass.season.field_id,
        operation=task.field_pass.operation,
        part_no=task.part.number,
        part_count=task.part.count,
        area_ac=task.part.area_ac,
        mode=outfit.id,
        machine=outfit.machine,
        implement=outfit.implement,
        hand=outfit.hand,
        starts_at=built.horizon.at(row["from"]),
        ends_at=built.horizon.at(row["to"]),
        work_min=work_min,
    )


def _planned_care(stored: WeekPlan, built: Built, row: Mapping[str, Any]) -> PlannedCare:
    stop = built.stops[row["id"]]
    outfit = stop.outfit(row["mode"])
    return PlannedCare(
        farm_id=stored.farm_id,
        plan=stored,
        task_key=stop.id,
        rule=stop.due.rule,
        mode=outfit.id,
        place=stop.row["place"],
        machine=outfit.machine,
        implement=outfit.implement,
        hand=outfit.hand,
        starts_at=built.horizon.at(row["from"]),
        ends_at=built.horizon.at(row["to"]),
        work_min=stop.due.rule.takes_min,
    )
