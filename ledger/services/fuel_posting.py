"""Booking fuel by what was filled up, in the years for which a farm chose so.

What a fill-up is shared over changes when late work comes in: its entry is reversed then and written anew. So fill-ups
do not post like other sources, once; each run compares every fill-up with its entry that stands.
"""

import datetime as dt
import logging
from dataclasses import dataclass
from functools import partial

from django.db import OperationalError, connection, transaction
from django.db.models import QuerySet

from farmops.core.again import again, is_collision
from farmops.core.clock import local_date
from farmops.farms.models import Farm
from ledger.costing.refusals import CostingError
from ledger.models import Entry, FuelBy, PostingWait, SourceKind, YearChoice
from ledger.selectors.fuel_lines import FillPlan, fill_lines, fill_plan, fills_as_shared
from ledger.selectors.posting_facts import PostingFacts, posting_facts
from ledger.selectors.rates import NoRateOnDate
from ledger.selectors.stock import UnitDiffers
from ledger.services.journal import open_books
from ledger.services.posting_report import CostNotWorkedOut, PostingReport, keep_waiting
from scheduling.models import FuelFill

logger = logging.getLogger(__name__)
SHARED_OTHERWISE = "its fuel is shared over work otherwise now"
NO_FILL = "the fill-up was corrected or taken back"
WAITS_FOR = (NoRateOnDate, UnitDiffers, CostingError)


@dataclass(frozen=True)
class _Done:
    posted: int = 0
    reversed: int = 0


def post_fills(*, farm: Farm, facts: PostingFacts, report: PostingReport, now: dt.datetime) -> None:
    """Book every fill-up as it is shared today, and undo what is booked of those that stand no longer.

    What somebody reversed by hand stays so. Who collides with somebody else too often is left for the next run.
    """
    if not YearChoice.objects.filter(farm=farm, fuel_by=FuelBy.FILL_UPS).exists():
        return
    try:
        _book_all(farm, facts, report, now)
    except OperationalError as error:
        if connection.in_atomic_block or not is_collision(error):
            raise
        logger.warning("%s: fill-ups left for the next run", farm)


def _book_all(farm: Farm, facts: PostingFacts, report: PostingReport, now: dt.datetime) -> None:
    fills, records = fills_as_shared(farm=farm)
    for gone in _standing(farm).exclude(source_id__in=[one.row.pk for one in fills]):
        report.reversed += again(partial(_undo, farm, gone, now))
    marks = dict(_standing(farm).values_list("source_id", "why"))
    by_hand = set(_reversed_by_hand(farm).values_list("source_id", flat=True))
    waiting = []
    for one in fills:
        fill = one.row
        if fill.pk in by_hand and fill.pk not in marks:
            continue
        try:
            plan = fill_plan(shared=one, records=records, facts=facts)
            if marks.get(fill.pk, "") == ("" if plan is None else plan.mark):
                continue
            done = again(partial(_post, farm, fill, plan, facts, now))
        except WAITS_FOR as error:
            refusal = CostNotWorkedOut(str(error)) if isinstance(error, CostingError) else error
            on = local_date(fill.filled_at, farm.zone)
            report.waiting.append(
                keep_waiting(farm=farm, source=fill, happened_on=on, error=refusal, now=now)
            )
            waiting.append(fill.pk)
        else:
            report.posted += done.posted
            report.reversed += done.reversed
    waits = PostingWait.objects.filter(farm=farm, source_kind=SourceKind.FUEL_FILL)
    waits.exclude(source_id__in=waiting).delete()


def _post(farm: Farm, fill: FuelFill, plan: FillPlan | None, facts: PostingFacts, now: dt.datetime) -> _Done:
    """Write the entry of a fill-up, in the place of the one that stands; with the books held it is looked at again."""
    with transaction.atomic():
        books = open_books(farm=farm)
        standing = _standing(farm).filter(source_id=fill.pk).first()
        made = _entries(farm).filter(source_id=fill.pk).count()
        is_same = standing is not None and plan is not None and standing.why == plan.mark
        is_by_hand = standing is None and _reversed_by_hand(farm).filter(source_id=fill.pk).exists()
        if is_same or is_by_hand or FuelFill.objects.filter(supersedes=fill).exists():
            return _Done()
        if standing is not None:
            books.add_reversal(entry=standing, why=SHARED_OTHERWISE, now=now)
            books.flush()
        if plan is not None:
            books.add(
                source=fill,
                lines=fill_lines(plan=plan, facts=posting_facts(farm=farm, book=facts.book)),
                happened_on=plan.on,
                now=now,
                purpose=f"cost-{made + 1}" if made else "cost",
                why=plan.mark,
            )
            books.flush()
    return _Done(posted=int(plan is not None), reversed=int(standing is not None))


def _undo(farm: Farm, entry: Entry, now: dt.datetime) -> int:
    with transaction.atomic():
        books = open_books(farm=farm)
        if Entry.objects.filter(reverses=entry).exists():
            return 0
        books.add_reversal(entry=entry, why=NO_FILL, now=now)
        books.flush()
    return 1


def _entries(farm: Farm) -> QuerySet[Entry]:
    return Entry.objects.filter(farm=farm, source_kind=SourceKind.FUEL_FILL, is_imported=False)


def _standing(farm: Farm) -> QuerySet[Entry]:
    return _entries(farm).filter(reversed_by=None).order_by("number")


def _reversed_by_hand(farm: Farm) -> QuerySet[Entry]:
    undone = _entries(farm).filter(reversed_by__isnull=False)
    return undone.exclude(reversed_by__why__in=(SHARED_OTHERWISE, NO_FILL))
