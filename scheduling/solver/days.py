"""Days of the problem's clock: their names, and the minutes of the horizon that they hold."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from typing import TypeVar
from zoneinfo import ZoneInfo

from scheduling.solver.problem import Problem, Stretch

WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
FEWEST_LETTERS = 3
MINUTE = timedelta(minutes=1)
S = TypeVar("S", bound=Stretch)


def days_of(problem: Problem) -> Iterator[date]:
    """Yield every day of the problem's clock that the horizon touches, in order."""
    zone = ZoneInfo(problem.zone)
    start = problem.start.astimezone(UTC)
    last = (start + (problem.horizon - 1) * MINUTE).astimezone(zone).date()
    day = start.astimezone(zone).date()
    while day <= last:
        yield day
        day += timedelta(days=1)


def minutes_of(problem: Problem, day: date) -> Stretch:
    """Return the minutes of the horizon from midnight to midnight of a day; a day outside of it is empty.

    A day on which the clock changes has 1,380 or 1,500 minutes.
    """
    zone = ZoneInfo(problem.zone)
    first, last = (
        min(max(_after(problem, datetime.combine(one, time(), tzinfo=zone)), 0), problem.horizon)
        for one in (day, day + timedelta(days=1))
    )
    return Stretch(first, last)


def day_named(problem: Problem, text: str) -> date | None:
    """Return the day of a weekday's name, the first in the horizon, or of a date such as 2027-04-08; None if unknown.

    Of a weekday's name the first three letters are enough. A date need not lie in the horizon.
    """
    word = text.strip().lower()
    if len(word) >= FEWEST_LETTERS:
        for number, name in enumerate(WEEKDAYS):
            if name.startswith(word):
                return next((day for day in days_of(problem) if day.weekday() == number), None)
    try:
        return date.fromisoformat(word)
    except ValueError:
        return None


def spoken(day: date) -> str:
    """Return a day such as `Thursday, April 8`."""
    return f"{day:%A}, {day:%B} {day.day}"


def name_of(problem: Problem, day: date) -> str:
    """Return the shortest name by which `day_named` finds a day of the horizon again."""
    word = WEEKDAYS[day.weekday()]
    return word if day_named(problem, word) == day else day.isoformat()


def within(stretches: Sequence[S], inside: Stretch) -> list[S]:
    """Return the parts of sorted stretches that lie inside another."""
    return [
        _cut(one, max(one.start, inside.start), min(one.end, inside.end))
        for one in stretches
        if one.start < inside.end and inside.start < one.end
    ]


def without(stretches: Sequence[S], gone: Stretch) -> list[S]:
    """Return the parts of sorted stretches that lie outside of another."""
    return [
        part
        for one in stretches
        for part in (
            _cut(one, one.start, min(one.end, gone.start)),
            _cut(one, max(one.start, gone.end), one.end),
        )
        if part.start < part.end
    ]


def _cut(stretch: S, start: int, end: int) -> S:
    return replace(stretch, start=start, end=end)


def _after(problem: Problem, instant: datetime) -> int:
    """Return the first whole minute of the horizon's count at or after an instant."""
    return -((problem.start.astimezone(UTC) - instant.astimezone(UTC)) // MINUTE)
