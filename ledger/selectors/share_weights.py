"""By what a cost is shared out over the seasons of a crop year: acres, machine hours, water, or equal parts."""

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import QuerySet, Sum
from django.utils.translation import gettext as _

from farmops.core.problems import DomainError
from farmops.farms.models import Farm, Implement, Machine, Pump, Season
from ledger.costing.money import divide_half_even
from ledger.models import Account, Line, SharedBy
from ledger.selectors.early_uses import StockItem
from ledger.selectors.pools import PoolThing
from scheduling.models import Watering
from scheduling.selectors.work_of_things import standing_work

UNITS = {
    SharedBy.ACRES: "ac",
    SharedBy.HOURS: "h",
    SharedBy.ACRE_INCHES: "ac-in",
    SharedBy.EQUAL: "part",
    SharedBy.USED: "",
}
SHOWN_DECIMALS = {
    SharedBy.ACRES: 1,
    SharedBy.HOURS: 1,
    SharedBy.ACRE_INCHES: 1,
    SharedBy.EQUAL: 0,
    SharedBy.USED: 2,
}


class ShareOutRefused(DomainError):
    """A share-out over which nothing can be told apart, or of a pool, days or a reason that do not make sense."""

    code = "share_out_refused"


@dataclass(frozen=True)
class Weight:
    """What one season counts in a share-out, to the ten-thousandth of its unit, and how that is said beside the sum."""

    season: Season
    amount: Decimal
    unit: str
    says: str

    @property
    def amount_e4(self) -> int:
        """Return the amount in ten-thousandths of its unit."""
        return int(self.amount.scaleb(4))


def weights(
    *,
    farm: Farm,
    shared_by: SharedBy,
    crop_year: int,
    first_on: dt.date,
    last_on: dt.date,
    thing: PoolThing | None = None,
    stocked: StockItem | None = None,
) -> dict[int, Weight]:
    """Return what each season of a crop year counts, by its row id; a season that counts nothing is among them at 0.

    Acres are those of the season. Hours are the machine hours of work records that stand, in the days, of the machine
    or implement, or of all where none is named. Acre-inches are the inches put on in the days times the season's acres,
    on fields whose pivot drinks from the pump, or on all. Equal parts count 1 each. Of an item of a stock it is what was used
    of it in the days and priced by a rate, or all that was used where nothing was. Raise ShareOutRefused where all are
    zero: then no share can be told from another, and nothing is split evenly instead.
    """
    seasons = Season.objects.filter(farm=farm, crop_year=crop_year).select_related("field").order_by("id")
    _refuse_odd_pair(shared_by, thing, stocked)
    if shared_by == SharedBy.HOURS:
        found = _hours(farm, seasons, first_on, last_on, thing)
    elif stocked is not None:
        found = _used(farm, seasons, first_on, last_on, stocked)
    elif shared_by == SharedBy.ACRE_INCHES:
        found = _acre_inches(farm, seasons, first_on, last_on, thing)
    else:
        found = {
            season.pk: season.area_ac if shared_by == SharedBy.ACRES else Decimal(1) for season in seasons
        }
    whole = sum(found.values(), Decimal(0))
    if whole == 0:
        raise ShareOutRefused(_nothing_ran(farm, shared_by, crop_year, first_on, last_on, thing, stocked))
    unit, places = UNITS[shared_by] if stocked is None else stocked.unit, SHOWN_DECIMALS[shared_by]
    shown = unit if shared_by != SharedBy.EQUAL else "equal parts"
    return {
        season.pk: Weight(
            season,
            found[season.pk],
            unit,
            f"{found[season.pk]:,.{places}f} of {whole:,.{places}f} {shown}",
        )
        for season in seasons
    }


def _refuse_odd_pair(shared_by: SharedBy, thing: PoolThing | None, stocked: StockItem | None) -> None:
    if stocked is not None and shared_by != SharedBy.USED:
        raise ShareOutRefused(
            _("What {item} was priced otherwise is shared out by what was used of it.").format(
                item=stocked.item
            ),
            fields={"shared_by": "By what was used."},
        )
    if stocked is None and shared_by == SharedBy.USED:
        raise ShareOutRefused(
            _("Only an input or fuel is shared out by what was used of it."),
            fields={"shared_by": "Not an item."},
        )
    if shared_by == SharedBy.HOURS and isinstance(thing, Pump):
        raise ShareOutRefused(
            _(
                "The machine hours of a pump are not recorded; share {pump} out by acre-inches, acres or equal parts."
            ).format(pump=thing.name),
            fields={"shared_by": "Not by hours."},
        )
    if shared_by == SharedBy.ACRE_INCHES and isinstance(thing, Machine | Implement):
        raise ShareOutRefused(
            _("{machine} puts no water on; share it out by hours, acres or equal parts.").format(
                machine=thing.name
            ),
            fields={"shared_by": "Not by water."},
        )


def _hours(
    farm: Farm,
    seasons: QuerySet[Season],
    first_on: dt.date,
    last_on: dt.date,
    thing: PoolThing | None,
) -> dict[int, Decimal]:
    records = standing_work(farm=farm).filter(
        field_pass__season__in=seasons, work_on__range=(first_on, last_on)
    )
    if isinstance(thing, Machine):
        records = records.filter(machine=thing)
    elif isinstance(thing, Implement):
        records = records.filter(implement=thing)
    minutes = dict(records.values_list("field_pass__season").annotate(Sum("machine_min")).order_by())
    return {
        season.pk: Decimal(divide_half_even(minutes.get(season.pk, 0) * 10_000, 60)).scaleb(-4)
        for season in seasons
    }


def _used(
    farm: Farm, seasons: QuerySet[Season], first_on: dt.date, last_on: dt.date, stocked: StockItem
) -> dict[int, Decimal]:
    lines = Line.objects.filter(
        farm=farm,
        account=Account.SEASON,
        season__in=seasons,
        item=stocked.item,
        unit=stocked.unit,
        entry__happened_on__range=(first_on, last_on),
    )
    for some in (lines.filter(rate__isnull=False), lines):
        sums = dict(some.values_list("season").annotate(Sum("quantity_e4")).order_by())
        if any(quantity_e4 for quantity_e4 in sums.values()):
            break
    return {season.pk: Decimal(max(sums.get(season.pk) or 0, 0)).scaleb(-4) for season in seasons}


def _acre_inches(
    farm: Farm,
    seasons: QuerySet[Season],
    first_on: dt.date,
    last_on: dt.date,
    thing: PoolThing | None,
) -> dict[int, Decimal]:
    waterings = Watering.objects.filter(
        farm=farm, superseded_by__isnull=True, is_taken_back=False, water_on__range=(first_on, last_on)
    )
    if isinstance(thing, Pump):
        waterings = waterings.filter(field__pivot__pump=thing)
    inches: dict[int, Decimal] = defaultdict(Decimal)
    for field_id, depth_in in waterings.values_list("field_id", "depth_in"):
        inches[field_id] += depth_in
    return {season.pk: inches[season.field_id] * season.area_ac for season in seasons}


def _nothing_ran(
    farm: Farm,
    shared_by: SharedBy,
    crop_year: int,
    first_on: dt.date,
    last_on: dt.date,
    thing: PoolThing | None,
    stocked: StockItem | None,
) -> str:
    if not Season.objects.filter(farm=farm, crop_year=crop_year).exists():
        return _("{farm} has no season of crop year {year} to share anything out to.").format(
            farm=farm.name, year=crop_year
        )
    by_hours = shared_by == SharedBy.HOURS
    if stocked is not None:
        return _(
            "Nothing of {item} was used for crop year {year} between {first} and {last}. Take the days in which it was used."
        ).format(item=stocked.item, year=crop_year, first=first_on, last=last_on)
    if thing is not None:
        what = _("no hour of {thing} is recorded") if by_hours else _("no water of {thing} was put on")
    else:
        what = _("no hour of any machine is recorded") if by_hours else _("no water of any pump was put on")
    return _(
        "Nothing ran in these days: {what} for crop year {year} between {first} and {last}, so no share can be told "
        "from another. Take other days, or share it out by acres or equal parts."
    ).format(
        what=what.format(thing=thing.name if thing is not None else ""),
        year=crop_year,
        first=first_on,
        last=last_on,
    )
