"""What a file of the books will hold, counted before it is written."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Max, Min, Sum

from farmops.farms.models import Farm, Season
from ledger.models import Account, Entry, Line
from ledger.selectors.carried_sums import at_head, line_sums
from ledger.selectors.costs import shown_quantity
from ledger.selectors.line_days import LineDay, line_days


@dataclass(frozen=True)
class Holds:
    """How many rows a file will have, of which days of booking, and the sum of its amounts."""

    rows: int
    first: dt.date | None
    last: dt.date | None
    cents: int


def booked_lines(*, farm: Farm, first: dt.date, last: dt.date) -> Holds:
    """Return the lines booked on some days, both included: as the year's lines and the general ledger have them."""
    return _of_days([one for one in _days(farm) if first <= one.day <= last])


def journal_size(*, farm: Farm) -> Holds:
    """Return what the journal holds: a row for each line, and one for an entry that has none."""
    lines = _of_days(_days(farm))
    entries = Entry.objects.filter(farm=farm)
    days = entries.aggregate(first=Min("booked_on"), last=Max("booked_on"))
    bare = entries.filter(line_count=0).count()
    return Holds(lines.rows + bare, days["first"], days["last"], lines.cents)


def season_cost_rows(*, farm: Farm, crop_year: int) -> tuple[int, int]:
    """Return how many rows the costs of a crop year by season and category have, and their cents: as `field_costs`."""
    return at_head(
        farm=farm, what="season-cost-rows", asked=crop_year, make=lambda: _season_cost_rows(farm, crop_year)
    )


def _season_cost_rows(farm: Farm, crop_year: int) -> tuple[int, int]:
    seasons = (
        Season.objects.filter(farm=farm, crop_year=crop_year).order_by("pk").values_list("pk", flat=True)
    )
    groups = line_sums(
        farm=farm,
        lines=Line.objects.filter(account=Account.SEASON, season_id__in=list(seasons)),
        by=("season_id", "category", "unit"),
        sums={"sum_cents": Sum("cents"), "sum_e4": Sum("quantity_e4")},
        carry=True,
    )
    rows = sum(
        bool(cents or shown_quantity(quantity_e4, unit)[0])
        for (_season, _category, unit), (cents, quantity_e4) in groups.items()
    )
    return rows, sum(cents for cents, _quantity_e4 in groups.values())


def _days(farm: Farm) -> list[LineDay]:
    return line_days(farm=farm, lines=Line.objects.filter(farm=farm), day="entry__booked_on", carry=True)


def _of_days(days: Sequence[LineDay]) -> Holds:
    """Return what the lines of some days hold, which come in order."""
    return Holds(
        sum(one.line_count for one in days),
        days[0].day if days else None,
        days[-1].day if days else None,
        sum(one.cents for one in days),
    )
