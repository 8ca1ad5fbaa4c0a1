"""Lines counted day by day, so that a page of a long list reads the lines of a few days and not all of them."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Count, QuerySet, Sum

from farmops.farms.models import Farm
from ledger.models import Line
from ledger.selectors.carried_sums import line_sums


@dataclass(frozen=True)
class LineDay:
    """How many lines a day has, and what they come to."""

    day: dt.date
    line_count: int
    cents: int


@dataclass(frozen=True)
class DaysOfPage:
    """The days, both included, on which the lines of a page stand; how many lines of these days are before the page, and
    what all lines of earlier days come to."""

    first: dt.date
    last: dt.date
    skip: int
    before_cents: int


def line_days(*, farm: Farm, lines: QuerySet[Line], day: str, carry: bool = False) -> list[LineDay]:
    """Return the days of some lines of one farm, in order; `day` is the column that says on which day a line stands."""
    sums = {"line_count": Count("pk"), "sum_cents": Sum("cents")}
    found = line_sums(farm=farm, lines=lines, by=(day,), sums=sums, carry=carry)
    return [LineDay(on, count, cents) for (on,), (count, cents) in sorted(found.items())]


def days_of_page(days: Iterable[LineDay], *, skip: int, most: int) -> DaysOfPage | None:
    """Return the days of a page of at most so many lines, out of days in order; None where it has no lines."""
    passed = cents = 0
    first: tuple[dt.date, int, int] | None = None
    last = None
    for one in days:
        if first is None and passed + one.line_count > skip:
            first = one.day, skip - passed, cents
        passed, cents = passed + one.line_count, cents + one.cents
        last = one.day
        if first is not None and passed >= skip + most:
            break
    return None if first is None or last is None else DaysOfPage(first[0], last, first[1], first[2])
