"""What the page of one entry shows, as plain data."""

import datetime as dt
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from farmops.farms.models import Farm
from farmops.pages import words
from farmops.pages.cost_lines_page import line_words
from ledger.models import Entry, SourceKind
from ledger.selectors.entries import EntryFacts, EntryLine, entry_facts
from ledger.selectors.stored_words import said_again

RATHER = {
    SourceKind.WORK_RECORD: gettext_noop(
        "To put work right, correct the report: that reverses this entry and books what is right."
    ),
    SourceKind.BILL: gettext_noop(
        "To put a bill right, correct the bill: that reverses this entry and books what is right."
    ),
    SourceKind.PAYMENT: gettext_noop(
        "To put a payment right, correct its bill: that reverses this entry and books what is right."
    ),
    SourceKind.CARE_DONE: gettext_noop(
        "To put a service right, take it back or correct it: that reverses this entry."
    ),
    SourceKind.OPENING: gettext_noop(
        "To put opening stock right, correct it: that reverses this entry and books what is right."
    ),
    SourceKind.MACHINE_YEAR: gettext_noop(
        "To book the year anew, put the machine’s cost facts right, reverse this entry, and book the year again."
    ),
}
"""What is mostly wanted instead of a bare reversal, by the kind of source."""


def entry_page(*, farm: Farm, number: int) -> dict[str, Any] | None:
    """Return an entry with its lines in words; None where the farm has no such entry."""
    found = entry_facts(farm=farm, number=number)
    if found is None:
        return None
    entry = found.entry
    posted = entry.posted_at.astimezone(ZoneInfo(farm.zone))
    return {
        "number": number,
        "headline": _("Entry {number}: {source}, {amount}").format(
            number=number, source=words.dates_said(found.says), amount=words.dollars(found.debit_cents)
        ),
        "happened": words.dates_said(entry.happened_on.isoformat()),
        "booked": ""
        if entry.booked_on == entry.happened_on
        else words.dates_said(entry.booked_on.isoformat()),
        "posted": _posted(entry, posted),
        "kind": words.named(SourceKind(entry.source_kind).label),
        "key": entry.source_key,
        "why": said_again(entry.why),
        "is_imported": entry.is_imported,
        "reverses": entry.reverses.number if entry.reverses is not None else None,
        "reversed_by": found.reversed_by,
        "before": entry.hash_before,
        "digest": entry.hash,
        "lines": [_line(line) for line in found.lines],
        "sum": words.dollars(found.debit_cents),
        "can_be_reversed": found.can_be_reversed,
        "rather": _rather(found),
    }


def _rather(found: EntryFacts) -> str:
    rather = RATHER.get(SourceKind(found.entry.source_kind), "")
    return "" if found.entry.is_imported else words.named(rather)


def _posted(entry: Entry, at: dt.datetime) -> str:
    day, hour = words.full_date(at.date()), words.clock(at)
    if entry.made_by is None:
        return f"{day}, {hour}"
    name = entry.made_by.get_full_name() or entry.made_by.username
    return _("{day}, {hour} by {name}").format(day=day, hour=hour, name=name)


def _line(line: EntryLine) -> dict[str, Any]:
    cents = line.detail.cents
    return {
        **line_words(line.detail),
        "no": line.line_no,
        "account": words.named(line.account.label),
        "subject": line.subject,
        "debit": words.dollars(cents) if cents > 0 else "",
        "credit": words.dollars(-cents) if cents < 0 else "",
    }
