"""What is left of a service rule, and the minute at which it may run out."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

Stretches = Sequence[tuple[int, int]]
"""Minutes `from` <= m < `to`, in order and not overlapping."""
MINUTES_PER_H = 60


class CareError(ValueError):
    """Numbers of a service rule that make no sense."""


@dataclass(frozen=True)
class Every:
    """How often: after so many hours run, days gone by, acres worked or starts, whichever is first; None is not counted."""

    hours: Decimal | None = None
    days: int | None = None
    acres: Decimal | None = None
    starts: int | None = None

    def __post_init__(self) -> None:
        given = [one for one in (self.hours, self.days, self.acres, self.starts) if one is not None]
        if not given or min(given) <= 0:
            raise CareError("a service comes after a number of hours, days, acres or starts above 0")


@dataclass(frozen=True)
class Run:
    """What was run since the last service; days None where nobody knows when that was."""

    hours: Decimal
    days: int | None
    acres: Decimal
    starts: int = 0


@dataclass(frozen=True)
class Left:
    """What is left until the next service, below 0 where it is over; None is not counted."""

    hours: Decimal | None
    days: int | None
    acres: Decimal | None
    starts: int | None = None

    @property
    def is_over(self) -> bool:
        """Whether one of the counts has run out."""
        counts = (self.hours, self.days, self.acres, self.starts)
        return any(one is not None and one <= 0 for one in counts)


def left_of(every: Every, run: Run) -> Left:
    """Return what is left of a rule after so much was run; a count of days without a beginning has run out."""
    return Left(
        hours=None if every.hours is None else every.hours - run.hours,
        days=None if every.days is None else 0 if run.days is None else every.days - run.days,
        acres=None if every.acres is None else every.acres - run.acres,
        starts=None if every.starts is None else every.starts - run.starts,
    )


def runs_out_min(
    left: Left,
    *,
    running: Stretches,
    day_ends_min: Sequence[int],
    ac_per_h: Decimal | None,
    busy_share: Fraction = Fraction(1),
) -> int | None:
    """Return the first minute at which a service is due, None where that lies past all that is given.

    `running` are the minutes in which the thing could run, of which it really runs `busy_share` (above 0, up to 1);
    with 1 no plan can run it past its limit before that minute. `day_ends_min` are the ends of today and the days after
    it: with 0 days left it is due now, with 1 at the end of today. Acres count at `ac_per_h`; without a pace they only
    count once they have run out. Starts count as one on each of those days in which it could run: with 1 left it may
    go out once more and is due at the end of that day. Raises CareError for a share outside its range.
    """
    if not 0 < busy_share <= 1:
        raise CareError(f"the busy share is {busy_share}; it is above 0 and at most 1")
    found: list[int] = []
    if left.is_over:
        found.append(0)
    hours = [left.hours] if left.hours is not None else []
    if left.acres is not None and ac_per_h is not None and ac_per_h > 0:
        hours.append(left.acres / ac_per_h)
    for one in hours:
        minute = _minute_after(Fraction(max(one, Decimal(0))) * MINUTES_PER_H / busy_share, running)
        if minute is not None:
            found.append(minute)
    if left.days is not None and 0 < left.days <= len(day_ends_min):
        found.append(day_ends_min[left.days - 1])
    if left.starts is not None and left.starts > 0:
        out = _days_out(running, day_ends_min)
        if left.starts <= len(out):
            found.append(out[left.starts - 1])
    return min(found, default=None)


def _days_out(running: Stretches, day_ends_min: Sequence[int]) -> list[int]:
    """Return the ends of the days in which something could run."""
    begins = [0, *day_ends_min[:-1]]
    return [
        ends
        for first, ends in zip(begins, day_ends_min, strict=True)
        if any(one < ends and other > first for one, other in running)
    ]


def _minute_after(needed: Fraction, running: Stretches) -> int | None:
    """Return the first minute by which so many minutes of the stretches have passed."""
    for begins, ends in running:
        if needed <= ends - begins:
            return begins + int(needed)
        needed -= ends - begins
    return None
