"""What the page of closed months shows."""

import datetime as dt
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from farmops.farms.models import Farm
from farmops.pages import words
from farmops.pages.close_list import close_list
from ledger.models import PeriodMark
from ledger.selectors.periods import PeriodRow, month_of, periods


def period_facts(*, farm: Farm, today: dt.date) -> dict[str, Any]:
    """Return each month of the books, which one can be closed next and what to go through before, and which one can be
    opened again."""
    rows = periods(farm=farm, today=today)
    closed = [row for row in rows if row.is_closed]
    open_ones = [row for row in rows if not row.is_closed and row.month < month_of(today)]
    first = next(iter(reversed(open_ones)), None) if any(row.entries for row in rows) else None
    return {
        "headline": _headline(closed),
        "rows": [_row(row, ZoneInfo(farm.zone)) for row in rows],
        "to_close": None
        if first is None
        else {"month": f"{first.month:%Y-%m}", "says": words.month_and_year(first.month)},
        "to_open": {"month": f"{closed[0].month:%Y-%m}", "says": words.month_and_year(closed[0].month)}
        if closed
        else None,
        "points": [] if first is None else close_list(farm=farm, month=first.month),
    }


def _headline(closed: list[PeriodRow]) -> str:
    if not closed:
        return _("No month of the books is closed.")
    return _("The books are closed through {month}.").format(month=words.month_and_year(closed[0].month))


def _row(row: PeriodRow, zone: ZoneInfo) -> dict[str, Any]:
    return {
        "month": words.month_and_year(row.month),
        "state": pgettext("month", "closed") if row.is_closed else pgettext("month", "open"),
        "entries": f"{row.entries:,}",
        "late": f"{row.late:,}" if row.late else "",
        "head": row.head,
        "marks": [_mark(mark, zone) for mark in row.marks],
    }


def _mark(mark: PeriodMark, zone: ZoneInfo) -> str:
    made_at = mark.made_at.astimezone(zone)
    if mark.made_by is not None:
        told = _("closed by {who} on {when}") if mark.is_close else _("opened again by {who} on {when}")
    else:
        told = _("closed on {when}") if mark.is_close else _("opened again on {when}")
    when = f"{words.full_date(made_at.date())}, {words.clock(made_at)}"
    told = told.format(who=mark.made_by, when=when)
    return words.ended(words.capital(f"{told}: {mark.why}" if mark.why else told))
