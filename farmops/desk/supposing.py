"""What would help: hours, hands and implements that a week could have more of, or less, each with its worth in dollars."""

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from farmops.core import jobs
from farmops.core.clock import local_date
from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm
from farmops.farms.operations import Operation
from ledger.selectors.prices import plan_prices
from scheduling.models import WeekPlan
from scheduling.selectors.passes import field_names
from scheduling.selectors.said_again import said_again, supposed_again
from scheduling.selectors.speaking import speaking
from scheduling.selectors.spoken import ids_in_words, names_of
from scheduling.services.planning import Limits, lay_week, solve_week
from scheduling.services.supposing import read_back, understood
from scheduling.slips.words import work_words
from scheduling.solver.supposing import FEWER, Supposition, in_words
from scheduling.solver.worth import Answers, Worth, worth

Told = Callable[[int, int, str], None]
STALE_AFTER = dt.timedelta(minutes=2)


class PlanUnderWay(DomainError):
    """The same is being worked out at this moment."""

    code = "plan_under_way"
    kind = Kind.CONFLICT


@dataclass(frozen=True)
class Answer:
    """What one thing supposed is worth, in whole cents and in words; None where with it there is no plan, and why.

    Above 0 it helps, below it hurts. If both plans were the cheapest, the worth would lie between `least_cents` and
    `most_cents`; `is_sure` where both are proved to be. Passes stand by what people call them.
    """

    suppose: str
    says: str
    cents: int | None
    least_cents: int | None
    most_cents: int | None
    is_sure: bool
    now_planned: tuple[str, ...]
    now_left: tuple[str, ...]
    moved: tuple[str, ...]
    overtime_min: int
    why_none: str = ""


@dataclass(frozen=True)
class Help:
    """The answers, best first, beside the plan as it is: what it costs after as much search as each of them had."""

    cost_cents: int
    bound_cents: int
    answers: tuple[Answer, ...]


def what_would_help(
    *,
    plan: WeekPlan,
    suppose: Sequence[str] = (),
    seconds: float,
    seed: int = 1,
    rounds: int | None = None,
    workers: int = 1,
    now: dt.datetime,
    told: Told | None = None,
    stop: Callable[[], bool] | None = None,
) -> Help:
    """Return what each thing supposed of a stored plan's week is worth, best first; stores nothing.

    Without `suppose` it is what is asked first of all: an hour more, a hand more on each day, and for the work that is
    left or late one more implement, alone and hired with what pulls it and who drives it.
    `seconds` are shared out over all the searches. Raises SuppositionRefused, PlanTooOld, and PlanUnderWay
    while the same is being worked out already.
    """
    refuse_to_suppose(plan=plan, suppose=suppose)
    job = f"suppose of farm {plan.farm_id}"
    if not jobs.claim(job=job, slot=plan.number, now=now, stale_after=STALE_AFTER):
        raise PlanUnderWay(_("This is being worked out already. Look again in half a minute."))
    try:
        answers = answers_of(
            plan=plan,
            suppose=suppose,
            seconds=seconds,
            seed=seed,
            rounds=rounds,
            workers=workers,
            told=told,
            stop=stop,
        )
    finally:
        jobs.give_back(job=job, slot=plan.number)
    return answers_said(plan=plan, answers=answers)


def refuse_to_suppose(*, plan: WeekPlan, suppose: Sequence[str]) -> None:
    """Raise SuppositionRefused or PlanTooOld for what cannot be asked of a stored plan; cheap beside the search."""
    problem, answer = read_back(plan=plan)
    understood(problem=problem, texts=suppose, names=_names(plan.farm, plan.problem), plan=answer)


def answers_of(
    *,
    plan: WeekPlan,
    suppose: Sequence[str],
    seconds: float,
    seed: int = 1,
    rounds: int | None = None,
    workers: int = 1,
    told: Told | None = None,
    stop: Callable[[], bool] | None = None,
) -> Answers:
    """Work out what each thing supposed of a stored plan's week is worth, whoever else does so; see `what_would_help`."""
    problem, answer = read_back(plan=plan)
    names = _names(plan.farm, plan.problem)
    suppositions = understood(problem=problem, texts=suppose, names=names, plan=answer)
    return worth(
        problem,
        answer,
        suppositions,
        seconds=seconds / (len(suppositions) + 1),
        rounds=rounds,
        seed=seed,
        workers=workers,
        told=_told(told, names),
        stop=stop,
    )


def answers_said(*, plan: WeekPlan, answers: Answers) -> Help:
    """Return answers best first, in the language that is on."""
    return _help(answers, _names(plan.farm, plan.problem), field_names(farm=plan.farm))


def suppose_week(
    *,
    farm: Farm,
    first_on: dt.date,
    days: int = 7,
    suppose: Sequence[str] = (),
    seconds: float = 10,
    seed: int = 1,
    rounds: int | None = None,
    workers: int = 1,
    now: dt.datetime,
    as_of: dt.date | None = None,
    keep_sent: bool = False,
    progress: Callable[..., None] | None = None,
    told: Told | None = None,
    stop: Callable[[], bool] | None = None,
) -> Help:
    """Plan the days from `first_on` as `plan_week` does, store nothing, and return what each thing supposed is worth.

    Each search has the whole of `seconds` or `rounds`: the plan's first, then its second beside each supposition.
    """
    laid = lay_week(
        farm=farm,
        starts_at=dt.datetime.combine(first_on, dt.time(), tzinfo=ZoneInfo(farm.zone)),
        days=days,
        prices=plan_prices(farm=farm, on=first_on),
        as_of=as_of or local_date(now, farm.zone),
        now=now,
        keep_sent=keep_sent,
    )
    names = _names(farm, laid.built.problem)
    understood(problem=laid.problem, texts=suppose, names=names)  # what is wrong is told before the search
    plan = solve_week(laid=laid, limits=Limits(seconds, seed, rounds, workers), progress=progress, stop=stop)
    suppositions = understood(problem=laid.problem, texts=suppose, names=names, plan=plan)
    answers = worth(
        laid.problem,
        plan,
        suppositions,
        seconds=seconds,
        rounds=rounds,
        seed=seed,
        workers=workers,
        told=_told(told, names),
        stop=stop,
    )
    return _help(answers, names, field_names(farm=farm))


def _names(farm: Farm, problem: Mapping[str, Any]) -> dict[str, str]:
    work = {operation.value: work_words(operation, speaking()) for operation in Operation}
    return work | names_of(farm=farm, problem=problem)


def _told(
    told: Told | None, names: Mapping[str, str]
) -> Callable[[int, int, Supposition | None], None] | None:
    if told is None:
        return None
    return lambda done, of, following: told(
        done, of, "" if following is None else in_words(following, names=names)
    )


def _help(answers: Answers, names: Mapping[str, str], fields: Mapping[str, str]) -> Help:
    found = [_answer(one, names, fields) for one in answers.worths]
    found.sort(key=lambda one: (one.cents is None, -(one.cents or 0)))
    assert answers.base.cost is not None
    assert answers.base.bound is not None
    return Help(answers.base.cost, answers.base.bound, tuple(found))


def _answer(one: Worth, names: Mapping[str, str], fields: Mapping[str, str]) -> Answer:
    def called(ids: Sequence[str]) -> tuple[str, ...]:
        return tuple(names.get(key, key) for key in ids)

    says = in_words(one.supposition, names=names)
    if one.supposition.kind == FEWER and one.about != (one.supposition.subject,):
        says += f", least missed: {', '.join(called(one.about))}"
    says = supposed_again(says)
    return Answer(
        suppose=one.supposition.text,
        says=f"{says[:1].upper()}{says[1:]}",
        cents=one.cents,
        least_cents=one.least_cents,
        most_cents=one.most_cents,
        is_sure=one.is_sure,
        now_planned=called(one.now_planned),
        now_left=called(one.now_left),
        moved=called(one.moved),
        overtime_min=one.priced_min,
        why_none="" if one.cents is not None else _clash(one, names, fields),
    )


def _clash(one: Worth, names: Mapping[str, str], fields: Mapping[str, str]) -> str:
    told = [said_again(ids_in_words(clash.says, names=names, fields=fields)) for clash in one.after.why]
    return " ".join(f"{says[:1].upper()}{says[1:]}" for says in told)
