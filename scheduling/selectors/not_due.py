"""What a plan does not hold because its time has not come yet, apart from what it really leaves out."""

import calendar
import datetime as dt
import re
from collections.abc import Sequence

from scheduling.selectors.passes import KEY

NOT_BEFORE = "It may not start before "
FIXED_LATER = "It is fixed to start on "
WAITS = "It waits for "
AFTER_IT = re.compile(r"and at least \d+ days after it, which is not within this plan\.$")
DAY = re.compile(r"(?P<weekday>[A-Z][a-z]+), (?P<month>[A-Z][a-z]+) (?P<day>\d{1,2})\b")
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
MOST_YEARS = 6
"""A day and its weekday fall together again after so many years at the latest, but for February 29."""


def not_yet_due(*, not_offered: Sequence[Sequence[str]], first_on: dt.date) -> dict[str, dt.date | None]:
    """Return the passes that were not offered to a plan because their time is later, each with its first day.

    `not_offered` are the keys and reasons that a plan keeps, `first_on` is its first day. The day is None where only
    what comes before tells it. A pass that waits for one that is not due is not due either.
    """
    whys = {one[0]: one[1] for one in not_offered}
    found: dict[str, dt.date | None] = {}
    for key in whys:
        chain = [key]
        while (ahead := _waits_for(whys[chain[-1]])) in whys and ahead not in chain:
            chain.append(ahead)
        root = whys[chain[-1]]
        if root.startswith((NOT_BEFORE, FIXED_LATER)):
            found[key] = _day_of(root, first_on) if len(chain) == 1 else None
        elif AFTER_IT.search(root):
            found[key] = None
    return found


def _waits_for(why: str) -> str:
    """Return the key of the pass that a reason says is waited for; "" where it says none, or one that is in the plan."""
    ahead = KEY.match(why, len(WAITS)) if why.startswith(WAITS) and not AFTER_IT.search(why) else None
    return ahead[0].partition("#")[0] if ahead is not None else ""


def _day_of(why: str, first_on: dt.date) -> dt.date | None:
    """Return the day that a reason names without its year: the first with that weekday from the first day of the plan on."""
    told = DAY.search(why)
    if told is None or told["month"] not in MONTHS:
        return None
    month, day = MONTHS.index(told["month"]) + 1, int(told["day"])
    for year in range(first_on.year, first_on.year + MOST_YEARS + 1):
        if day > calendar.monthrange(year, month)[1]:
            continue
        found = dt.date(year, month, day)
        if found >= first_on and WEEKDAYS[found.weekday()] == told["weekday"]:
            return found
    return None
