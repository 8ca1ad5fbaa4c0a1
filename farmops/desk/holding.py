"""Holding a pass to an outfit or an hour, by the weather and from the hour on that the pages go by."""

import datetime as dt
from zoneinfo import ZoneInfo

from farmops.core.clock import local_date
from farmops.desk.days import weather_as_of, working_day
from farmops.farms.models import Farm
from scheduling.models import FieldPass
from scheduling.services.fixing import fix_pass


def hold_pass(
    *,
    farm: Farm,
    field_pass: FieldPass,
    outfit: str = "",
    starts_at: dt.datetime | None = None,
    now: dt.datetime,
) -> FieldPass:
    """Hold a pass to an outfit, an hour, or both; where the weather's record is old, from the day after it ends on."""
    return fix_pass(
        field_pass=field_pass,
        outfit=outfit,
        starts_at=starts_at,
        not_before=first_instant(farm=farm, now=now),
        as_of=weather_as_of(farm=farm, today=local_date(now, farm.zone)),
    )


def first_instant(*, farm: Farm, now: dt.datetime) -> dt.datetime:
    """Return the first instant that can still be planned: now, or where the weather's record is old, the midnight after
    its last day.
    """
    today = local_date(now, farm.zone)
    day = working_day(farm=farm, today=today)
    return now if day == today else dt.datetime.combine(day, dt.time(), tzinfo=ZoneInfo(farm.zone))
