"""What owning each machine and implement takes in a year, for management, not for taxes."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal, localcontext

from django.utils.translation import gettext as _

from farmops.farms.models import Farm, Implement, Machine
from ledger.costing.depreciation import ENOUGH_DIGITS, share_of_year, value_usd, years_between
from ledger.costing.machine_cost import OwnedMachine
from ledger.costing.money import cents_of
from ledger.costing.refusals import CostingError
from ledger.models import Account, Entry, Line, MachineCostFacts, MachineYear, SourceKind
from ledger.selectors.rates import RateBook, owned_machine, rate_book

DAYS_A_YEAR = Decimal("365.25")
LAST_MONTH = 12


@dataclass(frozen=True)
class Owned:
    """Owning a thing through one year: which part of it, what it was worth at both ends, and every step to its hour.

    Dollars; `recovery_usd` and `insurance_housing_usd` are those of the part of the year. `until_on` is the day on which
    its planned life ends by its hours a year; from there on nothing more is recovered.
    """

    year_share: Decimal
    until_on: dt.date
    value_start_usd: Decimal
    value_end_usd: Decimal
    recovery_factor: Decimal
    recovery_usd: Decimal
    insurance_housing_usd: Decimal
    per_h_usd: Decimal

    @property
    def depreciation_usd(self) -> Decimal:
        """Return what it lost in worth in the year."""
        return self.value_start_usd - self.value_end_usd


@dataclass(frozen=True)
class FixedCost:
    """A machine or implement in a year; `owned` is None where nothing can be worked out, and `lacks` says why.

    `booked` is the year as it stands in its pool, None where it does not.
    """

    thing: Machine | Implement
    facts: MachineCostFacts | None
    owned: Owned | None
    lacks: str
    booked: MachineYear | None

    @property
    def is_to_book(self) -> bool:
        """Return whether there is something to book that does not stand in its pool."""
        return self.booked is None and self.owned is not None and cents_of(self.owned.recovery_usd) > 0


def left_to_book(*, farm: Farm, month: dt.date) -> int:
    """Return how many machine years are not booked whose last month this is: they can be booked until it is closed."""
    if month.month != LAST_MONTH:
        return 0
    return sum(one.is_to_book for one in fixed_costs(farm=farm, year=month.year))


def fixed_costs(*, farm: Farm, year: int) -> list[FixedCost]:
    """Return every machine and implement of a farm in a calendar year, machines first, each by its code."""
    book = rate_book(farm=farm)
    standing = Entry.objects.filter(farm=farm, machine_year__calendar_year=year, reversed_by__isnull=True)
    booked = {
        (row.machine_id, row.implement_id): row
        for row in MachineYear.objects.filter(pk__in=standing.values("machine_year"))
    }
    imported = _imported_years(farm, year)
    found = []
    for thing in _things(farm):
        key = (thing.pk, None) if isinstance(thing, Machine) else (None, thing.pk)
        facts = facts_of_year(book=book, thing=thing, year=year)
        read = imported.get(key)
        owned, lacks = (None, read_says(read, thing, year)) if read else _owned(book, thing, facts, year)
        found.append(FixedCost(thing, facts, owned, lacks, booked.get(key)))
    return found


def read_year(*, thing: Machine | Implement, year: int) -> Entry | None:
    """Return the entry of a thing's year that was read from the journal of other books and stands; None without one."""
    of_thing = {"machine": thing} if isinstance(thing, Machine) else {"implement": thing}
    return Entry.objects.filter(
        farm=thing.farm_id,
        source_kind=SourceKind.MACHINE_YEAR,
        is_imported=True,
        reversed_by=None,
        happened_on=dt.date(year, LAST_MONTH, 31),
        pk__in=Line.objects.filter(account=Account.MACHINE_POOL, is_imported=True, **of_thing).values(
            "entry"
        ),
    ).first()


def _imported_years(farm: Farm, year: int) -> dict[tuple[int | None, int | None], Entry]:
    """Return what `read_year` returns of each machine and implement that has such an entry, by their row ids."""
    entries = Entry.objects.filter(
        farm=farm,
        source_kind=SourceKind.MACHINE_YEAR,
        is_imported=True,
        reversed_by=None,
        happened_on=dt.date(year, LAST_MONTH, 31),
    )
    lines = Line.objects.filter(account=Account.MACHINE_POOL, is_imported=True, entry__in=entries)
    found: dict[tuple[int | None, int | None], Entry] = {}
    for line in lines.select_related("entry").order_by("-entry__number"):
        found[line.machine_id, None] = found[None, line.implement_id] = line.entry
    return found


def read_says(read: Entry, thing: Machine | Implement, year: int) -> str:
    """Return why a year that was read with a journal is not booked here."""
    return _("Owning {thing} in {year} is booked by entry {number} of the journal that was read.").format(
        thing=thing.name, year=year, number=read.number
    )


def facts_of_year(*, book: RateBook, thing: Machine | Implement, year: int) -> MachineCostFacts | None:
    """Return the cost facts of a thing that hold at the end of a year, None where it has none by then."""
    by = "machine" if isinstance(thing, Machine) else "implement"
    held = [row for row in book.facts.get((by, thing.pk), ()) if row.bought_on.year <= year]
    return max(held, key=lambda row: (row.bought_on, row.correction_no)) if held else None


def owned_in_year(*, book: RateBook, facts: MachineCostFacts, year: int) -> Owned:
    """Return what owning a thing takes in a year, from its cost facts. Raise CostingError where they do not allow it.

    It counts from the day it was bought to the end of its planned life. Its worth at the purchase is what was paid; later
    it is the remaining value by ASAE D497 at its age, which starts from the hours it had at the purchase.
    """
    machine, cost = owned_machine(facts), book.worked_out(facts)
    until_on = facts.bought_on + dt.timedelta(days=int(cost.years * DAYS_A_YEAR))
    share = share_of_year(year=year, from_on=facts.bought_on, until_on=until_on)
    with localcontext() as context:
        context.prec = ENOUGH_DIGITS
        return Owned(
            year_share=share,
            until_on=until_on,
            value_start_usd=_worth(machine, facts.bought_on, dt.date(year, 1, 1)),
            value_end_usd=_worth(machine, facts.bought_on, dt.date(year + 1, 1, 1)),
            recovery_factor=cost.recovery_factor,
            recovery_usd=cost.recovery_usd_per_year * share,
            insurance_housing_usd=cost.insurance_housing_usd_per_year * share,
            per_h_usd=cost.ownership_usd_per_h,
        )


def _worth(machine: OwnedMachine, bought_on: dt.date, day: dt.date) -> Decimal:
    if day <= bought_on:
        return machine.paid_usd
    age = machine.bought_at_h / machine.annual_h + years_between(bought_on, day)
    return value_usd(
        list_price_usd=machine.list_price_usd,
        paid_usd=machine.paid_usd,
        remaining=machine.remaining,
        age_years=age,
        annual_h=machine.annual_h,
    )


def _owned(
    book: RateBook, thing: Machine | Implement, facts: MachineCostFacts | None, year: int
) -> tuple[Owned | None, str]:
    if facts is None:
        return None, _("No price, life and yearly hours of {thing} are known for {year}.").format(
            thing=thing.name, year=year
        )
    try:
        return owned_in_year(book=book, facts=facts, year=year), ""
    except CostingError as error:
        return None, _("What owning {thing} takes cannot be worked out: {error}").format(
            thing=thing.name, error=error
        )


def _things(farm: Farm) -> Iterable[Machine | Implement]:
    yield from Machine.objects.filter(farm=farm).order_by("code")
    yield from Implement.objects.filter(farm=farm).order_by("code")
