"""Costs that did not end on a field: machine pools, pools of pumps, stocks, the farm; what is owed. Nothing is lost."""

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from django.db.models import Case, F, Q, Sum, Value, When
from django.utils.translation import gettext as _

from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm, Implement, Machine, Pump
from ledger.models import SOURCES, Account, Category, Line
from ledger.selectors.carried_sums import line_sums
from ledger.selectors.early_uses import StockItem, differences_at_head, price_differences
from ledger.selectors.source_words import thing_says

PoolThing = Machine | Implement | Pump


class NoSuchPool(DomainError):
    """A pool is asked for that the farm does not have."""

    code = "no_such_pool"
    kind = Kind.MISSING


class PoolKind(StrEnum):
    """Whose pool it is; they are listed in this order."""

    MACHINE = "machine"
    IMPLEMENT = "implement"
    PUMP = "pump"
    OVERHEAD = "overhead"
    SHED = "shed"
    TANK = "tank"


@dataclass(frozen=True)
class Pool:
    """What a pool holds, by category; `thing` is None for the farm as a whole and for an item of a stock.

    Below zero a category was charged to fields ahead of what it cost so far. Of an item it is what uses before its bill
    were priced less than the bill asked.
    """

    kind: PoolKind
    thing: PoolThing | None
    by_category: Mapping[str, int]
    stocked: StockItem | None = None

    @property
    def left_cents(self) -> int:
        """Return everything that is left to share out."""
        return sum(self.by_category.values())

    @property
    def key(self) -> str:
        """Return the name by which a person or a form asks for it: `machine:tractor-1`, `overhead`."""
        return key_of_pool(self.thing, item=self.item, stock=STOCKED.get(self.kind, ""))

    @property
    def item(self) -> str:
        """Return the code of the item, empty of a pool that is no item's."""
        return self.stocked.item if self.stocked is not None else ""

    @property
    def name(self) -> str:
        """Return whose it is, in words."""
        if self.thing is not None:
            return self.thing.name
        return self.item or Account.OVERHEAD.label


THINGS: dict[PoolKind, type[PoolThing]] = {
    PoolKind.MACHINE: Machine,
    PoolKind.IMPLEMENT: Implement,
    PoolKind.PUMP: Pump,
}

STOCKED = {PoolKind.SHED: Account.INPUT_STOCK, PoolKind.TANK: Account.FUEL_STOCK}
"""The stock in which an item is, by the kind of its pool."""


def key_of_pool(thing: PoolThing | None, *, item: str = "", stock: Account | str = "") -> str:
    """Return the name of the pool of a thing or of an item in a stock, `overhead` for the farm as a whole."""
    if item:
        return f"{next(kind for kind, account in STOCKED.items() if account == stock).value}:{item}"
    if thing is None:
        return PoolKind.OVERHEAD.value
    kind = next(kind for kind, model in THINGS.items() if isinstance(thing, model))
    return f"{kind.value}:{thing.code}"


@dataclass(frozen=True)
class PoolCost:
    """A machine's or implement's pool: bills and service put in, hours charged and shares taken out, and what is left
    (below zero: over-charged)."""

    code: str
    name: str
    bills_cents: int
    charged_cents: int
    shared_cents: int = 0

    @property
    def left_cents(self) -> int:
        """Return bills and service less what the fields were charged and what was shared out."""
        return self.bills_cents - self.charged_cents - self.shared_cents


@dataclass(frozen=True)
class LedgerTotals:
    """All lines of a farm by where they stand; together they are zero."""

    season_cents: int
    other_seasons_cents: int
    by_account: tuple[tuple[Account, int], ...]

    @property
    def difference_cents(self) -> int:
        """Return what all of it sums to: 0 in books that are whole."""
        return self.season_cents + self.other_seasons_cents + sum(cents for _, cents in self.by_account)


def by_source(*keys: str) -> Q:
    """Return the lines of entries that have one of these keys to their source, and of what reversed them.

    Told by the kind of source, which an entry that was read from a journal has too.
    """
    kinds = [kind.value for kind, key in SOURCES.items() if key in keys]
    return Q(entry__source_kind__in=kinds) | Q(entry__reverses__source_kind__in=kinds)


OF_SHARES = by_source("share_out")
"""Lines of share-outs."""
OF_CHARGES = by_source("work_record", "hour_reading") | (
    by_source("fuel_fill") & Q(category=Category.LUBRICANTS)
)
"""Lines by which a pool's hours are charged, and its oil and grease with the fuel. Fuel that no work burned and time that
incidents cost are put in, as bills are."""


def pool_balances(*, farm: Farm, through: dt.date, carry: bool = False) -> list[Pool]:
    """Return every pool that holds something, by what was booked up to and with a day.

    Machines come first, then implements, pumps, the farm as a whole and items of the stocks, each by its code. Categories
    at zero are left out; so is what was read from another farm's journal and belongs to no machine here. The sums are
    carried on, or made anew.
    """
    rows = line_sums(
        farm=farm,
        lines=Line.objects.filter(
            farm=farm,
            account__in=(Account.MACHINE_POOL, Account.IRRIGATION, Account.OVERHEAD),
            entry__booked_on__lte=through,
        ),
        by=("account", "machine_id", "implement_id", "pump_id", "category"),
        sums={"sum_cents": Sum("cents")},
        carry=carry,
    )
    held: dict[tuple[PoolKind, int], dict[str, int]] = defaultdict(dict)
    for (account, machine_id, implement_id, pump_id, category), (cents,) in rows.items():
        place = _place(account, machine_id, implement_id, pump_id)
        if place is not None and cents != 0:
            held[place][category] = cents
    things = {
        (kind, thing.pk): thing
        for kind, model in THINGS.items()
        for thing in model.objects.filter(pk__in=[pk for found, pk in held if found == kind])
    }
    pools = [
        Pool(kind, things.get((kind, pk)), dict(sorted(cents.items()))) for (kind, pk), cents in held.items()
    ]
    kinds = {account: kind for kind, account in STOCKED.items()}
    differences = (differences_at_head if carry else price_differences)(farm=farm, through=through)
    pools += [
        Pool(kinds[one.stocked.account], None, {one.category: one.cents}, one.stocked) for one in differences
    ]
    order = list(PoolKind)
    return sorted(pools, key=lambda pool: (order.index(pool.kind), pool.key))


def pool_named(*, farm: Farm, key: str) -> Pool:
    """Return the pool of a key such as `machine:tractor-1`, `pump:well-1` or `overhead`, without what it holds."""
    kind, _colon, code = key.partition(":")
    if key == PoolKind.OVERHEAD:
        return Pool(PoolKind.OVERHEAD, None, {})
    if kind in set(STOCKED) and code:
        account = STOCKED[PoolKind(kind)]
        newest = (
            Line.objects.filter(farm=farm, account=account, item=code, quantity_e4__gt=0)
            .order_by("pk")
            .last()
        )
        if newest is not None:
            return Pool(PoolKind(kind), None, {}, StockItem(account, code, newest.unit))
    if kind in THINGS:
        thing = THINGS[PoolKind(kind)].objects.filter(farm=farm, code=code).first()
        if thing is not None:
            return Pool(PoolKind(kind), thing, {})
    raise NoSuchPool(
        _(
            "{farm} has no pool {key}; a pool is overhead, machine:CODE, implement:CODE, pump:CODE, shed:CODE or tank:CODE."
        ).format(farm=farm.name, key=repr(key)),
        fields={"pool": "Not known."},
    )


def _place(
    account: str, machine_id: int | None, implement_id: int | None, pump_id: int | None
) -> tuple[PoolKind, int] | None:
    if account == Account.OVERHEAD:
        return PoolKind.OVERHEAD, 0
    for kind, pk in (
        (PoolKind.MACHINE, machine_id),
        (PoolKind.IMPLEMENT, implement_id),
        (PoolKind.PUMP, pump_id),
    ):
        if pk is not None:
            return kind, pk
    return None


def pool_costs(*, farm: Farm, carry: bool = False) -> list[PoolCost]:
    """Return the pools of machines and implements in the order of their codes, from sums carried on or summed anew.

    What was read from another farm's journal and belongs to no machine here stands under the code it came with.
    """
    unlinked = Case(When(machine=None, implement=None, then=F("subject")), default=Value(""))
    lines = Line.objects.filter(farm=farm, account=Account.MACHINE_POOL).annotate(unlinked=unlinked)
    by = ("machine", "implement", "unlinked")
    sums = {
        "bills": Sum("cents", filter=~OF_CHARGES & ~OF_SHARES, default=0),
        "charged": Sum("cents", filter=OF_CHARGES, default=0),
        "shared": Sum("cents", filter=OF_SHARES, default=0),
    }
    rows = line_sums(farm=farm, lines=lines, by=by, sums=sums, carry=carry)
    machines = Machine.objects.in_bulk([machine for machine, _implement, _code in rows if machine])
    implements = Implement.objects.in_bulk([implement for _machine, implement, _code in rows if implement])
    found = []
    for (machine, implement, code), (bills, charged, shared) in rows.items():
        thing = machines.get(machine) or implements.get(implement)
        found.append(
            PoolCost(
                code=code if thing is None else thing.code,
                name=code if thing is None else thing_says(thing),
                bills_cents=bills,
                charged_cents=-charged,
                shared_cents=-shared,
            )
        )
    return sorted(found, key=lambda pool: pool.code)


def ledger_totals(*, farm: Farm, crop_year: int) -> LedgerTotals:
    """Return the whole ledger of a farm: one crop year's seasons, other seasons, and each other account."""
    lines = Line.objects.filter(farm=farm)
    sums = dict(lines.values_list("account").annotate(Sum("cents")))
    here = lines.filter(account=Account.SEASON, season__crop_year=crop_year)
    in_year = here.aggregate(cents=Sum("cents", default=0))["cents"]
    return LedgerTotals(
        season_cents=in_year,
        other_seasons_cents=sums.get(Account.SEASON.value, 0) - in_year,
        by_account=tuple(
            (account, sums.get(account.value, 0)) for account in Account if account != Account.SEASON
        ),
    )
