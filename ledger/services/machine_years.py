"""Owning a machine through a year: capital recovery into its pool, against the hours that fields were charged for it."""

import datetime as dt
from dataclasses import dataclass, field
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from farmops.core.again import again
from farmops.core.clock import local_date
from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm, Implement, Machine
from ledger.costing.money import cents_of
from ledger.costing.refusals import CostingError
from ledger.models import Account, Category, Entry, MachineCostFacts, MachineYear
from ledger.selectors.drafts import DraftLine, both_sides, other_side
from ledger.selectors.fixed_costs import (
    Owned,
    facts_of_year,
    fixed_costs,
    owned_in_year,
    read_says,
    read_year,
)
from ledger.selectors.rates import rate_book
from ledger.services.journal import hold_books, write_entry
from ledger.services.periods import refuse_closed


class MachineYearRefused(DomainError):
    """The year of a machine that cannot be booked: not over, or nothing to work it out from."""

    code = "machine_year_refused"
    kind = Kind.CONFLICT


def book_machine_year(
    *, farm: Farm, thing: Machine | Implement, year: int, made_by: Any = None, now: dt.datetime
) -> tuple[MachineYear, bool]:
    """Book what owning a machine or implement took in a calendar year into its pool; False where it was booked before.

    It is the capital recovery by ASAE EP496 of its cost facts, part years by days, on the last day of the year, against
    an account that no bill and no tax form knows. Fields were charged for it by the hour; with it the rest of the pool
    is what the hours came to more or less. A year whose entry was reversed is booked again as its cost facts say now. Raise
    MachineYearRefused, or PeriodClosedError where December is closed.
    """
    last_on = dt.date(year, 12, 31) if 1990 <= year <= 2100 else None
    if last_on is None or last_on > local_date(now, farm.zone):
        raise MachineYearRefused(
            _("{year} is not over; owning {thing} is booked once it is.").format(year=year, thing=thing.name),
            fields={"year": "Not over."},
        )
    facts, cents = _worked_out(farm, thing, year)
    return again(lambda: _book(farm, thing, facts, cents, last_on, made_by, now))


@dataclass
class YearsBooked:
    """What a run over all machines and implements did: rows booked anew, known before, and sentences of the others."""

    booked: list[MachineYear] = field(default_factory=list)
    known: list[MachineYear] = field(default_factory=list)
    left_out: list[str] = field(default_factory=list)


def book_machine_years(*, farm: Farm, year: int, made_by: Any = None, now: dt.datetime) -> YearsBooked:
    """Book a calendar year of every machine and implement that has cost facts; the others are left out with a sentence.

    Raise what `book_machine_year` raises of the year itself: not over, or December is closed.
    """
    done = YearsBooked()
    for one in fixed_costs(farm=farm, year=year):
        if one.owned is None:
            done.left_out.append(one.lacks)
            continue
        if one.booked is None and not one.is_to_book:
            done.left_out.append(_nothing_left(one.thing, one.owned, year))
            continue
        row, is_new = book_machine_year(farm=farm, thing=one.thing, year=year, made_by=made_by, now=now)
        (done.booked if is_new else done.known).append(row)
    return done


def machine_year_lines(*, row: MachineYear) -> list[DraftLine]:
    """Return the lines of a machine's year: its pool bears what owning it took."""
    thing = row.machine or row.implement
    cost = DraftLine(
        Account.MACHINE_POOL,
        row.recovery_cents,
        Category.OWNERSHIP,
        machine=row.machine,
        implement=row.implement,
        cost_facts=row.cost_facts,
        says=f"owning {thing.name if thing is not None else ''} in {row.calendar_year}, capital recovery by ASAE EP496",
    )
    return both_sides(cost, against=other_side(cost, Account.OWNERSHIP))


def _book(
    farm: Farm,
    thing: Machine | Implement,
    facts: MachineCostFacts,
    cents: int,
    last_on: dt.date,
    made_by: Any,
    now: dt.datetime,
) -> tuple[MachineYear, bool]:
    of_thing: dict[str, Any] = {"machine": thing} if isinstance(thing, Machine) else {"implement": thing}
    with transaction.atomic():
        hold_books(farm=farm)
        before = MachineYear.objects.filter(farm=farm, calendar_year=last_on.year, **of_thing)
        standing = Entry.objects.filter(machine_year__in=before, reversed_by=None).first()
        if standing is not None and standing.machine_year is not None:
            return standing.machine_year, False
        read = read_year(thing=thing, year=last_on.year)
        if read is not None:
            raise MachineYearRefused(read_says(read, thing, last_on.year))
        refuse_closed(farm=farm, day=last_on)
        last = before.order_by("correction_no").last()
        row = MachineYear.objects.create(
            farm=farm,
            calendar_year=last_on.year,
            correction_no=0 if last is None else last.correction_no + 1,
            cost_facts=facts,
            recovery_cents=cents,
            made_by=made_by,
            made_at=now,
            **of_thing,
        )
        write_entry(
            farm=farm,
            source=row,
            lines=machine_year_lines(row=row),
            happened_on=last_on,
            now=now,
            made_by=made_by,
        )
    return row, True


def _worked_out(farm: Farm, thing: Machine | Implement, year: int) -> tuple[MachineCostFacts, int]:
    book = rate_book(farm=farm)
    facts = facts_of_year(book=book, thing=thing, year=year)
    if facts is None:
        raise MachineYearRefused(
            _(
                "No price, life and yearly hours of {thing} are known for {year}; enter its cost facts first."
            ).format(thing=thing.name, year=year)
        )
    try:
        owned = owned_in_year(book=book, facts=facts, year=year)
    except CostingError as error:
        raise MachineYearRefused(
            _("What owning {thing} took cannot be worked out: {error}").format(thing=thing.name, error=error)
        ) from error
    cents = cents_of(owned.recovery_usd)
    if cents == 0:
        raise MachineYearRefused(_nothing_left(thing, owned, year))
    return facts, cents


def _nothing_left(thing: Machine | Implement, owned: Owned, year: int) -> str:
    return _("The planned life of {thing} ended on {day}; nothing is left to recover in {year}.").format(
        thing=thing.name, day=owned.until_on, year=year
    )
