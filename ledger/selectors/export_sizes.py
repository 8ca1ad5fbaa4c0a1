"""What a file of the books will hold, counted before it is written."""

import datetime as dt
from dataclasses import dataclass

from django.db.models import Count, Max, Min, Sum

from farmops.farms.models import Farm
from ledger.models import Entry, Line


@dataclass(frozen=True)
class Holds:
    """How many rows a file will have, of which days of booking, and the sum of its amounts."""

    rows: int
    first: dt.date | None
    last: dt.date | None
    cents: int


def booked_lines(*, farm: Farm, first: dt.date, last: dt.date) -> Holds:
    """Return the lines booked on some days, both included: as the year's lines and the general ledger have them."""
    found = Line.objects.filter(farm=farm, entry__booked_on__range=(first, last)).aggregate(
        rows=Count("pk"),
        first=Min("entry__booked_on"),
        last=Max("entry__booked_on"),
        cents=Sum("cents", default=0),
    )
    return Holds(found["rows"], found["first"], found["last"], found["cents"])


def journal_size(*, farm: Farm) -> Holds:
    """Return what the journal holds: a row for each line, and one for an entry that has none."""
    lines = Line.objects.filter(farm=farm).aggregate(rows=Count("pk"), cents=Sum("cents", default=0))
    entries = Entry.objects.filter(farm=farm)
    days = entries.aggregate(first=Min("booked_on"), last=Max("booked_on"))
    bare = entries.filter(lines=None).count()
    return Holds(lines["rows"] + bare, days["first"], days["last"], lines["cents"])
