"""What a farm has in stock of each item, layer by layer, and what leaves it at which price.

Nothing of it is stored apart: layers are the lines by which an item came into the tank or the shed, in the order in
which they were booked.
"""

import datetime as dt
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import NamedTuple

from django.db.models import Q, QuerySet, Sum

from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm
from ledger.costing.money import priced_cents
from ledger.costing.stock import Draw, Layer, Stock, draw_actual, draw_average
from ledger.models import Account, Category, Entry, Line, Rate, SourceKind, StockCost, YearChoice
from ledger.selectors.carried_sums import at_head, line_sums
from ledger.selectors.chain import ChainHead, chain_head
from ledger.selectors.rates import NoRateOnDate, RateBook

STOCKS = (Account.FUEL_STOCK, Account.INPUT_STOCK)


class UnitDiffers(DomainError):
    """An input was reported in a unit that its price is not given in."""

    code = "unit_differs"
    kind = Kind.CONFLICT


class StockShort(NoRateOnDate):
    """Less is in stock than was used, and no price holds for the rest."""

    code = "stock_short"


@dataclass(frozen=True)
class Priced:
    """Part of what was used, with its cost: out of a layer, at the average of the stock, or at the price of a rate.

    `layer` only at actual cost, `price_e4` and `rate` only where a rate priced it.
    """

    quantity_e4: int
    cents: int
    category: str
    says: str
    layer: Line | None = None
    price_e4: int | None = None
    rate: Rate | None = None


@dataclass(frozen=True)
class OnHand:
    """What is in stock of one item. `unmet_e4` was used before any purchase of it was booked."""

    account: Account
    item: str
    unit: str
    category: str
    stock: Stock


@dataclass(frozen=True)
class _Held:
    """One item as the books have it up to a line, and the category it was bought as last.

    Up to the line `alone_until` it came into stock in no other unit.
    """

    stock: Stock = field(default_factory=Stock)
    category: str = ""
    last_line: int = 0
    alone_until: int = 0


class _Key(NamedTuple):
    """One item of a stock in one unit."""

    account: str
    item: str
    unit: str


class _Booked(NamedTuple):
    """A line of a stock as it is read; the names are those of its columns."""

    pk: int
    quantity_e4: int
    cents: int
    lot: str
    layer_id: int | None
    price_e4: int | None
    category: str
    entry__source_kind: str

    @property
    def is_purchase(self) -> bool:
        return (
            self.quantity_e4 > 0 and self.layer_id is None and self.entry__source_kind != SourceKind.REVERSAL
        )


class _Remembered(NamedTuple):
    """What was read of a farm's stocks when an entry was the head of its books."""

    head: ChainHead
    booked: dict[_Key, _Held]


MOST_FARMS = 100
_REMEMBERED: dict[int, _Remembered] = {}
"""By farm. It holds as long as its head is still in the books: nothing before an entry of the chain ever changes."""


def _remembered(farm: Farm) -> dict[_Key, _Held]:
    """Return what was read of a farm's stocks before; nothing where that was of books that are not these."""
    known = _REMEMBERED.get(farm.pk)
    if known is None:
        return {}
    entries = Entry.objects.filter(farm=farm, number=known.head.number, hash=known.head.digest)
    return dict(known.booked) if entries.exists() else {}


class StockBook:
    """The stocks of one farm; valid while its books are held. What is taken is remembered until it is booked."""

    def __init__(self, farm: Farm, book: RateBook, choice: Callable[[int], YearChoice]) -> None:
        self._farm = farm
        self._book = book
        self._choice = choice
        self._booked: dict[_Key, _Held] | None = None
        self._taken: dict[_Key, Stock] = {}

    def remember(self, *, head: ChainHead) -> None:
        """Keep what was read for the next book of the farm in this process; call when it is committed up to a head."""
        if self._booked and head.number:
            if len(_REMEMBERED) >= MOST_FARMS:
                _REMEMBERED.clear()
            _REMEMBERED[self._farm.pk] = _Remembered(head, self._booked)

    def take(
        self,
        *,
        item: str,
        quantity_e4: int,
        unit: str,
        lot: str = "",
        on: dt.date,
        account: Account = Account.INPUT_STOCK,
    ) -> list[Priced]:
        """Return what a quantity of an item costs that leaves the stock, in parts; nothing for nothing.

        At actual cost the lot leaves first, else the oldest layer, by the farm's choice of the year of `on`; else at
        the average of what is there. What was never bought into stock, or is short, has the price of the rate. Raises
        UnitDiffers, NoRateOnDate, and StockShort where a part of it was there.
        """
        if quantity_e4 <= 0:
            return []
        key = _Key(account, item, unit)
        held, stock = self._held(key)
        if not stock.has_come:
            self._refuse_other_unit(key, held, quantity_e4, on)
        parts, short_e4, stock = self._out_of(held, stock, item, quantity_e4, lot, on)
        if short_e4:
            parts.append(self._at_rate(held, key, short_e4, quantity_e4, on))
            stock = stock.unpriced(short_e4)
        self._taken[key] = stock
        return parts

    @contextmanager
    def kept(self) -> Iterator[None]:
        """Forget what was taken inside where it ends in an error: nothing of it will be booked."""
        before = dict(self._taken)
        try:
            yield
        except BaseException:
            self._taken = before
            raise

    def on_hand(self, *, account: Account, item: str, unit: str) -> OnHand:
        """Return what is in stock of an item in a unit."""
        held, stock = self._held(_Key(account, item, unit))
        return OnHand(account, item, unit, held.category, stock.priced())

    def _refuse_other_unit(self, key: _Key, held: _Held, quantity_e4: int, on: dt.date) -> None:
        came = _purchases(self._farm).filter(account=key.account, item=key.item, pk__gt=held.alone_until)
        other = came.exclude(unit=key.unit).order_by("pk").values_list("unit", flat=True).first()
        if other is not None:
            raise UnitDiffers(
                f"{_amount(quantity_e4)} {key.unit} of {key.item} were reported on {on}, "
                f"but it is in stock by the {other}."
            )
        self._booked = {**(self._booked or {}), key: replace(held, alone_until=held.last_line)}

    def _out_of(
        self, held: _Held, stock: Stock, item: str, quantity_e4: int, lot: str, on: dt.date
    ) -> tuple[list[Priced], int, Stock]:
        if stock.held_e4 <= 0:
            return [], quantity_e4, stock
        if self._choice(on.year).stock_cost == StockCost.AVERAGE:
            out_e4, cents, short_e4 = draw_average(
                held_e4=stock.held_e4, held_cents=stock.held_cents, quantity_e4=quantity_e4
            )
            says = f"{item}, average of {_amount(stock.held_e4)} in stock"
            part = Priced(out_e4, cents, held.category, says)
            return [part], short_e4, stock.went_at_average(out_e4, cents, lot)
        stock = stock.priced()
        draws, short_e4 = draw_actual(layers=stock.layers, quantity_e4=quantity_e4, lot=lot)
        return self._of_layers(draws, item), short_e4, stock.drawn(draws)

    def _of_layers(self, draws: list[Draw], item: str) -> list[Priced]:
        lines = Line.objects.select_related("entry").in_bulk([draw.key for draw in draws])
        parts = []
        for draw in draws:
            line = lines[draw.key]
            of_lot = f" lot {line.lot}" if line.lot else ""
            says = f"{item}{of_lot}, bought {line.entry.happened_on}: {line.says}"
            parts.append(Priced(draw.quantity_e4, draw.cents, line.category, says, layer=line))
        return parts

    def _at_rate(self, held: _Held, key: _Key, short_e4: int, quantity_e4: int, on: dt.date) -> Priced:
        is_fuel = key.account == Account.FUEL_STOCK
        try:
            rate = self._book.fuel(day=on) if is_fuel else self._book.input(code=key.item, day=on)
        except NoRateOnDate as error:
            if not held.stock.has_come:
                raise
            raise StockShort(
                f"{_amount(quantity_e4)} {key.unit} of {key.item} were used on {on}, {_amount(short_e4)} {key.unit} "
                "more than is in stock; enter the bill that is missing, or set a price from that day or earlier."
            ) from error
        if rate.unit != key.unit:
            raise UnitDiffers(
                f"{_amount(quantity_e4)} {key.unit} of {key.item} were reported on {on}, "
                f"but its price is for one {rate.unit}."
            )
        return Priced(
            short_e4,
            priced_cents(quantity_e4=short_e4, unit=key.unit, price_e4=rate.price_e4),
            held.category or rate.category or (Category.FUEL if is_fuel else Category.INPUTS),
            key.item,
            price_e4=rate.price_e4,
            rate=rate,
        )

    def _held(self, key: _Key) -> tuple[_Held, Stock]:
        """Return an item as it is booked, and as it is with what was taken since and not booked yet."""
        if self._booked is None:
            self._booked = _remembered(self._farm)
        before = self._booked.get(key, _Held())
        held = _read_on(self._farm, key, before)
        if held.last_line != before.last_line:
            self._taken.pop(key, None)
        self._booked[key] = held
        return held, self._taken.get(key, held.stock)


def stock_book(*, farm: Farm, book: RateBook, choice: Callable[[int], YearChoice]) -> StockBook:
    """Return the stocks of a farm; an item is read when it is asked for first. `choice` tells the choice of a year."""
    return StockBook(farm, book, choice)


def stock_on_hand(*, farm: Farm) -> list[OnHand]:
    """Return every item that ever came into a stock of a farm or was used and not bought yet, by account and code."""
    book = stock_book(
        farm=farm, book=RateBook(farm), choice=lambda year: YearChoice(farm=farm, calendar_year=year)
    )
    moved = Line.objects.filter(farm=farm, account__in=STOCKS, quantity_e4__isnull=False).exclude(item="")
    keys = moved.order_by().values_list("account", "item", "unit").distinct()
    found = [
        book.on_hand(account=Account(account), item=item, unit=unit) for account, item, unit in sorted(keys)
    ]
    book.remember(head=chain_head(farm=farm))  # read last, it is no older than any line that was read
    return [one for one in found if one.stock.has_come or one.stock.unmet_e4]


def stock_at_head(*, farm: Farm) -> list[OnHand]:
    """Return what `stock_on_hand` does, kept for as long as nothing else is booked."""
    return at_head(farm=farm, what="stock", asked=None, make=lambda: stock_on_hand(farm=farm))


def uncounted_cents(*, farm: Farm) -> dict[str, int]:
    """Return what bills brought into the stocks without a code and a quantity, by category.

    Nothing ever takes it out again, since nobody can use a part of it: no field would bear it.
    """
    of_bills = Q(entry__source_kind=SourceKind.BILL) | Q(entry__reverses__source_kind=SourceKind.BILL)
    rows = Line.objects.filter(of_bills, farm=farm, account__in=STOCKS, item="")
    sums = line_sums(farm=farm, lines=rows, by=("category",), sums={"sum_cents": Sum("cents")}, carry=True)
    return {category: cents for (category,), (cents,) in sorted(sums.items()) if cents}


def _purchases(farm: Farm) -> QuerySet[Line]:
    """Return the lines by which items came into the stocks of a farm."""
    came = Line.objects.filter(farm=farm, account__in=STOCKS, quantity_e4__gt=0, layer=None).exclude(item="")
    return came.exclude(entry__source_kind=SourceKind.REVERSAL)


def _read_on(farm: Farm, key: _Key, held: _Held) -> _Held:
    """Return an item with the lines that were booked since, in the order of booking."""
    rows = Line.objects.filter(
        farm=farm, **key._asdict(), pk__gt=held.last_line, quantity_e4__isnull=False
    ).order_by("pk")
    stock, category, last = held.stock, held.category, held.last_line
    for row in rows.values_list(*_Booked._fields).iterator():
        line = _Booked(*row)
        last, stock = line.pk, _after(stock, line)
        if line.is_purchase:
            category = line.category
    return replace(held, stock=stock, category=category, last_line=last)


def _after(stock: Stock, line: _Booked) -> Stock:
    """Return a stock after one more line of it."""
    layer, quantity_e4 = line.layer_id, line.quantity_e4
    if quantity_e4 > 0 and layer is not None:
        return stock.came_back(Layer(layer, quantity_e4, line.cents, line.lot))
    if quantity_e4 > 0:
        came = Layer(line.pk, quantity_e4, line.cents, line.lot)
        if line.price_e4 is not None:
            return stock.not_used(came)
        if line.entry__source_kind == SourceKind.OPENING and not stock.has_come:
            stock = Stock()  # it was counted: what was used before is in the count
        return stock.came(came)
    if layer is not None:
        return stock.drawn([Draw(layer, -quantity_e4, -line.cents)])
    if line.price_e4 is not None:
        return stock.unpriced(-quantity_e4)
    if line.entry__source_kind == SourceKind.BILL:
        return stock.went(-quantity_e4, line.lot)
    return stock.went_at_average(-quantity_e4, -line.cents, line.lot)


def _amount(quantity_e4: int) -> str:
    return f"{Decimal(quantity_e4).scaleb(-4).normalize():f}"
