"""Months that close: nothing is booked into them any more; opened again, they take postings as before."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import Max, Min
from django.utils.translation import gettext as _

from farmops.core.again import again
from farmops.core.clock import local_date
from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm
from ledger.models import Entry, PeriodMark
from ledger.selectors.chain import ChainHead, chain_head
from ledger.selectors.fixed_costs import left_to_book
from ledger.selectors.pending import waiting_postings
from ledger.selectors.periods import closed_through, entries_until, month_of, next_month
from ledger.selectors.said import month_said
from ledger.services.journal import hold_books, write_entry
from ledger.services.posting import post_pending
from ledger.services.source_types import BEFORE_CLOSE

LONGEST_WHY = 200


class PeriodClosedError(DomainError):
    """Something is to be booked by hand into a month that is closed."""

    code = "period_closed"
    kind = Kind.CONFLICT


class PeriodRefused(DomainError):
    """A month that cannot be closed, or opened again, as things stand."""

    code = "period_refused"
    kind = Kind.CONFLICT


@dataclass(frozen=True)
class PeriodClosed:
    """A month that was closed: its mark and entry, what the books held then, what waits for a price, and how many machine
    years were left out of a December."""

    mark: PeriodMark
    entry: Entry
    head: ChainHead
    waiting: int
    machine_years: int


def refuse_closed(*, farm: Farm, day: dt.date) -> None:
    """Refuse a day in a closed month; the caller holds the books, so that the answer holds until it commits."""
    last = closed_through(farm=farm)
    if last is not None and month_of(day) <= last:
        raise PeriodClosedError(
            _(
                "{day} is in a closed month: the books of {farm} are closed through {month}. "
                "Take a later day, or open the month again."
            ).format(day=day, farm=farm, month=month_said(last)),
            fields={"day": "In a closed month."},
        )


def close_period(*, farm: Farm, month: dt.date, made_by: Any = None, now: dt.datetime) -> PeriodClosed:
    """Close a month that is over, after everything that can be posted is; raise PeriodRefused where it cannot close.

    Months close in their order; the first close takes everything before it with it. What waits for a price, and what
    comes later, is booked into the month that is open then, with its own day kept. The head that the books had stands
    in the entry of the close.
    """
    month = month_of(month)
    post_pending(farm=farm, now=now)  # most of it, while others still get a turn
    return again(lambda: _close(farm, month, made_by, now), also=(IntegrityError,))


def reopen_period(
    *, farm: Farm, month: dt.date, why: str, made_by: Any = None, now: dt.datetime
) -> PeriodMark:
    """Open the last closed month again, with a reason; that too is an entry. Raise PeriodRefused for another month."""
    month, why = month_of(month), why.strip()
    if not why:
        raise PeriodRefused(_("Opening a month again needs a reason in words."), fields={"why": "Say why."})
    if len(why) > LONGEST_WHY:
        says = _("The reason has {count} characters; at most {most}.").format(
            count=len(why), most=LONGEST_WHY
        )
        raise PeriodRefused(says, fields={"why": says})
    if not why.isprintable():
        raise PeriodRefused(_("The reason holds a sign that cannot be printed."), fields={"why": "Odd sign."})
    return again(lambda: _reopen(farm, month, why, made_by, now), also=(IntegrityError,))


def _close(farm: Farm, month: dt.date, made_by: Any, now: dt.datetime) -> PeriodClosed:
    with transaction.atomic():
        hold_books(farm=farm)
        _refuse_close(farm, month, now)
        last_on = next_month(month) - dt.timedelta(days=1)
        post_pending(farm=farm, now=now)
        for one in BEFORE_CLOSE:
            one(farm=farm, through=last_on, now=now)
        before = closed_through(farm=farm)
        _refuse_before_books(farm, month)
        count = entries_until(farm=farm, last_on=last_on, after=before).count()
        mark = PeriodMark.objects.create(
            farm=farm, month=month, turn=_turns(farm, month) + 1, is_close=True, made_by=made_by, made_at=now
        )
        head = chain_head(farm=farm)
        entry = write_entry(
            farm=farm,
            source=mark,
            lines=[],
            happened_on=last_on,
            now=now,
            purpose="close",
            why=f"closed with {count} {'entry' if count == 1 else 'entries'}",
            made_by=made_by,
        )
    left = left_to_book(farm=farm, month=month)
    return PeriodClosed(mark, entry, head, waiting_postings(farm).count(), left)


def _refuse_close(farm: Farm, month: dt.date, now: dt.datetime) -> None:
    if month >= month_of(local_date(now, farm.zone)):
        raise PeriodRefused(
            _("{month} is not over yet.").format(month=month_said(month)), fields={"month": "Not over yet."}
        )
    last = closed_through(farm=farm)
    if last is None:
        return
    if month <= last:
        raise PeriodRefused(
            _("{month} is closed; the books of {farm} are closed through {last}.").format(
                month=month_said(month), farm=farm, last=month_said(last)
            ),
            fields={"month": "Closed before."},
        )
    if month > next_month(last):
        raise PeriodRefused(
            _("{first} is still open and comes before {month}; months close in their order.").format(
                first=month_said(next_month(last)), month=month_said(month)
            ),
            fields={"month": "An earlier one is open."},
        )


def _refuse_before_books(farm: Farm, month: dt.date) -> None:
    first = Entry.objects.filter(farm=farm).aggregate(on=Min("booked_on"))["on"]
    if first is None or month < month_of(first):
        said = (
            _("{month} is before the books of {farm}: nothing is booked yet.")
            if first is None
            else _("{month} is before the books of {farm}: they begin in {first}.")
        )
        raise PeriodRefused(
            said.format(month=month_said(month), farm=farm, first="" if first is None else month_said(first)),
            fields={"month": "Before the books."},
        )


def _reopen(farm: Farm, month: dt.date, why: str, made_by: Any, now: dt.datetime) -> PeriodMark:
    with transaction.atomic():
        hold_books(farm=farm)
        last = closed_through(farm=farm)
        if last != month:
            said = (
                _("{month} cannot be opened again: no month is closed.")
                if last is None
                else _("{month} cannot be opened again: the last closed month is {last}.")
            )
            raise PeriodRefused(
                said.format(month=month_said(month), last="" if last is None else month_said(last)),
                fields={"month": "Not the last closed."},
            )
        mark = PeriodMark.objects.create(
            farm=farm,
            month=month,
            turn=_turns(farm, month),
            is_close=False,
            why=why,
            made_by=made_by,
            made_at=now,
        )
        write_entry(
            farm=farm,
            source=mark,
            lines=[],
            happened_on=next_month(month) - dt.timedelta(days=1),
            now=now,
            purpose="reopen",
            why=why,
            made_by=made_by,
        )
    return mark


def _turns(farm: Farm, month: dt.date) -> int:
    turns: int | None = PeriodMark.objects.filter(farm=farm, month=month).aggregate(last=Max("turn"))["last"]
    return turns or 0
