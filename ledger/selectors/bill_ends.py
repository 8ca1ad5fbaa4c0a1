"""Where a bill and its lines end, and where the next of the same payee usually goes."""

from collections.abc import Collection
from typing import Any

from farmops.farms.models import Farm, Season
from ledger.models import Bill, BillItem
from ledger.selectors.bills import bills_of, usual_sharing
from ledger.selectors.categories import CategoryBook

PLACES = ("season", "machine", "implement", "pump")


def goes_by_itself(item: BillItem) -> bool:
    """Return whether a line goes to a place of its own, or into stock by its code; any other goes where its bill goes."""
    return bool(item.item) or item.season_id is not None or item.machine_id is not None


def has_rest(*, bill: Bill) -> bool:
    """Return whether some of a bill goes where the bill itself goes: it has no lines, or one without a place."""
    items = list(bill.items.all())
    return not items or not all(goes_by_itself(item) for item in items)


def ends_of(*, bill: Bill) -> list[BillItem | None]:
    """Return a line for each place that lines of a bill name, or for the stock, and None for where the bill goes."""
    found: dict[tuple[int | None, int | None, bool] | None, BillItem | None] = {}
    for item in bill.items.all():
        if not goes_by_itself(item):
            found[None] = None
        elif item.item:
            found[None, None, True] = item
        else:
            found[item.season_id, item.machine_id, False] = item
    return list(found.values()) or [None]


def stays_in_stock(*, bill: Bill, category: str, categories: CategoryBook) -> bool:
    """Return whether what a bill asks for a category, without code and place, stays in stock."""
    is_placed = any(getattr(bill, name) is not None for name in (*PLACES, "incident"))
    is_shared = bool(bill.shared_by) and not bill.items.all()
    return categories.stock(category) is not None and not is_placed and not is_shared


def usual_place(
    *, farm: Farm, categories: CategoryBook, payee: str, wanted: Collection[str], crop_year: int
) -> dict[str, Any]:
    """Return where a bill goes of which nobody says it, as `enter_bill` takes it: where the payee's last one went.

    So only where that one was for the same and went to one place, a season being that of the same ground in the crop
    year; else it is shared by `usual_sharing`.
    """
    shared = usual_sharing(farm=farm, categories=categories, wanted=list(wanted), crop_year=crop_year)
    rows = bills_of(farm=farm, payee=payee)
    last = rows.select_related(*PLACES).prefetch_related("items__season", "items__machine").first()
    if last is None or last.incident_id is not None or set(wanted) != {last.category}:
        return {"shared_by": shared}
    ends = ends_of(bill=last)
    named: BillItem | Bill | None = ends[0] or last
    if len(ends) > 1 or (isinstance(named, BillItem) and named.item):
        return {"shared_by": shared}
    found = {name: row for name in PLACES if (row := getattr(named, name, None)) is not None}
    if "season" in found:
        season = _in_year(found["season"], crop_year)
        return {"shared_by": shared} if season is None else {**found, "season": season}
    if found:
        return found
    if last.shared_by:
        grows = Season.objects.filter(farm=farm, crop_year=crop_year).exists()
        return {"shared_by": last.shared_by if grows else ""}
    year = last.crop_year or last.bill_on.year
    nobody_said = not usual_sharing(farm=farm, categories=categories, wanted=[last.category], crop_year=year)
    return {"shared_by": shared if nobody_said else ""}


def _in_year(season: Season, crop_year: int) -> Season | None:
    """Return a season of the crop year or the one after as it is; else the only one of its ground in that year."""
    if season.crop_year in (crop_year, crop_year + 1):
        return season
    same = Season.objects.filter(field=season.field_id, part=season.part, crop_year=crop_year)
    found = list(same.select_related("field")[:2])
    return found[0] if len(found) == 1 else None
