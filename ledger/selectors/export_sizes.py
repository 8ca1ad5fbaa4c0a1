"""What a file of the books will hold, counted before it is written."""

import datetime as dt
from dataclasses import dataclass

from django.db.models import Count, Max, Min, Sum

from farmops.farms.models import Farm
from ledger.models import Account, Entry, Line
from ledger.selectors.costs import shown_quantity


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
    bare = entries.filter(line_count=0).count()
    return Holds(lines["rows"] + bare, days["first"], days["last"], lines["cents"])


def season_cost_rows(*, farm: Farm, crop_year: int) -> tuple[int, int]:
    """Return how many rows the costs of a crop year by season and category have, and their cents: as `field_costs`."""
    lines = Line.objects.filter(farm=farm, account=Account.SEASON, season__crop_year=crop_year).order_by()
    groups = lines.values("season_id", "category", "unit").annotate(
        of_group=Sum("cents"), quantity_e4=Sum("quantity_e4")
    )
    paid = groups.exclude(of_group=0).aggregate(rows=Count("*"), cents=Sum("of_group", default=0))
    of_quantity_alone = sum(
        bool(shown_quantity(row["quantity_e4"], row["unit"])[0]) for row in groups.filter(of_group=0)
    )
    return paid["rows"] + of_quantity_alone, paid["cents"]
