"""Months that close: nothing is booked into them any more; opened again, they take postings as before."""

import datetime as dt

from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm
from ledger.selectors.periods import closed_through, month_of


class PeriodClosedError(DomainError):
    """Something is to be booked by hand into a month that is closed."""

    code = "period_closed"
    kind = Kind.CONFLICT


def refuse_closed(*, farm: Farm, day: dt.date) -> None:
    """Refuse a day in a closed month; the caller holds the books, so that the answer holds until it commits."""
    last = closed_through(farm=farm)
    if last is not None and month_of(day) <= last:
        raise PeriodClosedError(
            f"{day} is in a closed month: the books of {farm} are closed through {last:%Y-%m}. "
            f"Take a later day, or open the month again.",
            fields={"day": "In a closed month."},
        )
