"""What the pages of the trial balance and of one account show, as plain data."""

import datetime as dt
from typing import Any
from urllib.parse import urlencode

from farmops.farms.models import Farm
from farmops.pages import words
from ledger.models import Account
from ledger.selectors.categories import category_book
from ledger.selectors.general_ledger import LedgerLine, account_days, general_ledger
from ledger.selectors.trial_balance import TrialRow, trial_balance

PAGE_LINES = 200


def trial_balance_facts(*, farm: Farm, through: dt.date) -> dict[str, Any]:
    """Return every account with its balance on its side, and whether the sides agree."""
    found = trial_balance(farm=farm, through=through)
    on = words.dates_said(through.isoformat())
    if not any(row.line_count for row in found.rows):
        headline = f"Nothing is booked through {on}."
    elif found.difference_cents:
        headline = (
            f"The books are out of balance by {words.dollars(found.difference_cents)}: run verify_ledger."
        )
    else:
        headline = f"The books balance: {words.dollars(found.debit_cents)} on each side through {on}."
    return {
        "through": through,
        "first": dt.date(through.year, 1, 1),
        "headline": headline,
        "rows": [_account(row) for row in found.rows],
        "debit": words.dollars(found.debit_cents),
        "credit": words.dollars(found.credit_cents),
        "head": found.head,
    }


def account_facts(
    *, farm: Farm, account: Account, first: dt.date, last: dt.date, page: int
) -> dict[str, Any]:
    """Return a page of an account's lines, each with the balance after it."""
    days = account_days(farm=farm, account=account, first=first, last=last)
    lines = general_ledger(
        farm=farm, account=account, first=first, last=last, skip=(page - 1) * PAGE_LINES, most=PAGE_LINES
    )
    book = category_book(farm=farm)
    pages = max(1, -(-days.line_count // PAGE_LINES))
    query = {"from": first.isoformat(), "to": last.isoformat()}
    return {
        "account": account,
        "first": first,
        "last": last,
        "headline": f"{words.capital(str(account.label))}: {words.dollars(days.after_cents)} after {words.dates_said(last.isoformat())}.",
        "before": words.dollars(days.before_cents),
        "change": words.dollars(days.cents),
        "after": words.dollars(days.after_cents),
        "line_count": days.line_count,
        "lines": [_line(line, book.label(line.category) if line.category else "") for line in lines],
        "page": page,
        "pages": pages,
        "earlier": urlencode({**query, "page": page - 1}) if page > 1 else "",
        "later": urlencode({**query, "page": page + 1}) if page < pages else "",
    }


def _account(row: TrialRow) -> dict[str, Any]:
    return {
        "account": row.account.value,
        "name": row.account.label,
        "line_count": row.line_count,
        "debit": words.dollars(row.debit_cents) if row.debit_cents else "",
        "credit": words.dollars(row.credit_cents) if row.credit_cents else "",
    }


def _line(line: LedgerLine, category: str) -> dict[str, Any]:
    things = (line.subject, line.outfit, line.item, f"lot {line.lot}" if line.lot else "")
    return {
        "on": _day(line.booked_on),
        "happened": "" if line.happened_on == line.booked_on else _day(line.happened_on),
        "entry": line.entry_number,
        "category": words.capital(category),
        "thing": ", ".join(one for one in things if one),
        "says": words.dates_said(line.says),
        "source": words.dates_said(line.source_says),
        "amount": words.dollars(line.cents),
        "balance": words.dollars(line.balance_cents),
    }


def _day(day: dt.date) -> str:
    return f"{day:%b} {day.day}, {day.year}"
