"""Send what is due: claim in a short transaction, talk to the mail server outside of any, settle after."""

import datetime as dt
import hashlib
import logging
import random
import time
from dataclasses import dataclass, field
from typing import Any

from django.conf import settings

from farmops.core.problems import DomainError
from farmops.digests.models import OutboxRow, RowState
from farmops.digests.outcomes import MOST_ATTEMPTS, Outcome, Verdict, wait_s
from farmops.digests.selectors.day import FarmDay, farm_day
from farmops.digests.services.claims import Claim, claim, recover, settle, start_sending
from farmops.digests.services.composing import compose_sheet
from farmops.digests.services.delivery import Post
from farmops.digests.services.mailing import Envelope, UnusableAddress, message_bytes
from farmops.digests.services.making import make_due, make_for
from farmops.digests.services.reporting_at import own_address

__all__ = ["SendReport", "make_due", "make_for", "send_due"]

logger = logging.getLogger(__name__)

CLAIM_AT_ONCE = 20
# A run stops claiming after this long, so that one slow server cannot hold a worker past its time limit.
RUN_S = 120
# One sheet that cannot be composed waits by itself; the others go out.
COMPOSING_TROUBLE = (DomainError, ValueError, LookupError, TypeError, AttributeError, ArithmeticError)
# A sheet that goes out this much after its hour says so in its first line.
LATE_AFTER = dt.timedelta(minutes=30)


@dataclass
class SendReport:
    """What a run did; `halted` holds the server's words when the queue had to stop."""

    sent: int = 0
    retry: int = 0
    unknown: int = 0
    dead: int = 0
    skipped: int = 0
    lost: int = 0
    halted: str = ""
    refusals: list[str] = field(default_factory=list)

    def __str__(self) -> str:
        counts = ("sent", "retry", "unknown", "dead", "skipped")
        says = (
            ", ".join(f"{name} {getattr(self, name)}" for name in counts if getattr(self, name))
            or "nothing due"
        )
        return f"{says}; stopped: {self.halted}" if self.halted else says


class _Run:
    """One run: its clock, its connection, the farm days it has read, and the rows it has tried."""

    def __init__(self, now: dt.datetime, post: Post) -> None:
        self._began, self._mark = now, time.monotonic()
        self.post = post
        self.report = SendReport()
        self.tried: set[int] = set()
        self._facts: dict[tuple[int, dt.date], FarmDay] = {}

    @property
    def now(self) -> dt.datetime:
        return self._began + dt.timedelta(seconds=time.monotonic() - self._mark)

    @property
    def is_over(self) -> bool:
        return time.monotonic() - self._mark > RUN_S

    def facts(self, row: OutboxRow) -> FarmDay:
        key = (row.farm_id, row.local_day)
        if key not in self._facts:
            self._facts = {key: farm_day(farm=row.farm, day=row.local_day)}
        return self._facts[key]


def send_due(*, now: dt.datetime, farm_id: int | None = None) -> SendReport:
    """Send every row that is due, each at most once in this run; safe to start twice at the same time.

    One row's refusal never stops another's: only a server that is away or refuses the service itself ends the run.
    """
    unknown, skipped = recover(now=now)
    with Post() as post:
        run = _Run(now, post)
        run.report.unknown, run.report.skipped = unknown, skipped
        while not run.is_over and not run.report.halted:
            claims = claim(now=run.now, limit=CLAIM_AT_ONCE, without=run.tried, farm_id=farm_id)
            if not claims:
                break
            run.tried.update(held.row_id for held in claims)
            for number, held in enumerate(claims):
                if not _send_one(run, held):
                    _give_back(claims[number + 1 :])
                    return run.report
    return run.report


def _give_back(claims: list[Claim]) -> None:
    for held in claims:
        settle(held, state=RowState.DUE)


def _send_one(run: _Run, held: Claim) -> bool:
    """Compose, send and settle one row; False when the run cannot go on."""
    row = OutboxRow.objects.select_related("farm", "hand", "user").get(pk=held.row_id)
    try:
        made = _made(run, row)
    except UnusableAddress as error:
        _settle(run, held, row, Outcome(Verdict.DEAD, error.says[:300], "UnusableAddress"))
        return True
    except COMPOSING_TROUBLE as error:
        logger.exception("The sheet of %s for %s cannot be composed.", row.person_code, row.local_day)
        _settle(run, held, row, Outcome(Verdict.RETRY, str(error)[:300], type(error).__name__))
        return True
    if made is None:
        settle(held, state=RowState.EMPTY)
        return True
    if not start_sending(held, now=run.now, **made):
        run.report.lost += 1
        return True
    outcome = run.post.hand_over(content=made["content"], address=made["address"])
    _settle(run, held, row, outcome)
    return not outcome.ends_run


def _made(run: _Run, row: OutboxRow) -> dict[str, Any] | None:
    """Return what goes out, or None when the day's work was taken away since the row was made.

    A sheet that may have arrived goes out again as the very same bytes; another is composed anew.
    """
    content, language, plan_no = bytes(row.content), row.language, row.plan_no
    if not row.may_have_arrived:
        facts = run.facts(row)
        if row.hand is None or row.hand.pk not in facts.busy:
            return None
        is_late = run.now - row.due_at > LATE_AFTER
        sheet = compose_sheet(
            farm=row.farm,
            hand=row.hand,
            day=row.local_day,
            is_late=is_late,
            facts=facts,
            report_at=own_address(farm=row.farm, hand=row.hand, now=run.now),
        )
        content, language = message_bytes(sheet=sheet, envelope=_envelope(row)), sheet.language
        plan_no = facts.plan_number
    return {
        "content": content,
        "content_hash": hashlib.sha256(content).hexdigest(),
        "language": language,
        "plan_no": plan_no,
        "address": row.person.email,
    }


def _envelope(row: OutboxRow) -> Envelope:
    if not row.person.email:
        raise UnusableAddress(f"{row.person_name} has no mail address any more.")
    return Envelope(
        sender_name=row.farm.name,
        sender=settings.DEFAULT_FROM_EMAIL,
        receiver_name=row.person_name,
        receiver=row.person.email,
        message_id=row.message_id,
        dated_at=row.due_at,
    )


def _settle(run: _Run, held: Claim, row: OutboxRow, outcome: Outcome) -> None:
    now, attempt, report = run.now, row.attempt + 1, run.report
    words = {"smtp_reply": outcome.reply, "error_class": outcome.error_class}
    if outcome.verdict is Verdict.SENT:
        report.sent += settle(held, state=RowState.SENT, sent_at=now, **words)
        return
    report.refusals.append(f"{row.person_code}: {outcome.reply}")
    if outcome.verdict is Verdict.DEAD:
        report.dead += settle(held, state=RowState.DEAD, **words)
        return
    if outcome.ends_run:
        attempt = row.attempt  # the server is away: that says nothing about this row
        logger.error("The mail server cannot be used: %s", outcome.reply)
    if outcome.verdict is Verdict.HALT:
        report.halted = outcome.reply
    wait = dt.timedelta(seconds=wait_s(attempt=max(attempt, 1), roll=random.random()))
    facts = {**words, "attempt": attempt, "not_before_at": now + wait}
    if attempt >= MOST_ATTEMPTS:
        report.dead += settle(held, state=RowState.DEAD, **facts)
    elif outcome.verdict is Verdict.UNKNOWN:
        report.unknown += settle(held, state=RowState.UNKNOWN, may_have_arrived=True, **facts)
    else:
        report.retry += settle(held, state=RowState.RETRY, **facts)
