"""Holding a pass to an outfit or an hour, by the weather and from the hour on that the pages go by."""

import datetime as dt

from farmops.core.clock import local_date
from farmops.desk.days import first_instant, weather_as_of
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
