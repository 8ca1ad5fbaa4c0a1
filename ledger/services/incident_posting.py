"""Booking what incidents cost in time."""

import datetime as dt
import logging
from functools import partial

from django.db import OperationalError, connection

from farmops.core.again import is_collision
from farmops.farms.models import Farm
from ledger.models import SourceKind
from ledger.selectors.drafts import DraftLine
from ledger.selectors.incident_lines import LostTime, lost_lines, lost_times
from ledger.selectors.posting_facts import PostingFacts
from ledger.services.posting_report import PostingReport
from ledger.services.rewriting import Planned, Rewriting

logger = logging.getLogger(__name__)
SAID_OTHERWISE = "the time lost, or the work it was lost in, is said otherwise now"
NOT_LOST = "no time was lost in hours that stand in the books"


def post_lost_time(*, farm: Farm, facts: PostingFacts, report: PostingReport, now: dt.datetime) -> None:
    """Move the time that incidents cost out of labor, as it is known today; what was moved otherwise is undone first."""
    try:
        _book_all(farm, facts, report, now)
    except OperationalError as error:
        if connection.in_atomic_block or not is_collision(error):
            raise
        logger.warning("%s: time lost by incidents left for the next run", farm)


def _book_all(farm: Farm, facts: PostingFacts, report: PostingReport, now: dt.datetime) -> None:
    books = Rewriting(farm, SourceKind.INCIDENT, changed=SAID_OTHERWISE, gone=NOT_LOST)
    found = lost_times(farm=farm)
    done = [books.undo_others(there=[one.incident.pk for one in found], now=now)]
    marks, by_hand = books.marks(), books.by_hand()
    for lost in found:
        if lost.incident.pk not in by_hand and marks.get(lost.incident.pk) != lost.mark:
            planned = Planned(lost.on, lost.mark, partial(_lines, lost))
            done.append(books.write(source=lost.incident, planned=planned, book=facts.book, now=now))
    report.posted += sum(one.posted for one in done)
    report.reversed += sum(one.reversed for one in done)


def _lines(lost: LostTime, facts: PostingFacts) -> list[DraftLine]:
    return lost_lines(lost=lost, facts=facts)
