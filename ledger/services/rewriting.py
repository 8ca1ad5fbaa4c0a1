"""Sources whose entry is reversed and written anew when it would say something else today.

What a fill-up is shared over changes when late work comes in, and what an incident cost in time when somebody says so
later. So these do not post once, like other sources: each run compares what would be booked with the entry that
stands, by a mark that the entry keeps as its reason.
"""

import datetime as dt
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.db.models import QuerySet

from farmops.farms.models import Farm
from ledger.models import Entry, SourceKind
from ledger.selectors.drafts import DraftLine
from ledger.selectors.posting_facts import PostingFacts, posting_facts
from ledger.selectors.rates import RateBook
from ledger.services.journal import open_books
from ledger.services.posting_report import PostingReport


@dataclass(frozen=True)
class Planned:
    """What would be booked of a source: its day, the mark by which it is compared, and what gives its lines."""

    happened_on: dt.date
    mark: str
    lines: Callable[[PostingFacts], list[DraftLine]]


@dataclass(frozen=True)
class Rewriting:
    """The entries of one kind of source of a farm. `changed` and `gone` are the reasons of the reversals."""

    farm: Farm
    kind: SourceKind
    changed: str
    gone: str

    def marks(self) -> Mapping[int, str]:
        """Return the mark of each source that has a standing entry."""
        return dict(self._standing().values_list("source_id", "why"))

    def by_hand(self) -> set[int]:
        """Return the sources whose entry somebody reversed by hand; that stands."""
        return set(self._reversed_by_hand().values_list("source_id", flat=True)) - set(self.marks())

    def undo_others(self, *, there: Collection[int], report: PostingReport, now: dt.datetime) -> None:
        """Reverse what is booked of sources that stand no longer."""
        for entry in self._standing().exclude(source_id__in=there):
            with transaction.atomic():
                books = open_books(farm=self.farm)
                if Entry.objects.filter(reverses=entry).exists():
                    continue
                books.add_reversal(entry=entry, why=self.gone, now=now)
                books.flush()
            report.reversed += 1

    def write(
        self, *, source: Any, planned: Planned | None, book: RateBook, report: PostingReport, now: dt.datetime
    ) -> None:
        """Write the entry of a source in the place of the one that stands; none where nothing would be booked.

        Looked at again with the books held: somebody else may have written the same. Raises what the lines raise.
        """
        with transaction.atomic():
            books = open_books(farm=self.farm)
            standing = self._standing().filter(source_id=source.pk).first()
            made = self._entries().filter(source_id=source.pk).count()
            is_same = (standing.why if standing else None) == (planned.mark if planned else None)
            is_by_hand = standing is None and self._reversed_by_hand().filter(source_id=source.pk).exists()
            if is_same or is_by_hand:
                return
            if standing is not None:
                books.add_reversal(entry=standing, why=self.changed, now=now)
                books.flush()
            if planned is not None:
                books.add(
                    source=source,
                    lines=planned.lines(posting_facts(farm=self.farm, book=book)),
                    happened_on=planned.happened_on,
                    now=now,
                    purpose=f"cost-{made + 1}" if made else "cost",
                    why=planned.mark,
                )
                books.flush()
        report.posted += int(planned is not None)
        report.reversed += int(standing is not None)

    def _entries(self) -> QuerySet[Entry]:
        return Entry.objects.filter(farm=self.farm, source_kind=self.kind, is_imported=False)

    def _standing(self) -> QuerySet[Entry]:
        return self._entries().filter(reversed_by=None).order_by("number")

    def _reversed_by_hand(self) -> QuerySet[Entry]:
        undone = self._entries().filter(reversed_by__isnull=False)
        return undone.exclude(reversed_by__why__in=(self.changed, self.gone))
