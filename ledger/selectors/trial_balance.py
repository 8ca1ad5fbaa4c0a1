"""The trial balance: every account with what went in, what went out and what is left; the columns come to the same."""

import datetime as dt
from dataclasses import dataclass

from django.db.models import Count, Q, Sum

from farmops.farms.models import Farm
from ledger.models import Account, Line
from ledger.selectors.chain import ChainHead, chain_head


@dataclass(frozen=True)
class TrialRow:
    """An account: how many lines it has, what went in, what went out. Above zero is a cost or what is had."""

    account: Account
    line_count: int
    in_cents: int
    out_cents: int

    @property
    def balance_cents(self) -> int:
        """Return what is left: in less out."""
        return self.in_cents - self.out_cents

    @property
    def debit_cents(self) -> int:
        """Return the balance where it is above zero, for the left column."""
        return max(self.balance_cents, 0)

    @property
    def credit_cents(self) -> int:
        """Return the balance where it is below zero, for the right column."""
        return max(-self.balance_cents, 0)


@dataclass(frozen=True)
class TrialBalance:
    """All accounts of a farm by what was booked up to a day, also those at zero, and the head of the chain."""

    through: dt.date
    rows: tuple[TrialRow, ...]
    head: ChainHead

    @property
    def debit_cents(self) -> int:
        """Return the sum of the left column."""
        return sum(row.debit_cents for row in self.rows)

    @property
    def credit_cents(self) -> int:
        """Return the sum of the right column."""
        return sum(row.credit_cents for row in self.rows)

    @property
    def difference_cents(self) -> int:
        """Return what the columns differ by: zero in books that are whole."""
        return self.debit_cents - self.credit_cents


def trial_balance(*, farm: Farm, through: dt.date) -> TrialBalance:
    """Return every account by the lines that are booked up to and with a day, in the order of the accounts."""
    sums = {
        row["account"]: row
        for row in Line.objects.filter(farm=farm, entry__booked_on__lte=through)
        .order_by()
        .values("account")
        .annotate(
            line_count=Count("pk"),
            in_cents=Sum("cents", filter=Q(cents__gt=0), default=0),
            out_cents=Sum("cents", filter=Q(cents__lt=0), default=0),
        )
    }
    rows = []
    for account in Account:
        found = sums.get(account.value, {"line_count": 0, "in_cents": 0, "out_cents": 0})
        rows.append(TrialRow(account, found["line_count"], found["in_cents"], -found["out_cents"]))
    return TrialBalance(through, tuple(rows), chain_head(farm=farm))
