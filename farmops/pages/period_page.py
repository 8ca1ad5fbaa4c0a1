"""What the page of closed months shows."""

import datetime as dt
from typing import Any
from zoneinfo import ZoneInfo

from farmops.farms.models import Farm
from farmops.pages import words
from ledger.models import PeriodMark
from ledger.selectors.pending import waiting_postings
from ledger.selectors.periods import PeriodRow, month_of, periods


def period_facts(*, farm: Farm, today: dt.date) -> dict[str, Any]:
    """Return each month of the books, which one can be closed next, and which one can be opened again."""
    rows = periods(farm=farm, today=today)
    closed = [row for row in rows if row.is_closed]
    open_ones = [row for row in rows if not row.is_closed and row.month < month_of(today)]
    first = next(iter(reversed(open_ones)), None) if any(row.entries for row in rows) else None
    return {
        "headline": _headline(closed),
        "rows": [_row(row, ZoneInfo(farm.zone)) for row in rows],
        "to_close": None if first is None else {"month": f"{first.month:%Y-%m}", "says": _said(first.month)},
        "to_open": {"month": f"{closed[0].month:%Y-%m}", "says": _said(closed[0].month)} if closed else None,
        "waiting": waiting_postings(farm).count(),
    }


def _headline(closed: list[PeriodRow]) -> str:
    if not closed:
        return "No month of the books is closed."
    return f"The books are closed through {_said(closed[0].month)}."


def _row(row: PeriodRow, zone: ZoneInfo) -> dict[str, Any]:
    return {
        "month": _said(row.month),
        "state": "closed" if row.is_closed else "open",
        "entries": f"{row.entries:,}",
        "late": f"{row.late:,}" if row.late else "",
        "head": row.head,
        "marks": [_mark(mark, zone) for mark in row.marks],
    }


def _mark(mark: PeriodMark, zone: ZoneInfo) -> str:
    made_at = mark.made_at.astimezone(zone)
    by = f" by {mark.made_by}" if mark.made_by is not None else ""
    what = "closed" if mark.is_close else "opened again"
    why = f": {mark.why}" if mark.why else ""
    return f"{what}{by} on {words.dates_said(made_at.date().isoformat())}, {words.clock(made_at)}{why}"


def _said(month: dt.date) -> str:
    return f"{month:%B} {month.year}"
