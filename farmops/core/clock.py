"""The clock, read by interfaces only: views, commands and background functions pass the instant on as an argument."""

import datetime as dt
from zoneinfo import ZoneInfo

from django.utils import timezone


def now() -> dt.datetime:
    """Return this instant, in UTC."""
    return timezone.now()


def local_date(instant: dt.datetime, zone: str) -> dt.date:
    """Return the business date of an instant on the clock of an IANA zone."""
    return instant.astimezone(ZoneInfo(zone)).date()
