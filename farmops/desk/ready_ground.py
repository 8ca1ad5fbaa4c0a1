"""The ground of the day that the pages are about, kept ready for the farms that somebody looks at or plans."""

import datetime as dt
import logging

from django.db.models import Q

from farmops.core.clock import local_date
from farmops.core.problems import DomainError
from farmops.desk.days import weather_as_of, working_day
from farmops.farms.models import Farm
from farmops.weather.models import GroundKept
from scheduling.models import WeekPlan
from scheduling.services.keeping_ground import forget_old_ground, ground_of_day

logger = logging.getLogger(__name__)
LATELY = dt.timedelta(days=7)
"""Farm judgement: a farm of which nothing was looked at or planned for a week is worked out when somebody looks."""


def keep_ready(*, now: dt.datetime) -> int:
    """Bring the ground of today up to date on farms whose ground was asked for, or that were planned, lately; return of
    how many.

    What is kept of other days is forgotten. A farm whose ground cannot be worked out keeps no other from its turn.
    """
    since = now - LATELY
    looked_at = GroundKept.objects.filter(made_at__gt=since).order_by().values("farm")
    planned = WeekPlan.objects.filter(made_at__gt=since).order_by().values("farm")
    farms = Farm.objects.filter(Q(pk__in=looked_at) | Q(pk__in=planned))
    count = 0
    for farm in farms.order_by("code"):
        today = local_date(now, farm.zone)
        day = working_day(farm=farm, today=today)
        try:
            ground_of_day(farm=farm, day=day, as_of=weather_as_of(farm=farm, today=today), now=now)
            count += 1
        except DomainError as error:
            logger.info("The ground of %s cannot be kept ready: %s", farm, error.says)
        forget_old_ground(farm=farm, before=day)
    return count
