"""The general ledger: the lines of an account in the order of booking, each with the balance after it."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from itertools import islice
from typing import Any

from django.db.models import Count, Q, QuerySet, Sum

from farmops.farms.models import Farm
from ledger.models import Account, Line
from ledger.selectors.line_days import days_of_page, line_days
from ledger.selectors.source_words import sources_say

AT_ONCE = 500
TOLD = ("subject", "outfit", "operation", "category", "item", "lot", "unit", "says", "cents")
COLUMNS = (
    *("entry_id", "line_no", "quantity_e4", *TOLD),
    *("entry__number", "entry__booked_on", "entry__happened_on", "entry__source_kind"),
)


IN_ORDER = ("entry__booked_on", "entry__number", "line_no")


@dataclass(frozen=True)
class LedgerLine:
    """A line of an account, with what it came from and the balance after it."""

    entry_number: int
    line_no: int
    booked_on: dt.date
    happened_on: dt.date
    source_kind: str
    source_says: str
    subject: str
    outfit: str
    operation: str
    category: str
    item: str
    lot: str
    quantity: Decimal | None
    unit: str
    says: str
    cents: int
    balance_cents: int


@dataclass(frozen=True)
class AccountDays:
    """An account over some days: the balance before them, and what its lines of these days come to."""

    account: Account
    before_cents: int
    line_count: int
    cents: int

    @property
    def after_cents(self) -> int:
        """Return the balance after the last day."""
        return self.before_cents + self.cents


def account_page(
    *, farm: Farm, account: Account, first: dt.date, last: dt.date, skip: int, most: int
) -> tuple[AccountDays, Iterator[LedgerLine]]:
    """Return an account over days, both included, and a page of its lines as `general_ledger` has them.

    What the lines of each day come to is carried on; only those of the page are read.
    """
    lines = Line.objects.filter(farm=farm, account=account)
    days = line_days(farm=farm, lines=lines, day="entry__booked_on", carry=True)
    shown = [one for one in days if first <= one.day <= last]
    told = AccountDays(
        account,
        before_cents=sum(one.cents for one in days if one.day < first),
        line_count=sum(one.line_count for one in shown),
        cents=sum(one.cents for one in shown),
    )
    page = days_of_page(shown, skip=skip, most=most)
    if page is None:
        return told, iter(())
    of_days = lines.filter(entry__booked_on__range=(page.first, page.last)).order_by(*IN_ORDER)
    balance = (
        told.before_cents + page.before_cents + sum(of_days.values_list("cents", flat=True)[: page.skip])
    )
    return told, _with_balance(of_days[page.skip : page.skip + most], balance)


def account_days(
    *, farm: Farm, account: Account, first: dt.date, last: dt.date, through: int | None = None
) -> AccountDays:
    """Return an account over days, both included, by entries up to a number; the sums are worked out by the database."""
    found = _of_account(farm, account, last, through).aggregate(
        before=Sum("cents", filter=Q(entry__booked_on__lt=first), default=0),
        cents=Sum("cents", filter=Q(entry__booked_on__gte=first), default=0),
        line_count=Count("pk", filter=Q(entry__booked_on__gte=first)),
    )
    return AccountDays(account, found["before"], found["line_count"], found["cents"])


def general_ledger(
    *,
    farm: Farm,
    account: Account,
    first: dt.date,
    last: dt.date,
    through: int | None = None,
) -> Iterator[LedgerLine]:
    """Yield an account's lines that are booked on some days, both included, by day of booking, entry and line.

    `through` is the number of the last entry that counts.
    """
    lines = _of_account(farm, account, last, through).filter(entry__booked_on__gte=first).order_by(*IN_ORDER)
    balance = account_days(farm=farm, account=account, first=first, last=last, through=through).before_cents
    return _with_balance(lines, balance)


def _of_account(farm: Farm, account: Account, last: dt.date, through: int | None) -> QuerySet[Line]:
    lines = Line.objects.filter(farm=farm, account=account, entry__booked_on__lte=last)
    return lines if through is None else lines.filter(entry__number__lte=through)


def _with_balance(lines: QuerySet[Line], balance: int) -> Iterator[LedgerLine]:
    for some in _batched(lines.values(*COLUMNS).iterator(chunk_size=AT_ONCE)):
        says = sources_say(entry_ids={row["entry_id"] for row in some})
        for row in some:
            balance += row["cents"]
            yield LedgerLine(
                entry_number=row["entry__number"],
                line_no=row["line_no"],
                booked_on=row["entry__booked_on"],
                happened_on=row["entry__happened_on"],
                source_kind=row["entry__source_kind"],
                source_says=says[row["entry_id"]],
                quantity=None if row["quantity_e4"] is None else Decimal(row["quantity_e4"]).scaleb(-4),
                balance_cents=balance,
                **{name: row[name] for name in TOLD},
            )


def _batched(rows: Iterator[dict[str, Any]]) -> Iterator[list[dict[str, Any]]]:
    """Yield rows by the hundreds."""
    while some := list(islice(rows, AT_ONCE)):
        yield some
