"""Planning anew: the days from one on."""

import datetime as dt
from collections.abc import Callable

from django.db.models import Max

from farmops.core.clock import local_date
from farmops.core.models import User
from farmops.desk.days import first_instant, refuse_far_day, weather_as_of
from farmops.desk.services import plan_week
from farmops.farms.models import Farm
from scheduling.models import WeekPlan


def newest_number(*, farm: Farm) -> int:
    """Return the number of the newest plan, 0 before there is one."""
    newest: int | None = WeekPlan.objects.filter(farm=farm).aggregate(newest=Max("number"))["newest"]
    return newest or 0


def plan_anew(
    *,
    farm: Farm,
    first_on: dt.date,
    seconds: float,
    made_by: User | None,
    now: dt.datetime,
    stop: Callable[[], bool] | None = None,
    before_storing: Callable[[], None] | None = None,
) -> WeekPlan:
    """Plan seven days from a day on; what was sent is held on to where it can be. It goes by the weather that the pages
    show: where the record is old, by what was known when it ended, and as on the morning after.

    `stop` and `before_storing` are those of `plan_week`. Raises BadWeek for a day that is over or too far off, and what
    `plan_week` raises where there is no plan.
    """
    today = local_date(now, farm.zone)
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
        stop=stop,
        before_storing=before_storing,
    )
