"""Which months are closed, where late work is booked, and what each month holds."""

import datetime as dt
import re
from collections import defaultdict
from dataclasses import dataclass
from typing import Any

from django.db.models import Count, Exists, F, Max, OuterRef, Q, QuerySet
from django.db.models.functions import TruncMonth

from farmops.farms.models import Farm
from ledger.models import Entry, PeriodMark, SourceKind
from ledger.selectors.carried_sums import at_head

MONTH = re.compile(r"(?P<year>[0-9]{4})-(?P<month>0[1-9]|1[0-2])", re.ASCII)


@dataclass(frozen=True)
class PeriodRow:
    """A month of a farm's books: open or closed, what was booked into it, and each time it was closed or opened.

    `head` is the digest that the books had when it was closed last, empty where it is open. `late` counts entries of
    earlier months that are booked here.
    """

    month: dt.date
    is_closed: bool
    entries: int
    late: int
    head: str
    number: int
    marks: tuple[PeriodMark, ...]


def month_from(text: str) -> dt.date:
    """Return the first day of a month written as 2026-04; raise ValueError with a sentence for anything else."""
    found = MONTH.fullmatch(text)
    if found is None or found["year"] == "0000":
        raise ValueError(f"{text!r} is not a month; write it as 2026-04.")
    return dt.date(int(found["year"]), int(found["month"]), 1)


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


def entries_until(*, farm: Farm, last_on: dt.date, after: dt.date | None) -> QuerySet[Entry]:
    """Return what is booked up to a day and after a closed month, closes and reopenings apart."""
    entries = Entry.objects.filter(farm=farm, booked_on__lte=last_on).exclude(source_kind=SourceKind.PERIOD)
    return entries if after is None else entries.filter(booked_on__gte=next_month(after))


def _booked_by_month(farm: Farm) -> dict[dt.date, dict[str, Any]]:
    rows = (
        Entry.objects.filter(farm=farm)
        .exclude(source_kind=SourceKind.PERIOD)
        .order_by()
        .annotate(month=TruncMonth("booked_on"))
        .values("month")
        .annotate(entries=Count("pk"), late=Count("pk", filter=~Q(happened_on=F("booked_on"))))
    )
    return {row["month"]: {**row} for row in rows}


def periods(*, farm: Farm, today: dt.date) -> list[PeriodRow]:
    """Return every month from the first that holds an entry to that of today, the newest first."""
    booked = at_head(farm=farm, what="booked-by-month", asked=None, make=lambda: _booked_by_month(farm))
    marks: dict[dt.date, list[PeriodMark]] = defaultdict(list)
    heads: dict[dt.date, tuple[str, int]] = {}
    closes = Entry.objects.filter(farm=farm, source_kind=SourceKind.PERIOD, purpose="close")
    for key, digest, number in closes.order_by("number").values_list("source_key", "hash_before", "number"):
        heads[month_from(key.partition(" ")[0])] = (digest, number)
    for mark in PeriodMark.objects.filter(farm=farm).select_related("made_by").order_by("turn", "-is_close"):
        marks[mark.month].append(mark)
    last = closed_through(farm=farm)
    months = [*booked, *marks]
    rows = []
    month = min(months, default=month_of(today))
    while month <= max([month_of(today), *months]):
        is_closed = last is not None and month <= last
        head, number = heads.get(month, ("", 0)) if is_closed else ("", 0)
        held = booked.get(month, {"entries": 0, "late": 0})
        rows.append(
            PeriodRow(month, is_closed, held["entries"], held["late"], head, number, tuple(marks[month]))
        )
        month = next_month(month)
    return rows[::-1]
