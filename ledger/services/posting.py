"""The ledger pulls: whatever has no posting yet is posted, each source in one transaction of its own.

Safe to run twice and side by side: the books are held while an entry is written, and the unique key of the source
is the truth behind it. What cannot be priced is kept and waits, with a sentence, until a later run finds the price.
"""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, field

from django.db import IntegrityError, transaction

from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm
from ledger.costing.money import MOST_CENTS, usd_text
from ledger.costing.refusals import CostingError
from ledger.models import Bill, BillPayment, Entry, PostingWait, PunctureTo
from ledger.selectors.bill_lines import bill_lines, payment_lines, puncture_choice
from ledger.selectors.care_lines import care_day, care_lines
from ledger.selectors.drafts import DraftLine
from ledger.selectors.pending import pending_bills, pending_care, pending_keys, pending_payments, pending_work
from ledger.selectors.rates import NoRateOnDate, RateBook, rate_book
from ledger.selectors.sources import kind_of
from ledger.selectors.work_lines import UnitDiffers, work_lines
from ledger.services.journal import hold_books, write_entry, write_reversal
from scheduling.models import CareDone, WorkRecord

Source = WorkRecord | Bill | BillPayment | CareDone


class CostNotWorkedOut(DomainError):
    """Numbers of a source from which no cost follows: it is kept, its posting waits."""

    code = "cost_not_worked_out"
    kind = Kind.CONFLICT


@dataclass(frozen=True)
class Waiting:
    """A source that was not posted, and why."""

    farm: str
    source_kind: str
    source_id: int
    happened_on: dt.date
    code: str
    says: str


@dataclass
class PostingReport:
    """What a run did: entries of sources, reversals of superseded ones, and what waits."""

    posted: int = 0
    reversed: int = 0
    waiting: list[Waiting] = field(default_factory=list)

    def __str__(self) -> str:
        return f"{self.posted} posted, {self.reversed} reversed, {len(self.waiting)} waiting"


def post_pending(*, farm: Farm | None = None, now: dt.datetime) -> PostingReport:
    """Post everything that has no posting, of one farm or of all, and say what waits."""
    report = PostingReport()
    for one in [farm] if farm is not None else Farm.objects.order_by("id"):
        _post_farm(one, report, now)
    return report


def _post_farm(farm: Farm, report: PostingReport, now: dt.datetime) -> None:
    book = rate_book(farm=farm)
    puncture_to = puncture_choice(farm=farm)
    for source in _sources(farm):
        try:
            lines = _lines(source, book, puncture_to)
        except (NoRateOnDate, UnitDiffers, CostNotWorkedOut) as error:
            report.waiting.append(_keep_waiting(farm, source, error, now))
            continue
        _post(farm, source, lines, report, now)
    pending = pending_keys(farm=farm)
    for wait in PostingWait.objects.filter(farm=farm):
        if (wait.source_kind, wait.source_id) not in pending:
            wait.delete()


def _sources(farm: Farm) -> Iterator[Source]:
    yield from list(pending_work(farm=farm))
    yield from list(pending_care(farm=farm))
    yield from list(pending_bills(farm=farm))
    yield from list(pending_payments(farm=farm))


def _lines(source: Source, book: RateBook, puncture_to: PunctureTo) -> list[DraftLine]:
    try:
        if isinstance(source, WorkRecord):
            lines = work_lines(record=source, book=book)
        elif isinstance(source, Bill):
            lines = bill_lines(bill=source, puncture_to=puncture_to)
        elif isinstance(source, CareDone):
            lines = care_lines(care=source, book=book)
        else:
            lines = payment_lines(payment=source)
    except CostingError as error:
        raise CostNotWorkedOut(str(error)) from error
    for line in lines:
        if abs(line.cents) > MOST_CENTS:
            raise CostNotWorkedOut(
                f"{line.says} comes to {usd_text(line.cents)} dollars, which no line holds."
            )
    return lines


def _post(
    farm: Farm, source: Source, lines: list[DraftLine], report: PostingReport, now: dt.datetime
) -> None:
    try:
        with transaction.atomic():
            hold_books(farm=farm)
            if _is_posted(source) or _is_superseded(source):
                return
            undone = _reverse_superseded(source, now)
            write_entry(farm=farm, source=source, lines=lines, happened_on=_happened_on(source), now=now)
    except IntegrityError:
        if not _is_posted(source):
            raise
        return  # somebody else posted it in the meantime
    report.posted += 1
    report.reversed += undone


def _reverse_superseded(source: Source, now: dt.datetime) -> int:
    """Reverse the standing entries of what a source supersedes, however far back."""
    if isinstance(source, BillPayment):
        return 0
    undone = 0
    earlier: WorkRecord | Bill | CareDone | None = source.supersedes
    while earlier is not None:
        standing = Entry.objects.filter(
            source_kind=kind_of(earlier), source_id=earlier.pk, purpose="cost", reversed_by__isnull=True
        )
        for entry in standing:
            write_reversal(entry=entry, why=_superseded_says(source), now=now)
            undone += 1
        earlier = earlier.supersedes
    return undone


def _superseded_says(source: Source) -> str:
    if isinstance(source, WorkRecord):
        return f"superseded by the work record of {source.recorded_at:%Y-%m-%d %H:%M} UTC"
    if isinstance(source, CareDone):
        what = "taken back" if source.is_taken_back else "corrected"
        return f"the service was {what} on {source.recorded_at:%Y-%m-%d %H:%M} UTC"
    return "superseded by a corrected bill"


def _is_posted(source: Source) -> bool:
    return Entry.objects.filter(
        farm_id=source.farm_id, source_kind=kind_of(source), source_id=source.pk, purpose="cost"
    ).exists()


def _is_superseded(source: Source) -> bool:
    if isinstance(source, WorkRecord):
        return WorkRecord.objects.filter(supersedes=source).exists()
    if isinstance(source, CareDone):
        return CareDone.objects.filter(supersedes=source).exists()
    return isinstance(source, Bill) and Bill.objects.filter(supersedes=source).exists()


def _happened_on(source: Source) -> dt.date:
    if isinstance(source, WorkRecord):
        return source.work_on
    if isinstance(source, CareDone):
        return care_day(care=source)
    return source.bill_on if isinstance(source, Bill) else source.paid_on


def _keep_waiting(farm: Farm, source: Source, error: DomainError, now: dt.datetime) -> Waiting:
    waiting = Waiting(
        farm.code, kind_of(source).value, source.pk, _happened_on(source), error.code, error.says
    )
    PostingWait.objects.update_or_create(
        farm=farm,
        source_kind=waiting.source_kind,
        source_id=waiting.source_id,
        defaults={
            "happened_on": waiting.happened_on,
            "code": waiting.code,
            "says": waiting.says[:300],
            "checked_at": now,
        },
        create_defaults={
            "happened_on": waiting.happened_on,
            "code": waiting.code,
            "says": waiting.says[:300],
            "checked_at": now,
            "first_at": now,
        },
    )
    return waiting
