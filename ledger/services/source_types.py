"""Every kind of source that posts by itself, in the order of posting. A new kind is one row here.

A row says what waits, on which day it happened and what it costs; how it is written, numbered, reversed when it is
superseded and kept waiting when no cost follows is the same for all (`ledger.services.posting`).
"""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet

from farmops.farms.models import Farm
from ledger.models import Bill, BillPayment, OpeningStock, SourceKind
from ledger.selectors.bill_lines import bill_lines, opening_lines, payment_lines
from ledger.selectors.care_lines import care_day, care_lines
from ledger.selectors.drafts import DraftLine
from ledger.selectors.pending import (
    pending_bills,
    pending_care,
    pending_openings,
    pending_payments,
    pending_work,
)
from ledger.selectors.posting_facts import PostingFacts
from ledger.selectors.work_lines import work_lines
from ledger.services.fuel_posting import post_fills
from ledger.services.incident_posting import post_lost_time
from ledger.services.readings import post_readings
from scheduling.models import CareDone, WorkRecord


@dataclass(frozen=True)
class SourceType:
    """One kind of source that posts by itself: what waits, on which day it happened, what it costs.

    `lines` is called with the books held and after every older source is written, so it may read what is in stock.
    Where `supersedes`, the rows have that key to the older row, whose entry is reversed first.
    """

    kind: SourceKind
    pending: Callable[..., QuerySet]
    happened_on: Callable[[Any], dt.date]
    lines: Callable[..., list[DraftLine]]
    supersedes: bool
    says_undone: Callable[[Any], str]


def _lines_of_work(*, source: WorkRecord, facts: PostingFacts) -> list[DraftLine]:
    return work_lines(record=source, facts=facts)


def _lines_of_care(*, source: CareDone, facts: PostingFacts) -> list[DraftLine]:
    return care_lines(care=source, facts=facts)


def _lines_of_bill(*, source: Bill, facts: PostingFacts) -> list[DraftLine]:
    return bill_lines(bill=source, puncture_to=facts.puncture_to, categories=facts.categories)


def _lines_of_payment(*, source: BillPayment, facts: PostingFacts) -> list[DraftLine]:
    return payment_lines(payment=source)


def _lines_of_opening(*, source: OpeningStock, facts: PostingFacts) -> list[DraftLine]:
    return opening_lines(opening=source, categories=facts.categories)


def _care_undone(care: CareDone) -> str:
    what = "taken back" if care.is_taken_back else "corrected"
    return f"the service was {what} on {care.recorded_at:%Y-%m-%d %H:%M} UTC"


OPENING = SourceType(
    kind=SourceKind.OPENING,
    pending=pending_openings,
    happened_on=lambda opening: opening.on,
    lines=_lines_of_opening,
    supersedes=True,
    says_undone=lambda opening: "superseded by a corrected opening stock",
)
BILLS = SourceType(
    kind=SourceKind.BILL,
    pending=pending_bills,
    happened_on=lambda bill: bill.bill_on,
    lines=_lines_of_bill,
    supersedes=True,
    says_undone=lambda bill: "superseded by a corrected bill",
)
PAYMENTS = SourceType(
    kind=SourceKind.PAYMENT,
    pending=pending_payments,
    happened_on=lambda payment: payment.paid_on,
    lines=_lines_of_payment,
    supersedes=True,
    says_undone=lambda payment: "its bill was corrected",
)
WORK = SourceType(
    kind=SourceKind.WORK_RECORD,
    pending=pending_work,
    happened_on=lambda record: record.work_on,
    lines=_lines_of_work,
    supersedes=True,
    says_undone=lambda record: f"superseded by the work record of {record.recorded_at:%Y-%m-%d %H:%M} UTC",
)
CARE = SourceType(
    kind=SourceKind.CARE_DONE,
    pending=pending_care,
    happened_on=lambda care: care_day(care=care),
    lines=_lines_of_care,
    supersedes=True,
    says_undone=_care_undone,
)

SOURCE_TYPES: tuple[SourceType, ...] = (
    OPENING,
    BILLS,
    PAYMENTS,
    WORK,
    CARE,
)
"""In the order of posting: what comes into stock before what is drawn from it."""

AFTER_SOURCES: tuple[Callable[..., object], ...] = (post_fills, post_lost_time)
"""Called last in each run as `one(farm=, facts=, report=, now=)`: postings of many sources at once. Each opens its own
transaction, holds the books, and adds what it did and what waits to the `PostingReport`."""

BEFORE_CLOSE: tuple[Callable[..., object], ...] = (post_readings,)
"""Called by the close of a month as `one(farm=, through=, now=)`, with the books held, before its mark is made."""


def pending_keys(*, farm: Farm) -> set[tuple[str, int]]:
    """Return (kind, id) of everything without a posting."""
    return {
        (one.kind.value, pk)
        for one in SOURCE_TYPES
        for pk in one.pending(farm=farm).values_list("pk", flat=True)
    }
