"""The general ledger: the lines of an account in the order of booking, each with the balance after it."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Count, Q, QuerySet, Sum

from farmops.farms.models import Farm
from ledger.models import Account, Line
from ledger.selectors.source_words import RELATED, source_says

AT_ONCE = 500


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
    skip: int = 0,
    most: int | None = None,
) -> Iterator[LedgerLine]:
    """Yield an account's lines that are booked on some days, both included, by day of booking, entry and line.

    `through` is the number of the last entry that counts. `skip` and `most` give a page of them; the balance goes on from what is before the page.
    """
    lines = (
        _of_account(farm, account, last, through)
        .filter(entry__booked_on__gte=first)
        .order_by("entry__booked_on", "entry__number", "line_no")
    )
    balance = account_days(farm=farm, account=account, first=first, last=last, through=through).before_cents
    if skip:
        balance += sum(lines.values_list("cents", flat=True)[:skip])
    page = lines[skip:] if most is None else lines[skip : skip + most]
    return _with_balance(page, balance)


def _of_account(farm: Farm, account: Account, last: dt.date, through: int | None) -> QuerySet[Line]:
    lines = Line.objects.filter(farm=farm, account=account, entry__booked_on__lte=last)
    return lines if through is None else lines.filter(entry__number__lte=through)


def _with_balance(lines: QuerySet[Line], balance: int) -> Iterator[LedgerLine]:
    related = lines.select_related("entry", *(f"entry__{one}" for one in RELATED))
    for line in related.iterator(chunk_size=AT_ONCE):
        balance += line.cents
        yield LedgerLine(
            entry_number=line.entry.number,
            line_no=line.line_no,
            booked_on=line.entry.booked_on,
            happened_on=line.entry.happened_on,
            source_kind=line.entry.source_kind,
            source_says=source_says(line.entry),
            subject=line.subject,
            outfit=line.outfit,
            operation=line.operation,
            category=line.category,
            item=line.item,
            lot=line.lot,
            quantity=line.quantity,
            unit=line.unit,
            says=line.says,
            cents=line.cents,
            balance_cents=balance,
        )
