"""Booking fuel by what was filled up, in the years for which a farm chose so."""

import datetime as dt
from functools import partial

from farmops.core.clock import local_date
from farmops.farms.models import Farm
from ledger.costing.refusals import CostingError
from ledger.models import FuelBy, PostingWait, SourceKind, YearChoice
from ledger.selectors.drafts import DraftLine
from ledger.selectors.fuel_lines import FillPlan, fill_lines, fill_plan, fills_as_shared
from ledger.selectors.posting_facts import PostingFacts
from ledger.selectors.rates import NoRateOnDate
from ledger.selectors.stock import UnitDiffers
from ledger.services.posting_report import CostNotWorkedOut, PostingReport, keep_waiting
from ledger.services.rewriting import Planned, Rewriting

SHARED_OTHERWISE = "its fuel is shared over work otherwise now"
NO_FILL = "the fill-up was corrected or taken back"
WAITS_FOR = (NoRateOnDate, UnitDiffers, CostingError)


def post_fills(*, farm: Farm, facts: PostingFacts, report: PostingReport, now: dt.datetime) -> None:
    """Book every fill-up as it is shared today, and undo what is booked of those that stand no longer.

    What somebody reversed by hand stays so.
    """
    if not YearChoice.objects.filter(farm=farm, fuel_by=FuelBy.FILL_UPS).exists():
        return
    books = Rewriting(farm, SourceKind.FUEL_FILL, changed=SHARED_OTHERWISE, gone=NO_FILL)
    fills, records = fills_as_shared(farm=farm)
    books.undo_others(there=[one.row.pk for one in fills], report=report, now=now)
    marks, by_hand = books.marks(), books.by_hand()
    waiting = []
    for one in fills:
        fill = one.row
        if fill.pk in by_hand:
            continue
        try:
            plan = fill_plan(shared=one, records=records, facts=facts)
            if marks.get(fill.pk) != (None if plan is None else plan.mark):
                planned = None if plan is None else Planned(plan.on, plan.mark, partial(_lines, plan))
                books.write(source=fill, planned=planned, book=facts.book, report=report, now=now)
        except WAITS_FOR as error:
            refusal = CostNotWorkedOut(str(error)) if isinstance(error, CostingError) else error
            on = local_date(fill.filled_at, farm.zone)
            report.waiting.append(
                keep_waiting(farm=farm, source=fill, happened_on=on, error=refusal, now=now)
            )
            waiting.append(fill.pk)
    waits = PostingWait.objects.filter(farm=farm, source_kind=SourceKind.FUEL_FILL)
    waits.exclude(source_id__in=waiting).delete()


def _lines(plan: FillPlan, facts: PostingFacts) -> list[DraftLine]:
    return fill_lines(plan=plan, facts=facts)
