"""What an hour costs in which an outfit stands: the hand is paid and the machine owned, but no fuel is burned."""

import datetime as dt
from collections.abc import Collection, Iterable
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
    *,
    farm: Farm,
    outfits: Collection[tuple[Machine, Implement | None]],
    hands: Collection[Hand],
    on: dt.date,
) -> int | None:
    """Return the mean of the hand's wage and of what owning the machines costs, over each of some outfits with each of
    some hands, in whole cents an hour; None where there is no outfit or no hand.

    A price that nobody has set counts as 0. A farm's own rate of a machine counts whole, with fuel where it holds fuel.
    """
    if not outfits or not hands:
        return None
    book = rate_book(farm=farm)
    known: dict[tuple[str, int], Decimal] = {}

    def usd_per_h(thing: Machine | Implement) -> Decimal:
        key = (type(thing).__name__, thing.pk)
        if key not in known:
            known[key] = _owned(book, thing, on)
        return known[key]

    owned = [usd_per_h(one) for outfit in outfits for one in outfit if one is not None]
    paid = [_wage(book, hand, on) or Decimal(0) for hand in hands]
    total = sum(owned, Decimal(0)) * len(hands) + sum(paid, Decimal(0)) * len(outfits)
    return cents_of(total / (len(outfits) * len(hands)))


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
