"""What a page says before a plan is moved in or sent: that it is older than what is known, and which jobs cannot be."""

import datetime as dt
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from farmops.core.clock import local_date
from farmops.desk.days import first_instant, weather_as_of
from farmops.pages import words
from farmops.pages.move_page import moment
from scheduling.models import WeekPlan
from scheduling.selectors.plan_news import broken_jobs, is_news, laid_at
from scheduling.selectors.spoken import names_of_plan

MOST_NAMED = 12
"""Farm judgement: so many jobs are named; nobody repairs more by hand, the plan is made anew."""


def news_facts(*, plan: WeekPlan, now: dt.datetime, always: bool = False) -> dict[str, Any] | None:
    """Return what is to be said of a plan beside what is known now, or None: where no job of it is touched, and unless
    `always`, that something is newer is not said.
    """
    zone = ZoneInfo(plan.farm.zone)
    is_newer = is_news(plan=plan)
    jobs = broken_jobs(
        plan=plan,
        not_before=first_instant(farm=plan.farm, now=now),
        as_of=weather_as_of(farm=plan.farm, today=local_date(now, plan.farm.zone)),
        is_newer=is_newer,
    )
    if not jobs and not (always and is_newer):
        return None
    names = names_of_plan(plan=plan)
    told = [
        words.one_stop(
            _("{what}, {when}: {why}.").format(
                what=words.capital(names.get(one.task, one.task)),
                when=moment(one.starts_at.astimezone(zone)),
                why=one.why.removesuffix("."),
            )
        )
        for one in jobs[:MOST_NAMED]
    ]
    if len(jobs) > MOST_NAMED:
        told.append(_("{count} more.").format(count=len(jobs) - MOST_NAMED))
    return {"is_news": is_newer, "jobs": told, "when": moment(laid_at(plan=plan).astimezone(zone))}
