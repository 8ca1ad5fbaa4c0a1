"""Send what is due: claim in a short transaction, talk to the mail server outside of any, settle after."""

import datetime as dt
import logging
import time
from dataclasses import dataclass, field
from functools import partial
from typing import Any

from django.db import connection

from farmops.digests.models import MailTrouble, OutboxRow, RowState
from farmops.digests.outcomes import Outcome, Verdict
from farmops.digests.selectors.troubles import standing_halt
from farmops.digests.services.bounces import bounce_sender
from farmops.digests.services.claims import Claim, claim, give_back, ready, recover, settle, start_sending
from farmops.digests.services.composing import COMPOSING_TROUBLE
from farmops.digests.services.delivery import Post
from farmops.digests.services.fail_points import fail_at
from farmops.digests.services.journal import Accepted, settle_from_journal, write_accepted
from farmops.digests.services.mailing import UnusableAddress
from farmops.digests.services.making import make_due, make_for
from farmops.digests.services.reconnecting import LOST, until_it_holds
from farmops.digests.services.sending import Nothing, Reading, what_goes_out
from farmops.digests.services.settling import UNUSABLE, settle_outcome
from farmops.digests.services.troubles import end_trouble, halt, take_probe

__all__ = ["SendReport", "make_due", "make_for", "send_due"]

logger = logging.getLogger(__name__)

CLAIM_AT_ONCE = 20
RUN_S = 120
"""A run begins no row after this long, so that one slow server cannot hold a worker past its time limit."""


@dataclass
class SendReport:
    """What a run did; `halted` holds the server's words while the queue stands, `interrupted` what else ended the run."""

    sent: int = 0
    retry: int = 0
    unknown: int = 0
    dead: int = 0
    skipped: int = 0
    suppressed: int = 0
    empty: int = 0
    lost: int = 0
    halted: str = ""
    interrupted: str = ""
    refusals: list[str] = field(default_factory=list)

    def __str__(self) -> str:
        counts = ("sent", "retry", "unknown", "dead", "skipped", "suppressed")
        says = (
            ", ".join(f"{name} {getattr(self, name)}" for name in counts if getattr(self, name))
            or "nothing due"
        )
        why = self.halted or self.interrupted
        return f"{says}; stopped: {why}" if why else says


class _Run:
    """One run: its clock, its connection, and what it has read."""

    def __init__(self, now: dt.datetime, post: Post) -> None:
        self.began, self._mark = now, time.monotonic()
        self.post = post
        self.report = SendReport()
        self.reading = Reading()
        self.halt: MailTrouble | None = None

    @property
    def now(self) -> dt.datetime:
        return self.began + dt.timedelta(seconds=time.monotonic() - self._mark)

    @property
    def is_over(self) -> bool:
        return time.monotonic() - self._mark > RUN_S


def send_due(*, now: dt.datetime, farm_id: int | None = None, by_hand: bool = False) -> SendReport:
    """Send every row that is due, each at most once in this run; safe to start twice at the same time.

    One row's refusal never stops another's: only a server that is away or refuses the service itself ends the run. While
    a refusal of the service stands, one row is tried now and then, and at once where a person asks (`by_hand`).
    """
    settle_from_journal(now=now)
    unknown, skipped = recover(now=now)
    with Post() as post:
        run = _Run(now, post)
        run.report.unknown, run.report.skipped = unknown, skipped
        run.halt = standing_halt()
        if run.halt is not None and not _may_probe(run.halt, now=now, by_hand=by_hand):
            run.report.halted = run.halt.says
            return run.report
        while not run.is_over and _send_batch(run, farm_id):
            run.reading.forget_choices()
    return run.report


def _may_probe(standing: MailTrouble, *, now: dt.datetime, by_hand: bool) -> bool:
    its_time = standing.not_before_at is None or standing.not_before_at <= now
    return (by_hand or its_time) and ready(now=now).exists() and take_probe(trouble=standing, now=now)


def _send_batch(run: _Run, farm_id: int | None) -> bool:
    """Claim some rows and send them; False when nothing is due any more or the run cannot go on."""
    limit = 1 if run.halt else CLAIM_AT_ONCE
    claims = claim(now=run.now, limit=limit, ready_at=run.began, farm_id=farm_id)
    fail_at("after_claim")
    left = list(claims)
    try:
        rows = _rows(claims)
        while left:
            held = left[0]
            if run.is_over:
                return False
            left.pop(0)
            if not _send_one(run, held, rows[held.row_id]):
                return False
    except LOST as error:
        if connection.in_atomic_block:
            raise
        run.report.interrupted = str(error).strip()[:200]
        logger.error("The database was lost while mail was sent: %s", run.report.interrupted)
        return False
    finally:
        if left:
            until_it_holds(partial(give_back, left))
    return bool(claims)


def _rows(claims: list[Claim]) -> dict[int, OutboxRow]:
    """Read claimed rows: while the claims hold nobody else changes them."""
    ids = [held.row_id for held in claims]
    rows = OutboxRow.objects.select_related("farm", "hand", "user").in_bulk(ids)
    for row in rows.values():
        if row.hand is not None:
            row.hand.farm = row.farm
    return rows


def _send_one(run: _Run, held: Claim, row: OutboxRow) -> bool:
    """Compose, send and settle one row; False when the run cannot go on."""
    try:
        out = _what_goes_out(run, row)
        fail_at("after_compose")
        if isinstance(out, Outcome):
            return _settle(run, held, row, out)
        if isinstance(out, Nothing):
            settle(held, state=out.state, reason=out.reason)
            name = "empty" if out.state == RowState.EMPTY else "suppressed"
            setattr(run.report, name, getattr(run.report, name) + 1)
            return True
        if not start_sending(held, now=run.now, **out):
            run.report.lost += 1
            return True
        fail_at("after_sending_commit")
    except LOST:
        if not connection.in_atomic_block:  # nothing was handed over yet
            until_it_holds(partial(settle, held, state=RowState.DUE))
        raise
    outcome = run.post.hand_over(content=out["content"], address=out["address"], sender=bounce_sender(row))
    if outcome.verdict is Verdict.SENT:
        fail_at("after_250_before_journal")
        write_accepted(
            Accepted(held.row_id, row.message_id, row.attempt + 1, held.token, run.now, outcome.reply)
        )
        fail_at("after_journal_before_settle")
        _end_halt(run)
    return _settle(run, held, row, outcome)


def _what_goes_out(run: _Run, row: OutboxRow) -> dict[str, Any] | Nothing | Outcome:
    try:
        return what_goes_out(row=row, reading=run.reading, now=run.now)
    except UnusableAddress as error:
        return Outcome(Verdict.DEAD, error.says[:300], UNUSABLE)
    except COMPOSING_TROUBLE as error:
        logger.exception("The mail of %s for %s cannot be composed.", row.person_code, row.local_day)
        return Outcome(Verdict.RETRY, str(error)[:300], type(error).__name__)


def _end_halt(run: _Run) -> None:
    """The server takes mail again: the queue goes on."""
    standing, run.halt = run.halt, None
    if standing is not None:
        until_it_holds(partial(end_trouble, trouble=standing, by=None, now=run.now))


def _settle(run: _Run, held: Claim, row: OutboxRow, outcome: Outcome) -> bool:
    now, report = run.now, run.report
    done = until_it_holds(partial(settle_outcome, held=held, row=row, outcome=outcome, now=now))
    if done.state is None:
        report.lost += 1
        return not outcome.ends_run
    if outcome.verdict is not Verdict.SENT:
        report.refusals.append(f"{row.person_code}: {outcome.reply}")
    if outcome.verdict is Verdict.HALT:
        report.halted = outcome.reply
        until_it_holds(partial(halt, says=outcome.reply, now=now))
    elif done.state in (RowState.SENT, RowState.RETRY, RowState.UNKNOWN, RowState.DEAD):
        setattr(report, done.state, getattr(report, done.state) + 1)
    if outcome.ends_run:
        logger.error("The mail server cannot be used: %s", outcome.reply)
    return not outcome.ends_run
