"""Booking what incidents cost in time."""

import datetime as dt
from functools import partial

from farmops.farms.models import Farm
from ledger.models import SourceKind
from ledger.selectors.drafts import DraftLine
from ledger.selectors.incident_lines import LostTime, lost_lines, lost_times
from ledger.selectors.posting_facts import PostingFacts
from ledger.services.posting_report import PostingReport
from ledger.services.rewriting import Planned, Rewriting

SAID_OTHERWISE = "the time lost, or the work it was lost in, is said otherwise now"
NOT_LOST = "no time was lost in hours that stand in the books"


def post_lost_time(*, farm: Farm, facts: PostingFacts, report: PostingReport, now: dt.datetime) -> None:
    """Move the time that incidents cost out of labor, as it is known today; what was moved otherwise is undone first."""
    books = Rewriting(farm, SourceKind.INCIDENT, changed=SAID_OTHERWISE, gone=NOT_LOST)
    found = lost_times(farm=farm)
    books.undo_others(there=[one.incident.pk for one in found], report=report, now=now)
    marks, by_hand = books.marks(), books.by_hand()
    for lost in found:
        if lost.incident.pk not in by_hand and marks.get(lost.incident.pk) != lost.mark:
            planned = Planned(lost.on, lost.mark, partial(_lines, lost))
            books.write(source=lost.incident, planned=planned, book=facts.book, report=report, now=now)


def _lines(lost: LostTime, facts: PostingFacts) -> list[DraftLine]:
    return lost_lines(lost=lost, facts=facts)
