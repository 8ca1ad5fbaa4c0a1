"""What a machine costs by the hour: ownership, repairs, fuel and lubricants.

The method is that of ASAE EP496 (agricultural machinery management) with the data of ASAE D497, as reprinted and
worked in Iowa State University Extension A3-29, estimating farm machinery costs. Money is Decimal
dollars; rounding to cents is left to whoever books.
"""

from dataclasses import dataclass
from decimal import Decimal, localcontext

from ledger.costing.refusals import CostingError
from ledger.costing.remaining_value import RemainingValue, remaining_value_pct

FUEL_GAL_PER_H_PER_HP = Decimal("0.044")
LUBRICANT_SHARE = Decimal("0.15")
ENOUGH_DIGITS = 40


class MachineCostError(CostingError):
    """Facts about a machine from which no cost can be worked out."""


@dataclass(frozen=True)
class OwnedMachine:
    """What was paid for a machine and how it will be used.

    Prices in dollars [USD]; meter hours [h] when bought and when it will be parted with; use [h/yr]; percentages a
    year of interest on what is left in it, and of taxes, insurance and housing on its average value.
    """

    list_price_usd: Decimal
    paid_usd: Decimal
    bought_at_h: Decimal
    life_h: Decimal
    annual_h: Decimal
    interest_pct: Decimal
    insurance_housing_pct: Decimal
    remaining: RemainingValue
    repair_rf1: Decimal
    repair_rf2: Decimal


@dataclass(frozen=True)
class HourlyCost:
    """The chain from price to hour, each step kept: dollars a year [USD/yr] and dollars an hour [USD/h]."""

    years: Decimal
    salvage_usd: Decimal
    recovery_factor: Decimal
    recovery_usd_per_year: Decimal
    insurance_housing_usd_per_year: Decimal
    ownership_usd_per_h: Decimal
    repairs_usd_per_h: Decimal

    @property
    def usd_per_h(self) -> Decimal:
        """Return ownership and repairs together; fuel, lubricants and the hand are apart."""
        return self.ownership_usd_per_h + self.repairs_usd_per_h


def capital_recovery_factor(*, interest_pct: Decimal, years: Decimal) -> Decimal:
    """Return the share of a sum that is due each year so that it is paid off with interest. [1/yr]

    `interest_pct` a year, 0 to 100 (at 0 the factor is one over the years); `years` above 0 to 100. Formula:
    i (1+i)^n / ((1+i)^n - 1). Raises MachineCostError. Source: ASAE EP496; ASHRAE 2013 table of factors.
    """
    _within("interest_pct", interest_pct, Decimal(0), Decimal(100))
    _within("years", years, Decimal("0.01"), Decimal(100))
    with localcontext() as context:
        context.prec = ENOUGH_DIGITS
        rate = interest_pct / 100
        if rate == 0:
            return 1 / years
        grown = (1 + rate) ** years
        return rate * grown / (grown - 1)


def annual_recovery_usd(
    *, paid_usd: Decimal, salvage_usd: Decimal, interest_pct: Decimal, years: Decimal
) -> Decimal:
    """Return what a year must bring back of a price that leaves a salvage value. [USD/yr]

    Formula: (paid - salvage) x factor + salvage x interest. Prices 0 or more, salvage not above the price paid.
    Raises MachineCostError. Source: ASAE EP496.
    """
    if not 0 <= salvage_usd <= paid_usd:
        raise MachineCostError(
            f"A salvage value of {salvage_usd} does not lie between 0 and {paid_usd}, the price."
        )
    factor = capital_recovery_factor(interest_pct=interest_pct, years=years)
    return (paid_usd - salvage_usd) * factor + salvage_usd * interest_pct / 100


def accumulated_repairs_share(*, rf1: Decimal, rf2: Decimal, used_h: Decimal) -> Decimal:
    """Return repairs and maintenance up to a number of hours, as a share of the list price.

    Formula: RF1 x (h / 1000)^RF2. RF1 0 to 2, RF2 0.5 to 4, hours 0 to 50 000. Raises MachineCostError. Source:
    ASAE D497, repair factors.
    """
    _within("rf1", rf1, Decimal(0), Decimal(2))
    _within("rf2", rf2, Decimal("0.5"), Decimal(4))
    _within("used_h", used_h, Decimal(0), Decimal(50_000))
    if used_h == 0:
        return Decimal(0)
    with localcontext() as context:
        context.prec = ENOUGH_DIGITS
        return rf1 * (used_h / 1000) ** rf2


def repairs_between_usd(
    *, list_price_usd: Decimal, rf1: Decimal, rf2: Decimal, from_h: Decimal, to_h: Decimal
) -> Decimal:
    """Return what repairs and maintenance are expected to cost between two readings of the meter. [USD]

    Formula: list price x (share up to `to_h` - share up to `from_h`), in dollars of the list price. List price 1 to
    10 000 000, hours 0 to 50 000 and `to_h` not below `from_h`. Raises MachineCostError. Source: ASAE D497, repair
    factors.
    """
    _within("list_price_usd", list_price_usd, Decimal(1), Decimal(10_000_000))
    if to_h < from_h:
        raise MachineCostError(f"to_h is {to_h}, before from_h, {from_h}.")
    with localcontext() as context:
        context.prec = ENOUGH_DIGITS
        later = accumulated_repairs_share(rf1=rf1, rf2=rf2, used_h=to_h)
        return list_price_usd * (later - accumulated_repairs_share(rf1=rf1, rf2=rf2, used_h=from_h))


def fuel_gal_per_h(*, power_hp: Decimal) -> Decimal:
    """Return the diesel of an average hour over the year, from the most power at the power take-off. [gal/h]

    `power_hp` 0 to 1000. Formula: 0.044 gal/h for each horsepower (0.73 x 0.06). Raises MachineCostError. Source:
    Iowa State University Extension A3-29, after ASAE D497; a single job may be a third above or below.
    """
    _within("power_hp", power_hp, Decimal(0), Decimal(1000))
    return power_hp * FUEL_GAL_PER_H_PER_HP


def hourly_cost(*, machine: OwnedMachine) -> HourlyCost:
    """Return ownership and repairs of an hour, with every step between. [USD/h]

    Years kept are the hours left over the hours of a year; the value at the end is that of a machine whose age is
    its whole life over the hours of a year. Taxes, insurance and housing are taken on the average of the price paid
    and the value at the end. Raises MachineCostError. Source: ASAE EP496 and D497, in the steps of A3-29.
    """
    _within("list_price_usd", machine.list_price_usd, Decimal(1), Decimal(10_000_000))
    _within("paid_usd", machine.paid_usd, Decimal(0), Decimal(10_000_000))
    _within("annual_h", machine.annual_h, Decimal(1), Decimal(8760))
    _within("insurance_housing_pct", machine.insurance_housing_pct, Decimal(0), Decimal(100))
    hours_left = machine.life_h - machine.bought_at_h
    if machine.bought_at_h < 0 or hours_left <= 0:
        raise MachineCostError(
            f"It was bought at {machine.bought_at_h} h and will be parted with at {machine.life_h} h; no hour is left."
        )
    with localcontext() as context:
        context.prec = ENOUGH_DIGITS
        years = hours_left / machine.annual_h
        share_pct = remaining_value_pct(
            remaining=machine.remaining,
            age_years=machine.life_h / machine.annual_h,
            annual_h=machine.annual_h,
        )
        salvage = min(machine.list_price_usd * share_pct / 100, machine.paid_usd)
        factor = capital_recovery_factor(interest_pct=machine.interest_pct, years=years)
        recovery = annual_recovery_usd(
            paid_usd=machine.paid_usd, salvage_usd=salvage, interest_pct=machine.interest_pct, years=years
        )
        insurance = machine.insurance_housing_pct / 100 * (machine.paid_usd + salvage) / 2
        used = accumulated_repairs_share(
            rf1=machine.repair_rf1, rf2=machine.repair_rf2, used_h=machine.life_h
        ) - accumulated_repairs_share(
            rf1=machine.repair_rf1, rf2=machine.repair_rf2, used_h=machine.bought_at_h
        )
        return HourlyCost(
            years=years,
            salvage_usd=salvage,
            recovery_factor=factor,
            recovery_usd_per_year=recovery,
            insurance_housing_usd_per_year=insurance,
            ownership_usd_per_h=(recovery + insurance) / machine.annual_h,
            repairs_usd_per_h=machine.list_price_usd * used / hours_left,
        )


def _within(name: str, value: Decimal, least: Decimal, most: Decimal) -> None:
    if not least <= value <= most:
        raise MachineCostError(f"{name} is {value}; it lies between {least} and {most}.")
