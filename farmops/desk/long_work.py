"""What the farm manager's desk does as long work: planning anew, and what would help. See `farmops.core.long_work`."""

import datetime as dt
import hashlib
import json
import uuid
from collections.abc import Sequence
from time import monotonic
from typing import Any

from django.utils import translation
from django.utils.translation import gettext_noop

from farmops.core import clock
from farmops.core.long_work import Progress, Result, begin
from farmops.core.models import Language, LongWork, LongWorkState, User
from farmops.desk.anew import newest_number, plan_anew
from farmops.desk.days import refuse_far_day
from farmops.desk.help_lines import help_as_json
from farmops.desk.supposing import answers_of, answers_said
from farmops.farms.models import Farm
from scheduling.models import WeekPlan
from scheduling.services.planning import NoPlan
from scheduling.solver.plan import Clash

PLAN, HELP = "plan", "help"
LAYING = gettext_noop("laying out the days")
SEARCHING = gettext_noop("searching for a cheaper plan")
KEEPING = gettext_noop("keeping the plan")
ASKING = gettext_noop("planning the days again for each question")
WHOLE, LAID = 1000, 100
"""Progress is told in thousandths; the first hundred are for laying out the days, however long that takes."""


def begin_plan(
    *,
    farm: Farm,
    first_on: dt.date,
    seconds: float,
    asked_by: User | None,
    now: dt.datetime,
    after: uuid.UUID | None = None,
    is_news: bool = False,
) -> LongWork:
    """Have the days from one on planned anew; what is asked twice is planned once.

    `after` is the id of a form whose words are to be in the plan. With `is_news` something was said just now: a plan that
    is already being worked out may be without it, so that only one that has not begun is the same. Raises BadWeek for a
    day that is over or too far off.
    """
    refuse_far_day(farm=farm, first_on=first_on, today=clock.local_date(now, farm.zone))
    begins = f"{first_on} "
    if is_news:
        waiting = LongWork.objects.filter(
            farm=farm, kind=PLAN, state=LongWorkState.WAITING, key__startswith=begins
        ).first()
        if waiting is not None:
            return waiting
        after = after or uuid.uuid4()
    key = f"{begins}after {after.hex}" if after else f"{begins}after plan {newest_number(farm=farm)}"
    asked = {"first_on": first_on.isoformat(), "seconds": seconds}
    return begin(farm=farm, kind=PLAN, asked_by=asked_by, asked=asked, key=key, now=now)


def plan(work: LongWork, progress: Progress) -> Result:
    """Plan anew; where no plan keeps every rule, the rules that clash are the result."""
    seconds = float(work.asked["seconds"])
    progress(0, WHOLE, LAYING)
    began: list[float] = []

    def far() -> bool:
        if not began:
            began.append(monotonic())
        share = min(1.0, (monotonic() - began[0]) / seconds)
        return progress.tell(LAID + round((WHOLE - LAID) * share), WHOLE, SEARCHING)

    try:
        made = plan_anew(
            farm=work.farm,
            first_on=dt.date.fromisoformat(work.asked["first_on"]),
            seconds=seconds,
            made_by=work.asked_by,
            now=clock.now(),
            stop=far,
            before_storing=lambda: progress(WHOLE, WHOLE, KEEPING),
        )
    except NoPlan as error:
        progress(WHOLE, WHOLE)
        rules = [[one.task, one.rule, one.says] for one in error.rules]
        return Result({"rules": rules, "is_proved": error.is_proved}, refused=error)
    return Result({"plan": made.number})


def clash_of(work: LongWork) -> NoPlan | None:
    """Return the rules that clash, where that is how planning anew ended."""
    if work.code != NoPlan.code:
        return None
    rules = [Clash(*one) for one in work.result["rules"]]
    return NoPlan(work.says, rules=rules, is_proved=bool(work.result["is_proved"]))


def begin_help(
    *, plan: WeekPlan, suppose: Sequence[str], seconds: float, asked_by: User | None, now: dt.datetime
) -> LongWork:
    """Have worked out what each thing supposed of a stored plan's week is worth; the same asked twice is asked once."""
    digest = hashlib.sha256(json.dumps(list(suppose)).encode()).hexdigest()[:16]
    asked: dict[str, Any] = {"plan": plan.number, "suppose": list(suppose), "seconds": seconds}
    key = f"plan {plan.number} {digest}"
    return begin(farm=plan.farm, kind=HELP, asked_by=asked_by, asked=asked, key=key, now=now)


def help_week(work: LongWork, progress: Progress) -> Result:
    """Work out what would help; the answers are kept in each language, since they are sentences."""
    stored = WeekPlan.objects.select_related("farm").get(farm=work.farm, number=work.asked["plan"])
    progress(0, 0, ASKING)
    answers = answers_of(
        plan=stored,
        suppose=work.asked["suppose"],
        seconds=float(work.asked["seconds"]),
        told=lambda done, of, _following: progress(done, of, ASKING),
        stop=lambda: progress.ends,
    )
    progress.check()
    told: dict[str, Any] = {"plan": stored.number}
    for language in Language.values:
        with translation.override(language):
            told[language] = help_as_json(answers_said(plan=stored, answers=answers))
    return Result(told)
