"""What an hour costs in which an outfit stands: the hand is paid and the machine owned, but no fuel is burned."""

import datetime as dt
from collections.abc import Iterable
from decimal import Decimal

from farmops.farms.models import Farm, Hand, Implement, Machine
from ledger.costing.money import cents_of
from ledger.costing.refusals import CostingError
from ledger.models import Category
from ledger.selectors.prices import hand_hour_usd
from ledger.selectors.rates import MachineHour, NoRateOnDate, RateBook, rate_book

OWNED = (Category.MACHINE, Category.IMPLEMENT)


def mean_wage_cents_per_h(*, farm: Farm, hands: Iterable[Hand], on: dt.date) -> int | None:
    """Return the mean wage of some hands, with payroll taxes and insurance, in whole cents an hour; None where none has one."""
    book = rate_book(farm=farm)
    return _mean([_wage(book, hand, on) for hand in hands])


def standing_cents_per_h(
    *, farm: Farm, outfits: Iterable[tuple[Machine, Implement | None, Hand]], on: dt.date
) -> int | None:
    """Return the mean over some outfits of the hand's wage and of what owning the machines costs, in whole cents an
    hour; None where no outfit is given.

    A price that nobody has set counts as 0. A farm's own rate of a machine counts whole, with fuel where it holds fuel.
    """
    book = rate_book(farm=farm)
    known: dict[tuple[str, int], Decimal] = {}

    def usd_per_h(thing: Machine | Implement | Hand) -> Decimal:
        key = (type(thing).__name__, thing.pk)
        if key not in known:
            known[key] = (
                _wage(book, thing, on) or Decimal(0) if isinstance(thing, Hand) else _owned(book, thing, on)
            )
        return known[key]

    return _mean(
        [sum((usd_per_h(one) for one in outfit if one is not None), Decimal(0)) for outfit in outfits]
    )


def _mean(values: Iterable[Decimal | None]) -> int | None:
    known = [one for one in values if one is not None]
    return cents_of(sum(known, Decimal(0)) / len(known)) if known else None


def _wage(book: RateBook, hand: Hand, on: dt.date) -> Decimal | None:
    try:
        return hand_hour_usd(book=book, hand=hand, on=on)
    except NoRateOnDate:
        return None


def _owned(book: RateBook, thing: Machine | Implement, on: dt.date) -> Decimal:
    try:
        hour: MachineHour = (
            book.machine_hour(machine=thing, day=on)
            if isinstance(thing, Machine)
            else book.implement_hour(implement=thing, day=on)
        )
    except (NoRateOnDate, CostingError):
        return Decimal(0)
    return Decimal(sum(part.price_e4 for part in hour.parts if part.category in OWNED)).scaleb(-4)
