"""What the pages of the trial balance and of one account show, as plain data."""

import datetime as dt
from typing import Any
from urllib.parse import urlencode

from django.utils.translation import gettext as _

from farmops.farms.models import Crop, Farm
from farmops.pages import words
from farmops.pages.kept_parts import PASSING
from ledger.models import Account
from ledger.selectors.categories import category_book
from ledger.selectors.general_ledger import LedgerLine, account_page
from ledger.selectors.stored_words import line_said
from ledger.selectors.trial_balance import TrialRow, trial_balance

PAGE_LINES = 200
CROPS = frozenset(Crop.values)


def trial_balance_facts(*, farm: Farm, through: dt.date) -> dict[str, Any]:
    """Return every account with its balance on its side, and whether the sides agree."""
    found = trial_balance(farm=farm, through=through)
    on = words.full_date(through)
    if not any(row.line_count for row in found.rows):
        headline = _("Nothing is booked through {day}.").format(day=on)
    elif found.difference_cents:
        headline = _("The books are out of balance by {dollars}: run verify_ledger.").format(
            dollars=words.dollars(found.difference_cents)
        )
    else:
        headline = _("The books balance: {dollars} on each side through {day}.").format(
            dollars=words.dollars(found.debit_cents), day=on
        )
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
    days, lines = account_page(
        farm=farm, account=account, first=first, last=last, skip=(page - 1) * PAGE_LINES, most=PAGE_LINES
    )
    book, name = category_book(farm=farm), account_said(account)
    pages = max(1, -(-days.line_count // PAGE_LINES))
    query = {"from": first.isoformat(), "to": last.isoformat()}
    return {
        PASSING: page > pages or not days.line_count,
        "account": account,
        "name": name,
        "first": first,
        "last": last,
        "headline": _("{account}: {dollars} after {day}.").format(
            account=name, dollars=words.dollars(days.after_cents), day=words.full_date(last)
        ),
        "before": words.dollars(days.before_cents),
        "change": words.dollars(days.cents),
        "after": words.dollars(days.after_cents),
        "line_count": days.line_count,
        "lines": [
            _line(line, words.named(book.label(line.category)) if line.category else "") for line in lines
        ],
        "page": page,
        "pages": pages,
        "earlier": urlencode({**query, "page": page - 1}) if page > 1 else "",
        "later": urlencode({**query, "page": page + 1}) if page < pages else "",
    }


def account_said(account: Account) -> str:
    """Return an account in the reader's words."""
    return words.capital(words.named(account.label))


def _account(row: TrialRow) -> dict[str, Any]:
    return {
        "account": row.account.value,
        "name": words.named(row.account.label),
        "line_count": row.line_count,
        "debit": words.dollars(row.debit_cents) if row.debit_cents else "",
        "credit": words.dollars(row.credit_cents) if row.credit_cents else "",
    }


def _line(line: LedgerLine, category: str) -> dict[str, Any]:
    things = (
        _subject(line.subject),
        line.outfit,
        line.item,
        _("lot {lot}").format(lot=line.lot) if line.lot else "",
    )
    return {
        "on": _day(line.booked_on),
        "happened": "" if line.happened_on == line.booked_on else _day(line.happened_on),
        "entry": line.entry_number,
        "category": words.capital(category),
        "thing": ", ".join(one for one in things if one),
        "says": words.dates_said(line_said(line.says, unit=line.unit)),
        "source": words.dates_said(line.source_says),
        "amount": words.dollars(line.cents),
        "balance": words.dollars(line.balance_cents),
    }


def _subject(text: str) -> str:
    """Return whose account a line is on, with the crop of a season in the reader's language."""
    return " ".join(words.named(one) if one in CROPS else one for one in text.split(" "))


def _day(day: dt.date) -> str:
    return words.table_date(day)
