"""The ledger pulls: whatever has no posting yet is posted, each source in one transaction of its own.

Safe to run twice and side by side: the books are held while an entry is written, and the unique key of the source
is the truth behind it. What cannot be priced is kept and waits, with a sentence, until a later run finds the price.
"""

import datetime as dt
from typing import Any

from django.db import IntegrityError, transaction

from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm
from ledger.costing.money import MOST_CENTS, usd_text
from ledger.costing.refusals import CostingError
from ledger.models import Entry, PostingWait
from ledger.selectors.drafts import DraftLine
from ledger.selectors.posting_facts import PostingFacts, posting_facts
from ledger.selectors.rates import NoRateOnDate, RateBook, rate_book
from ledger.selectors.sources import kind_of
from ledger.selectors.work_lines import UnitDiffers
from ledger.services.journal import hold_books, write_entry, write_reversal
from ledger.services.posting_report import PostingReport, keep_waiting
from ledger.services.source_types import AFTER_SOURCES, SOURCE_TYPES, SourceType, pending_keys


class CostNotWorkedOut(DomainError):
    """Numbers of a source from which no cost follows: it is kept, its posting waits."""

    code = "cost_not_worked_out"
    kind = Kind.CONFLICT


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
        for source in list(source_type.pending(farm=farm)):
            try:
                _post(farm, source_type, source, book, report, now)
            except WAITS_FOR as error:
                happened_on = source_type.happened_on(source)
                report.waiting.append(
                    keep_waiting(farm=farm, source=source, happened_on=happened_on, error=error, now=now)
                )
    for one in AFTER_SOURCES:
        one(farm=farm, facts=posting_facts(farm=farm, book=book), report=report, now=now)
    _forget_waits(farm)


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


def _post(
    farm: Farm, source_type: SourceType, source: Any, book: RateBook, report: PostingReport, now: dt.datetime
) -> None:
    try:
        with transaction.atomic():
            hold_books(farm=farm)
            if not source_type.pending(farm=farm).filter(pk=source.pk).exists():
                return
            undone = _reverse_superseded(source_type, source, now)
            lines = lines_of(
                source_type=source_type, source=source, facts=posting_facts(farm=farm, book=book)
            )
            write_entry(
                farm=farm, source=source, lines=lines, happened_on=source_type.happened_on(source), now=now
            )
    except IntegrityError:
        if source_type.pending(farm=farm).filter(pk=source.pk).exists():
            raise
        return  # somebody else posted it in the meantime
    report.posted += 1
    report.reversed += undone


def _reverse_superseded(source_type: SourceType, source: Any, now: dt.datetime) -> int:
    """Reverse the standing entries of what a source supersedes, however far back."""
    undone = 0
    earlier = source.supersedes if source_type.supersedes else None
    while earlier is not None:
        standing = Entry.objects.filter(
            source_kind=kind_of(earlier), source_id=earlier.pk, purpose="cost", reversed_by__isnull=True
        )
        for entry in standing:
            write_reversal(entry=entry, why=source_type.says_undone(source), now=now)
            undone += 1
        earlier = earlier.supersedes
    return undone
