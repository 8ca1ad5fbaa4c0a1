"""Every line behind a cost, with its source and the price behind it."""

import datetime as dt
from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from itertools import islice

from django.db.models import Count, F, Q, QuerySet, Sum
from django.utils.translation import gettext as _

from farmops.farms.models import Farm, Field, Implement, Machine, Pump, Season
from ledger.costing.money import usd_from
from ledger.models import Account, Entry, Line, MachineCostFacts, Rate
from ledger.selectors.carried_sums import line_sums
from ledger.selectors.categories import CategoryBook, category_book
from ledger.selectors.cost_cells import CostWhere, can_carry, lines_where, seasons_where
from ledger.selectors.costs import shown_quantity
from ledger.selectors.drafts import ground_code
from ledger.selectors.line_days import days_of_page, line_days
from ledger.selectors.source_words import (
    operation_says,
    price_says,
    read_sources,
    rule_says,
    source_says,
    thing_says,
)

AT_ONCE = 500
OF_RATES = ("machine", "implement", "hand")
CELL_SUMS = {
    "line_count": Count("pk"),
    "sum_cents": Sum("cents", default=0),
    "late_count": Count("pk", filter=~Q(entry__booked_on=F("entry__happened_on"))),
}
"""What a `CellSum` is made of, in its order."""


@dataclass(frozen=True)
class LineDetail:
    """One line as it is shown: what, how much, at which price from which row or layer of stock, from which source.

    A line of a pool has no ground and no crop.
    """

    line_id: int
    entry_number: int
    happened_on: dt.date
    booked_on: dt.date
    ground: str
    crop: str
    category: str
    category_label: str
    operation: str
    thing: str
    says: str
    quantity: Decimal | None
    unit: str
    lot: str
    price_usd: Decimal | None
    price_from: str
    cents: int
    source_kind: str
    source_id: int
    source_says: str
    reversed_by: int | None

    @property
    def amount_usd(self) -> Decimal:
        """Return the dollars, exactly."""
        return usd_from(self.cents)

    @property
    def is_late(self) -> bool:
        """Return whether the line stands in a later month than it happened in, since that one was closed."""
        return self.booked_on != self.happened_on


@dataclass(frozen=True)
class CellSum:
    """How many lines a cell has, what they come to, and how many of them happened in a month that was closed."""

    line_count: int
    cents: int
    late_count: int


def lines_of_field(*, farm: Farm, field: Field, crop_year: int) -> list[LineDetail]:
    """Return the lines of a field's seasons of a crop year in the order they happened."""
    lines = Line.objects.filter(
        farm=farm, account=Account.SEASON, season__field=field, season__crop_year=crop_year
    )
    return list(details_of(lines, farm=farm))


def lines_of_cell(*, farm: Farm, crop_year: int, where: CostWhere) -> Iterator[LineDetail]:
    """Yield the lines of a cell of `cost_table` in the order they happened."""
    return details_of(_of_cell(farm, crop_year, where), farm=farm)


def page_of_cell(
    *,
    farm: Farm,
    crop_year: int,
    where: CostWhere,
    season_ids: Collection[int],
    skip: int,
    most: int,
) -> tuple[CellSum, Iterator[LineDetail]]:
    """Return what the lines of a cell come to, and a page of at most so many of them; `season_ids` are its seasons."""
    lines = _of_cell(farm, crop_year, where, season_ids)
    counted = cell_sum(farm=farm, crop_year=crop_year, where=where, season_ids=season_ids, carry=True)
    days = line_days(farm=farm, lines=lines, day="entry__happened_on", carry=can_carry(where))
    page = days_of_page(days, skip=skip, most=most)
    if page is None:
        return counted, iter(())
    lines = lines.filter(entry__happened_on__range=(page.first, page.last))
    return counted, details_of(lines, farm=farm, skip=page.skip, most=most)


def cell_sum(
    *,
    farm: Farm,
    crop_year: int,
    where: CostWhere,
    season_ids: Iterable[int] | None = None,
    carry: bool = False,
) -> CellSum:
    """Return what the lines of a cell come to, all of them together; its seasons are read where they are not known.

    The sums are carried on, or made anew.
    """
    found = line_sums(
        farm=farm,
        lines=_of_cell(farm, crop_year, where, season_ids),
        by=("account",),
        sums=CELL_SUMS,
        carry=carry and can_carry(where),
    )
    return CellSum(*found.get((Account.SEASON.value,), (0, 0, 0)))


def _of_cell(
    farm: Farm, crop_year: int, where: CostWhere, season_ids: Iterable[int] | None = None
) -> QuerySet[Line]:
    if season_ids is None:
        season_ids = seasons_where(farm=farm, crop_year=crop_year, where=where)
    return Line.objects.filter(lines_where(where, season_ids))


def sum_of(lines: QuerySet[Line]) -> CellSum:
    """Return what some lines come to."""
    found = lines.aggregate(**CELL_SUMS)
    return CellSum(found["line_count"], found["sum_cents"], found["late_count"])


def details_of(
    lines: QuerySet[Line], *, farm: Farm, skip: int = 0, most: int | None = None
) -> Iterator[LineDetail]:
    """Yield some lines of a farm in the order they happened: all, or a page of at most so many."""
    found = lines.order_by("entry__happened_on", "entry__number", "line_no")
    page = found[skip:] if most is None else found[skip : skip + most]
    yield from details_of_rows(page.iterator(chunk_size=AT_ONCE), farm=farm)


def details_of_rows(
    lines: Iterable[Line], *, farm: Farm, known: Collection[Entry] = ()
) -> Iterator[LineDetail]:
    """Yield some lines of a farm in the order in which they come; `known` are entries that `read_sources` read before."""
    book = category_book(farm=farm)
    rows = iter(lines)
    while some := list(islice(rows, AT_ONCE)):
        beside = _Beside(some, farm, known)
        yield from (beside.detail(line, book) for line in some)


class _Beside:
    """What some lines stand beside, each row read once: many lines are of the same entry and of the same price."""

    def __init__(self, lines: Collection[Line], farm: Farm, known: Collection[Entry]) -> None:
        self._layers = {
            layer.pk: layer for layer in Line.objects.filter(pk__in=_ids(lines, "layer_id")).order_by()
        }
        self._entries = {entry.pk: entry for entry in known}
        others = _ids((*lines, *self._layers.values()), "entry_id") - self._entries.keys()
        entries = list(Entry.objects.filter(pk__in=others).order_by())
        read_sources(entries, farm=farm)
        self._entries |= {entry.pk: entry for entry in entries}
        seasons = Season.objects.filter(pk__in=_ids(lines, "season_id")).select_related("field")
        self._seasons = {season.pk: season for season in seasons.order_by().defer("field__boundary")}
        machines, implements = (
            model._default_manager.order_by().only("name", "name_es") for model in (Machine, Implement)
        )
        self._machines = machines.in_bulk(_ids(lines, "machine_id"))
        self._implements = implements.in_bulk(_ids(lines, "implement_id"))
        self._pumps = Pump.objects.order_by().only("name").in_bulk(_ids(lines, "pump_id"))
        rates = Rate.objects.filter(pk__in=_ids(lines, "rate_id")).select_related(*OF_RATES)
        self._rates = {rate.pk: rate for rate in rates.order_by()}
        facts = MachineCostFacts.objects.filter(pk__in=_ids(lines, "cost_facts_id"))
        self._facts = {one.pk: one for one in facts.order_by().select_related("machine", "implement")}
        self._said: dict[tuple[type, int], str] = {}

    def detail(self, line: Line, book: CategoryBook) -> LineDetail:
        """Return a line with all that is told of it."""
        entry = self._entries[line.entry_id]
        quantity, unit = shown_quantity(line.quantity_e4, line.unit)
        season = self._seasons.get(line.season_id or 0)
        reversal = getattr(entry, "reversed_by", None)
        things = (
            self._machines.get(line.machine_id or 0),
            self._implements.get(line.implement_id or 0),
            self._pumps.get(line.pump_id or 0),
        )
        return LineDetail(
            line_id=line.pk,
            entry_number=entry.number,
            happened_on=entry.happened_on,
            booked_on=entry.booked_on,
            ground=ground_code(season) if season is not None else "",
            crop=season.crop if season is not None else "",
            category=line.category,
            category_label=book.label(line.category),
            operation=operation_says(line.operation),
            thing=" + ".join(thing_says(thing) for thing in things if thing is not None) or line.outfit,
            says=_says(line, entry),
            quantity=quantity,
            unit=unit,
            lot=line.lot,
            price_usd=None if line.price_e4 is None else Decimal(line.price_e4).scaleb(-4),
            price_from=self._price_from(line),
            cents=line.cents,
            source_kind=entry.source_kind,
            source_id=entry.source_id,
            source_says=self._source_of(entry),
            reversed_by=reversal.number if reversal else None,
        )

    def _price_from(self, line: Line) -> str:
        if line.layer_id is not None and line.rate_id is None and line.cost_facts_id is None:
            layer = self._layers[line.layer_id]
            return _("stock by {source}").format(source=self._source_of(self._entries[layer.entry_id]))
        if line.cost_facts_id is not None:
            facts = self._facts[line.cost_facts_id]
            return self._once(facts, lambda: price_says(rate=None, cost_facts=facts))
        if line.rate_id is None:
            return ""
        rate = self._rates[line.rate_id]
        return self._once(rate, lambda: price_says(rate=rate, cost_facts=None))

    def _source_of(self, entry: Entry) -> str:
        return self._once(entry, lambda: source_says(entry))

    def _once(self, row: Entry | Rate | MachineCostFacts, say: Callable[[], str]) -> str:
        key = type(row), row.pk
        if key not in self._said:
            self._said[key] = say()
        return self._said[key]


def _ids(lines: Iterable[Line], column: str) -> set[int]:
    return {value for line in lines if (value := getattr(line, column)) is not None}


def _says(line: Line, entry: Entry) -> str:
    """Return the words of a line; those of a service name it in the language that is on."""
    care = entry.care_done
    return line.says if care is None else line.says.replace(str(care.rule), rule_says(care.rule))
