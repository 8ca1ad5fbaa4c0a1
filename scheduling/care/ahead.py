"""The day on which a service is likely to fall due, from what is planned and the pace of the weeks before. Pure."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from scheduling.care.due import Left

MOST_DAYS = 400


@dataclass(frozen=True)
class Use:
    """What is run on one day: engine hours, acres, and outings (below one where it does not go out every day)."""

    hours: Decimal = Decimal(0)
    acres: Decimal = Decimal(0)
    starts: Decimal = Decimal(0)


def expected_day(
    left: Left, *, today: dt.date, ahead: Sequence[Use], pace: Use, most_days: int = MOST_DAYS
) -> dt.date | None:
    """Return the day on which the first count runs out; None where that is more than `most_days` away.

    `ahead` is what is planned for today and the days after it; beyond it the `pace` holds. What is over is due today.
    A count of days runs out on its own day, whatever is run.
    """
    if left.is_over:
        return today
    hours, acres, starts = left.hours, left.acres, None if left.starts is None else Decimal(left.starts)
    for number in range(most_days + 1):
        day = today + dt.timedelta(days=number)
        if left.days is not None and number >= left.days:
            return day
        use = ahead[number] if number < len(ahead) else pace
        hours = None if hours is None else hours - use.hours
        acres = None if acres is None else acres - use.acres
        starts = None if starts is None else starts - use.starts
        if any(one is not None and one <= 0 for one in (hours, acres, starts)):
            return day
    return None
