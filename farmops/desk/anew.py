"""Planning anew: the days from one on, once at a time for each farm."""

import datetime as dt

from django.utils.translation import gettext as _

from farmops.core import jobs
from farmops.core.clock import local_date
from farmops.core.models import User
from farmops.core.problems import DomainError, Kind
from farmops.desk.days import first_instant, refuse_far_day, weather_as_of
from farmops.desk.services import plan_week
from farmops.farms.models import Farm
from scheduling.models import WeekPlan

STALE_AFTER = dt.timedelta(minutes=2)


class PlanUnderWay(DomainError):
    """A plan of the farm is being worked out at this moment."""

    code = "plan_under_way"
    kind = Kind.CONFLICT


def newest_number(*, farm: Farm) -> int:
    """Return the number of the newest plan, 0 before there is one."""
    newest = WeekPlan.objects.filter(farm=farm).order_by("-number").first()
    return newest.number if newest else 0


def plan_anew(
    *, farm: Farm, first_on: dt.date, seconds: float, made_by: User | None, now: dt.datetime
) -> WeekPlan:
    """Plan seven days from a day on; what was sent is held on to where it can be. It goes by the weather that the pages
    show: where the record is old, by what was known when it ended, and as on the morning after.

    Raises PlanUnderWay while another plan of the farm is worked out, BadWeek for a day that is over or too far off,
    and what `plan_week` raises where there is no plan.
    """
    newest = newest_number(farm=farm)
    job = f"plan of farm {farm.pk}"
    if not jobs.claim(job=job, slot=newest, now=now, stale_after=STALE_AFTER):
        raise PlanUnderWay(
            _(
                "A plan is being worked out already, maybe without what was said since. Look again in ten seconds."
            )
        )
    today = local_date(now, farm.zone)
    try:
        refuse_far_day(farm=farm, first_on=first_on, today=today)
        return plan_week(
            farm=farm,
            first_on=first_on,
            seconds=seconds,
            made_by=made_by,
            now=now,
            as_of=weather_as_of(farm=farm, today=today),
            seen_at=first_instant(farm=farm, now=now),
            keep_sent=True,
        )
    finally:
        jobs.give_back(job=job, slot=newest)
