"""What an hour of each machine, implement and hand costs, and an acre of hired work, for the planner."""

import datetime as dt
from decimal import Decimal

from farmops.farms.models import Farm, Hand, Implement, Machine
from ledger.costing.machine_cost import LUBRICANT_SHARE, fuel_gal_per_h
from ledger.costing.money import cents_of
from ledger.costing.refusals import CostingError
from ledger.models import Rate
from ledger.selectors.rates import NoRateOnDate, RateBook, rate_book
from scheduling.models import FieldPass
from scheduling.selectors.passes import OPEN_STATES
from scheduling.selectors.prices import PlanPrices


def plan_prices(*, farm: Farm, on: dt.date) -> PlanPrices:
    """Return the prices of a day in whole cents an hour; fuel and lubricants are in the machine's.

    What has no price yet counts as 0, and `missing_rates` names it.
    """
    prices, _missing = _prices(farm, on)
    return prices


def missing_rates(*, farm: Farm, on: dt.date) -> list[str]:
    """Return a sentence for each price that a plan of that day would have to do without."""
    _prices_found, missing = _prices(farm, on)
    return missing


def _prices(farm: Farm, on: dt.date) -> tuple[PlanPrices, list[str]]:
    book = rate_book(farm=farm)
    missing: list[str] = []
    machines: dict[int, int] = {}
    for machine in Machine.objects.filter(farm=farm):
        try:
            machines[machine.pk] = cents_of(machine_hour_usd(book=book, machine=machine, on=on))
        except NoRateOnDate as error:
            machines[machine.pk] = 0
            missing.append(error.says)
        except CostingError as error:
            machines[machine.pk] = 0
            missing.append(f"The hour of {machine.name} cannot be worked out: {error}")
    implements: dict[int, int] = {}
    for implement in Implement.objects.filter(farm=farm):
        try:
            hour = book.implement_hour(implement=implement, day=on)
            implements[implement.pk] = cents_of(Decimal(hour.price_e4).scaleb(-4))
        except NoRateOnDate as error:
            implements[implement.pk] = 0
            missing.append(error.says)
    hands: dict[int, int] = {}
    extras: dict[int, int] = {}
    for hand in Hand.objects.filter(farm=farm):
        extra = None if hand.is_owner else book.overtime_extra(hand=hand, day=on)
        extras[hand.pk] = cents_of(with_burden_usd(book=book, hand=hand, rate=extra, on=on))
        try:
            hands[hand.pk] = cents_of(hand_hour_usd(book=book, hand=hand, on=on))
        except NoRateOnDate as error:
            hands[hand.pk] = 0
            missing.append(error.says)
    custom: dict[str, int] = {}
    for operation in _hired(farm):
        try:
            custom[operation] = _rate_cents(book.custom(operation=operation, day=on))
        except NoRateOnDate as error:
            missing.append(error.says)
    return PlanPrices(machines, implements, hands, extras, custom), list(dict.fromkeys(missing))


def _hired(farm: Farm) -> list[str]:
    """Return the kinds of work that wait for somebody hired."""
    rows = FieldPass.objects.filter(farm=farm, state__in=OPEN_STATES, custom_ac_per_h__isnull=False)
    return sorted(set(rows.values_list("operation", flat=True)))


def machine_hour_usd(*, book: RateBook, machine: Machine, on: dt.date) -> Decimal:
    """Return an hour of a machine with its fuel and lubricants, in dollars; raise NoRateOnDate."""
    hour = book.machine_hour(machine=machine, day=on)
    usd = Decimal(hour.price_e4).scaleb(-4)
    if hour.holds_fuel:
        return usd
    fuel_usd = Decimal(book.fuel(day=on).price_e4).scaleb(-4) * fuel_gal_per_h(power_hp=machine.power_hp)
    return usd + fuel_usd * (1 + LUBRICANT_SHARE)


def hand_hour_usd(*, book: RateBook, hand: Hand, on: dt.date) -> Decimal:
    """Return an hour of a hand with payroll taxes and insurance, in dollars; raise NoRateOnDate."""
    return with_burden_usd(book=book, hand=hand, rate=book.wage(hand=hand, day=on), on=on)


def with_burden_usd(*, book: RateBook, hand: Hand, rate: Rate | None, on: dt.date) -> Decimal:
    """Return what is paid to a hand with what payroll taxes and insurance add, in dollars; 0 for no rate."""
    usd = Decimal(0) if rate is None else Decimal(rate.price_e4).scaleb(-4)
    burden = None if hand.is_owner else book.burden(hand=hand, day=on)
    return usd if burden is None else usd * (1 + Decimal(burden.price_e4).scaleb(-4))


def _rate_cents(rate: Rate | None) -> int:
    return cents_of(Decimal(rate.price_e4).scaleb(-4)) if rate is not None else 0
