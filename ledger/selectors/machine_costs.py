"""What a machine or implement cost so far by the hour, against what ASABE expects at its age."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Q, Sum
from django.utils.translation import gettext as _

from farmops.farms.models import Farm, Implement, Machine, Pivot
from ledger.costing.machine_cost import HourlyCost, repairs_between_usd
from ledger.costing.money import cents_of, usd_from
from ledger.costing.refusals import CostingError
from ledger.models import Account, Category, Line, MachineCostFacts
from ledger.selectors.carried_sums import LineSums, at_head, line_sums
from ledger.selectors.pools import OF_CHARGES, OF_SHARES
from ledger.selectors.prices import machine_hour_usd
from ledger.selectors.rates import NoRateOnDate, RateBook, rate_book
from scheduling.selectors.care import standing_care
from scheduling.selectors.work_of_things import standing_work

KEPT = (
    Category.LABOR,
    Category.OVERTIME,
    Category.OWNER_TIME,
    Category.REPAIRS,
    Category.TIRES,
    Category.LUBRICANTS,
)
"""Categories that ASABE counts as repairs and maintenance: parts, oil and labor."""

DAYS_A_YEAR = 365


@dataclass(frozen=True)
class ExpectedCost:
    """What is expected by ASABE D497 and EP496: repairs between two readings, and the hour over its whole life."""

    repairs_cents: int
    hour: HourlyCost


@dataclass(frozen=True)
class MachineCost:
    """What was spent on a machine or implement since it was entered, and over how many hours.

    `spent` is what bills and services put into its pool, by category; `kept_cents` the part of it that is upkeep.
    `fields_cents` is what its hours were charged to fields, `rate_usd_per_h` what an hour is charged at today with its
    fuel; None where no rate holds. `expected` is None where no cost facts are known, and `lacks` says what is missing.
    """

    from_h: Decimal
    to_h: Decimal
    spent: Mapping[str, int]
    fields_cents: int
    rate_usd_per_h: Decimal | None
    expected: ExpectedCost | None
    lacks: str

    @property
    def hours(self) -> Decimal:
        """Return the hours over which all of it was spent."""
        return self.to_h - self.from_h

    @property
    def spent_cents(self) -> int:
        """Return everything that was spent."""
        return sum(self.spent.values())

    @property
    def kept_cents(self) -> int:
        """Return what was spent on repairs and service."""
        return sum(cents for category, cents in self.spent.items() if category in KEPT)

    def per_h_usd(self, cents: int) -> Decimal | None:
        """Return so much by the hour run, None where it has not run."""
        return usd_from(cents) / self.hours if self.hours > 0 else None


def machine_cost(
    *,
    farm: Farm,
    thing: Machine | Implement,
    run_h: Decimal,
    on: dt.date,
    reported_h: Decimal | None = None,
) -> MachineCost:
    """Return what a machine or implement cost up to a day.

    `run_h` are the hours of a machine's meters at that day, going on where one was replaced, or those that an
    implement was out; `reported_h` those of all work of a machine, where they are read already. A machine counts from
    what its meter showed when it was entered, or back over the hours that were reported where these are more; an
    implement from the hours that it is likely to have had before its first work here, at its hours a year.
    """
    book = rate_book(farm=farm)
    facts = book.cost_facts(thing=thing, day=on)
    if isinstance(thing, Machine):
        to_h = max(run_h, thing.meter_start_h)
        reported_h = _reported_h(farm, thing) if reported_h is None else reported_h
        from_h = max(min(thing.meter_start_h, to_h - reported_h), Decimal(0))
    else:
        from_h = _hours_before(facts, _first_day(farm, thing) or on) if facts is not None else Decimal(0)
        to_h = from_h + run_h
    spent, fields_cents = _pool(farm, thing)
    rate, lacks = _rate(book, thing, on)
    expected: ExpectedCost | None = None
    if facts is None:
        lacks = lacks or _("No price, life and yearly hours of {thing} are known.").format(thing=thing.name)
    else:
        try:
            expected = _expected(book, facts, from_h, to_h)
        except CostingError as error:
            lacks = _("The expected cost of {thing} cannot be worked out: {error}").format(
                thing=thing.name, error=error
            )
    return MachineCost(from_h, to_h, spent, fields_cents, rate, expected, lacks)


def pivot_service_cents(*, farm: Farm, pivot: Pivot) -> int:
    """Return what the services of a pivot cost so far: the hours that were booked, and parts."""
    owed = Line.objects.filter(farm=farm, account__in=(Account.WAGES_OWED, Account.OWNER_TIME)).filter(
        Q(entry__care_done__rule__pivot=pivot) | Q(entry__reverses__care_done__rule__pivot=pivot)
    )
    labor_cents = owed.aggregate(cents=Sum("cents", default=0))["cents"]
    parts = standing_care(farm=farm).filter(rule__pivot=pivot)
    parts_cents: int = parts.aggregate(cents=Sum("parts_cents", default=0))["cents"]
    return parts_cents - labor_cents


def _first_day(farm: Farm, implement: Implement) -> dt.date | None:
    work = standing_work(farm=farm).filter(implement=implement, machine_min__gt=0)
    return work.order_by("work_on").values_list("work_on", flat=True).first()


def _reported_h(farm: Farm, machine: Machine) -> Decimal:
    minutes = standing_work(farm=farm).filter(machine=machine).aggregate(sum=Sum("machine_min", default=0))
    return Decimal(minutes["sum"]) / 60


def _hours_before(facts: MachineCostFacts, day: dt.date) -> Decimal:
    days = max((day - facts.bought_on).days, 0)
    return (facts.bought_at_h + facts.annual_h * days / DAYS_A_YEAR).quantize(Decimal("0.1"))


def _pool(farm: Farm, thing: Machine | Implement) -> tuple[dict[str, int], int]:
    """Return what was put into the pool by category, and what its hours were charged to fields."""
    column = "machine_id" if isinstance(thing, Machine) else "implement_id"
    sums = at_head(farm=farm, what="machine-pool", asked=column, make=lambda: _pool_sums(farm, column))
    of_thing = {category: cents for (pk, category), cents in sums.items() if pk == thing.pk}
    put_in = {category: cents for category, (cents, _charged) in sorted(of_thing.items()) if cents}
    return put_in, -sum(charged for _put_in, charged in of_thing.values())


def _pool_sums(farm: Farm, column: str) -> LineSums:
    """Return what was put into the pool and what was charged, in cents, by the column of the things and the category."""
    return line_sums(
        farm=farm,
        lines=Line.objects.filter(farm=farm, account=Account.MACHINE_POOL),
        by=(column, "category"),
        sums={
            "put_in": Sum("cents", filter=~OF_CHARGES & ~OF_SHARES, default=0),
            "charged": Sum("cents", filter=OF_CHARGES, default=0),
        },
        carry=True,
    )


def _rate(book: RateBook, thing: Machine | Implement, on: dt.date) -> tuple[Decimal | None, str]:
    try:
        if isinstance(thing, Machine):
            return machine_hour_usd(book=book, machine=thing, on=on), ""
        return Decimal(book.implement_hour(implement=thing, day=on).price_e4).scaleb(-4), ""
    except (NoRateOnDate, CostingError) as error:
        return None, str(error)


def _expected(book: RateBook, facts: MachineCostFacts, from_h: Decimal, to_h: Decimal) -> ExpectedCost:
    repairs_usd = repairs_between_usd(
        list_price_usd=usd_from(facts.list_price_cents),
        rf1=facts.repair_rf1_factor,
        rf2=facts.repair_rf2_factor,
        from_h=from_h,
        to_h=to_h,
    )
    return ExpectedCost(cents_of(repairs_usd), book.worked_out(facts))
