"""What a delay of a pass costs, said in the two numbers that a planning problem has for it: `due` and `late_cents_per_hour`.

The format prices lateness by the hour after `due`, and what the weather may take by the minute: each minute worked at a
chance of 0.9 counts as a tenth of a minute's delay. But a day that turns out shut costs more than the hours that were
to be worked in it: the outfit comes back on another day. So

* where a task can be late in these days, the hourly price is the true one, a day's price over 24. Waiting for a better
  day then costs what it costs, and the allowance only breaks ties;
* where a task cannot be late in these days (no due date, one after the plan, or a day part that others follow), nothing
  but the weather tells one day from another, and the hourly price is set so that the whole task at a chance of 0.9
  counts as a tenth of a day's delay: a day's price over the task's own hours. A Tuesday that is open nine times in ten
  is then worth 0.4 days of delay more than a Thursday that is open five times in ten, however short the task.
"""

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

DAY_H = 24
HOUR_MIN = 60


@dataclass(frozen=True)
class Delay:
    """Prices of a pass in cents: of each day after `due_min`, and of a day lost to the weather while it is not late.

    `due_min` None: it cannot be late in these days. `is_of_each_part`: every day part is late by itself, by its acres;
    else the last part is late for all. `left_late_cents` is what leaving the pass costs on top of its own price.
    """

    due_min: int | None = None
    late_cents_per_day: Fraction = Fraction(0)
    lost_day_cents: Fraction = Fraction(0)
    is_of_each_part: bool = False
    left_late_cents: Fraction = Fraction(0)


def delay_keys(delay: Delay, *, share: Fraction, is_last: bool, minutes: int) -> dict[str, Any]:
    """Return `due` and `late_cents_per_hour` of a task that is a `share` of its pass and takes at least so many minutes."""
    if delay.due_min is not None and (is_last or delay.is_of_each_part):
        per_day = delay.late_cents_per_day * (share if delay.is_of_each_part else 1)
        return {"due": delay.due_min, "late_cents_per_hour": round(per_day / DAY_H)}
    return {"late_cents_per_hour": round(delay.lost_day_cents * HOUR_MIN / minutes)}
