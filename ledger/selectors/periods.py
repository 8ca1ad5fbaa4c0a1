"""Which months are closed, and where late work is booked."""

import datetime as dt

from django.db.models import Exists, Max, OuterRef

from farmops.farms.models import Farm
from ledger.models import PeriodMark


def month_of(day: dt.date) -> dt.date:
    """Return the first day of a day's month."""
    return day.replace(day=1)


def next_month(month: dt.date) -> dt.date:
    """Return the first day of the month after."""
    return (month.replace(day=28) + dt.timedelta(days=4)).replace(day=1)


def closed_through(*, farm: Farm) -> dt.date | None:
    """Return the first day of the last month that is closed; None where none is. Months close in their order."""
    undone = PeriodMark.objects.filter(
        farm=OuterRef("farm"), month=OuterRef("month"), turn=OuterRef("turn"), is_close=False
    )
    shut = PeriodMark.objects.filter(~Exists(undone), farm=farm, is_close=True)
    found: dt.date | None = shut.aggregate(month=Max("month"))["month"]
    return found


def open_day(*, day: dt.date, closed: dt.date | None) -> dt.date:
    """Return the day itself, or the first day after the last closed month where its own month is closed."""
    return day if closed is None or month_of(day) > closed else next_month(closed)


def booking_day(*, farm: Farm, day: dt.date) -> dt.date:
    """Return the day itself, or the first day of the first open month where its own month is closed."""
    return open_day(day=day, closed=closed_through(farm=farm))
