"""One entry whole: its lines with account and subject, what it came from, what it undoes or was undone by."""

from collections.abc import Sequence
from dataclasses import dataclass

from farmops.farms.models import Farm
from ledger.models import Account, Entry, Line, SourceKind
from ledger.selectors.lines import LineDetail, details_of_rows
from ledger.selectors.source_words import read_sources, source_says


@dataclass(frozen=True)
class EntryLine:
    """A line of an entry: on which account and whose, and everything else that is known of it."""

    line_no: int
    account: Account
    subject: str
    detail: LineDetail


@dataclass(frozen=True)
class EntryFacts:
    """An entry as it is shown. `reversed_by` is the number of the entry that undid it."""

    entry: Entry
    says: str
    lines: Sequence[EntryLine]
    reversed_by: int | None

    @property
    def debit_cents(self) -> int:
        """Return the sum of the lines above zero; the lines below zero come to the same."""
        return sum(line.detail.cents for line in self.lines if line.detail.cents > 0)

    @property
    def can_be_reversed(self) -> bool:
        """Return whether it may be undone: no reversal, no close of a month, and not undone before."""
        return (
            self.entry.reverses_id is None
            and self.reversed_by is None
            and self.entry.source_kind != SourceKind.PERIOD
        )


def entry_facts(*, farm: Farm, number: int) -> EntryFacts | None:
    """Return an entry of a farm by its number; None where there is none."""
    entry = Entry.objects.filter(farm=farm, number=number).select_related("made_by").order_by().first()
    if entry is None:
        return None
    read_sources([entry], farm=farm)
    lines = list(Line.objects.filter(entry=entry).order_by("line_no"))
    reversal = getattr(entry, "reversed_by", None)
    return EntryFacts(
        entry=entry,
        says=source_says(entry),
        lines=[
            EntryLine(line.line_no, Account(line.account), line.subject, detail)
            for line, detail in zip(lines, details_of_rows(lines, farm=farm, known=[entry]), strict=True)
        ],
        reversed_by=reversal.number if reversal is not None else None,
    )
