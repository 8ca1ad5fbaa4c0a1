"""The ledger pulls: whatever has no posting yet is posted, some sources of one kind in a transaction.

Safe to run twice and side by side: the books are held while entries are worked out and written, and the unique key of
the source is the truth behind it. What cannot be priced is kept and waits, with a sentence, until a later run finds the
price.
"""

import datetime as dt
import logging
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db import IntegrityError, OperationalError, connection, transaction
from django.db.models import QuerySet

from farmops.core.again import again, is_collision
from farmops.core.problems import DomainError
from farmops.farms.models import Farm
from ledger.costing.money import MOST_CENTS, usd_text
from ledger.costing.refusals import CostingError
from ledger.models import Entry, PostingWait
from ledger.selectors.drafts import DraftLine
from ledger.selectors.posting_facts import PostingFacts, posting_facts
from ledger.selectors.rates import NoRateOnDate, RateBook, rate_book
from ledger.selectors.stock import UnitDiffers
from ledger.services.held_books import is_layer
from ledger.services.journal import open_books
from ledger.services.posting_report import CostNotWorkedOut, PostingReport, keep_waiting
from ledger.services.source_types import AFTER_SOURCES, SOURCE_TYPES, SourceType, pending_keys

logger = logging.getLogger(__name__)
TOGETHER = 20
"""How many sources share a transaction: enough that holding the books costs little, few enough that others get a turn."""


WAITS_FOR = (NoRateOnDate, UnitDiffers, CostNotWorkedOut)
"""What keeps a source waiting instead of stopping the run."""


def post_pending(*, farm: Farm | None = None, now: dt.datetime) -> PostingReport:
    """Post everything that has no posting, of one farm or of all, and say what waits."""
    report = PostingReport()
    for one in [farm] if farm is not None else Farm.objects.order_by("id"):
        _post_farm(one, report, now)
    return report


def _post_farm(farm: Farm, report: PostingReport, now: dt.datetime) -> None:
    book = rate_book(farm=farm)
    for source_type in SOURCE_TYPES:
        waiting = list(source_type.pending(farm=farm).values_list("pk", flat=True))
        for first in range(0, len(waiting), TOGETHER):
            _post_few(_Run(farm, source_type, book, now), waiting[first : first + TOGETHER], report)
    for one in AFTER_SOURCES:
        _post_after(one, farm, book, report, now)
    _forget_waits(farm)


def _post_after(
    one: Callable[..., object], farm: Farm, book: RateBook, report: PostingReport, now: dt.datetime
) -> None:
    """Let a posting of many sources at once do its work; where it collides too often it waits for the next run."""
    try:
        again(
            lambda: one(farm=farm, facts=posting_facts(farm=farm, book=book), report=report, now=now),
            also=(IntegrityError,),
        )
    except OperationalError as error:
        _refuse_other(error)
        logger.warning("%s: postings of many sources left for the next run", farm)


def _refuse_other(error: OperationalError) -> None:
    """Raise an error again that is no collision, or that only whoever opened the transaction can try again."""
    if connection.in_atomic_block or not is_collision(error):
        raise error


def _forget_waits(farm: Farm) -> None:
    """Drop the waits of sources that wait no longer; those of postings after the sources are theirs to drop."""
    pending = pending_keys(farm=farm)
    kinds = [one.kind.value for one in SOURCE_TYPES]
    for wait in PostingWait.objects.filter(farm=farm, source_kind__in=kinds):
        if (wait.source_kind, wait.source_id) not in pending:
            wait.delete()


def lines_of(*, source_type: SourceType, source: Any, facts: PostingFacts) -> list[DraftLine]:
    """Return the lines of a source; raise one of WAITS_FOR where no cost follows."""
    try:
        lines = source_type.lines(source=source, facts=facts)
    except CostingError as error:
        raise CostNotWorkedOut(str(error)) from error
    for line in lines:
        if abs(line.cents) > MOST_CENTS:
            raise CostNotWorkedOut(
                f"{line.says} comes to {usd_text(line.cents)} dollars, which no line holds."
            )
    return lines


@dataclass(frozen=True)
class _Run:
    """What stays the same while the sources of one kind are posted."""

    farm: Farm
    source_type: SourceType
    book: RateBook
    now: dt.datetime

    def pending(self, keys: Sequence[int]) -> QuerySet:
        return self.source_type.pending(farm=self.farm).filter(pk__in=keys)


@dataclass
class _Done:
    """What a transaction did; `refused` are sources from which no cost follows."""

    posted: int = 0
    reversed: int = 0
    refused: list[tuple[Any, DomainError]] = field(default_factory=list)


def _post_few(run: _Run, keys: Sequence[int], report: PostingReport) -> None:
    """Post some sources in one transaction; where the database refuses that, each in one of its own.

    Who collides with somebody else too often waits for the next run; nobody is shown anything.
    """
    if not run.pending(keys).exists():
        return
    try:
        done = again(lambda: _post_together(run, keys), also=() if len(keys) > 1 else (IntegrityError,))
    except IntegrityError:
        if len(keys) > 1:
            for key in keys:
                _post_few(run, [key], report)
            return
        if run.pending(keys).exists():
            raise
        return  # somebody else posted it in the meantime
    except OperationalError as error:
        _refuse_other(error)
        logger.warning("%s: %d postings left for the next run", run.farm, len(keys))
        return
    report.posted += done.posted
    report.reversed += done.reversed
    for source, refusal in done.refused:
        happened_on = run.source_type.happened_on(source)
        report.waiting.append(
            keep_waiting(farm=run.farm, source=source, happened_on=happened_on, error=refusal, now=run.now)
        )


def _post_together(run: _Run, keys: Sequence[int]) -> _Done:
    done = _Done()
    with transaction.atomic():
        few = _Few(run)
        for source in run.pending(keys):
            try:
                done.reversed += few.add(source)
            except WAITS_FOR as error:
                done.refused.append((source, error))
                few.read_again()
            else:
                done.posted += 1
        few.books.flush()
    few.facts.stock.remember(head=few.books.head)
    return done


class _Few:
    """Some sources in one transaction: what they are worked out from, read with the books held."""

    def __init__(self, run: _Run) -> None:
        self.run = run
        self.books = open_books(farm=run.farm)
        self.read_again()

    def read_again(self) -> None:
        """Read anew what postings are worked out from: what is in stock changed, or was drawn in vain."""
        self.books.flush()
        self.facts = posting_facts(farm=self.run.farm, book=self.run.book)

    def add(self, source: Any) -> int:
        """Add the entry of a source and return how many entries of older sources it reversed.

        Where no cost follows from it, what it supersedes stands on.
        """
        if not self.run.source_type.supersedes or source.supersedes is None:
            self._add(source)
            return 0
        self.books.flush()
        head = self.books.head
        try:
            with transaction.atomic():
                undone = self._reverse_superseded(source)
                self.read_again()
                self._add(source)
                self.books.flush()
        except WAITS_FOR:
            self.books.forget(head=head)
            raise
        return undone

    def _add(self, source: Any) -> None:
        kind = self.run.source_type
        lines = lines_of(source_type=kind, source=source, facts=self.facts)
        self.books.add(source=source, lines=lines, happened_on=kind.happened_on(source), now=self.run.now)
        if any(is_layer(line) for line in lines):
            self.read_again()

    def _reverse_superseded(self, source: Any) -> int:
        """Reverse the standing entries of what a source supersedes, however far back."""
        why = self.run.source_type.says_undone(source)
        undone = 0
        earlier = source.supersedes
        while earlier is not None:
            standing = Entry.objects.filter(
                farm=self.run.farm,
                source_kind=self.run.source_type.kind,
                source_id=earlier.pk,
                purpose="cost",
                reversed_by__isnull=True,
            )
            for entry in standing:
                self.books.add_reversal(entry=entry, why=why, now=self.run.now)
                undone += 1
            earlier = earlier.supersedes
        return undone
