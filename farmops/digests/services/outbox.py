"""Send what is due: claim in a short transaction, talk to the mail server outside of any, settle after."""

import datetime as dt
import logging
import time
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from functools import partial
from typing import Any

from django.conf import settings
from django.db import connection, transaction

from farmops.core import stopping
from farmops.core.garbage import fewer_looks
from farmops.core.ready import Among, Ready
from farmops.digests.models import MailTrouble, OutboxRow, RowState
from farmops.digests.outcomes import Outcome, Verdict
from farmops.digests.selectors.troubles import standing_halt
from farmops.digests.services.bounces import bounce_sender
from farmops.digests.services.claims import (
    Claim,
    claim,
    give_back,
    ready,
    recover,
    settle,
    settle_taken,
    start_sending,
)
from farmops.digests.services.composing import COMPOSING_TROUBLE
from farmops.digests.services.delivery import Post
from farmops.digests.services.fail_points import fail_at
from farmops.digests.services.journal import Accepted, Journal, settle_from_journal
from farmops.digests.services.mailing import UnusableAddress
from farmops.digests.services.making import make_due, make_for
from farmops.digests.services.reconnecting import LOST, until_it_holds
from farmops.digests.services.sending import Nothing, Reading, Steps, at_once, what_goes_out
from farmops.digests.services.settling import UNUSABLE, settle_outcome
from farmops.digests.services.troubles import end_trouble, halt, note_told, take_probe
from farmops.farms.models import Farm

__all__ = ["SendReport", "make_due", "make_for", "send_due"]

logger = logging.getLogger(__name__)

CLAIM_AT_ONCE = 400
"""So many are read together at most. A run ends before their lease does, however slow the mail server is."""

LEAST_AT_ONCE, SHARE_AT_ONCE = 100, 4
"""Of what is ready a run claims no more than a fourth, but for the last few: what is left at the end is for all workers."""

BEGIN_AT_ONCE = 40
"""So many share a commit before and one after they are sent. Who is killed leaves that many to wait for their lease; who is
asked to end gives back what is not handed over."""

SETTLE_AFTER_S = 1.0
"""A message that was taken is settled at the latest before the next one after this long."""

UNREAD = (
    "not_before_at",
    "give_up_at",
    "claim_token",
    "claim_until",
    "content_hash",
    "smtp_reply",
    "error_class",
)
"""What no run asks of a row: it is written only."""

RUN_S = 120
"""A run begins no row after this long, so that one slow server cannot hold a worker past its time limit."""

ROWS = Ready(
    lambda ids: (
        OutboxRow.objects.filter(Among("pk", ids)).select_related("hand", "user").defer(*UNREAD).order_by()
    ),
    (-1,),
)


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
    """One run: its clock, its connection, its journal, what it has read, and what was taken and is not settled yet."""

    def __init__(self, now: dt.datetime, post: Post, journal: Journal) -> None:
        self.began, self._mark, self._wall = now, _up_s(), time.time()
        self.post, self.journal = post, journal
        self.report = SendReport()
        self.reading = Reading()
        self.halt: MailTrouble | None = None
        self.ahead: dict[Claim, dict[str, Any] | Nothing | Outcome] = {}
        self.taken: dict[Claim, dict[str, Any]] = {}
        self.taken_since = 0.0

    @property
    def gone_s(self) -> float:
        """Return the seconds since the run began; a machine that slept meanwhile counts them by its clock."""
        return max(_up_s() - self._mark, time.time() - self._wall)

    @property
    def now(self) -> dt.datetime:
        return self.began + dt.timedelta(seconds=_up_s() - self._mark)

    @property
    def is_over(self) -> bool:
        return self.gone_s > RUN_S or stopping.is_asked()


def _up_s() -> float:
    """Return seconds that go on while the machine sleeps, where it counts them."""
    return time.clock_gettime(time.CLOCK_BOOTTIME) if hasattr(time, "CLOCK_BOOTTIME") else time.monotonic()


def send_due(*, now: dt.datetime, farm_id: int | None = None, by_hand: bool = False) -> SendReport:
    """Send every row that is due, each at most once in this run; safe to start twice at the same time.

    One row's refusal never stops another's: only a server that is away or refuses the service itself ends the run. While
    a refusal of the service stands, one row is tried now and then, and at once where a person asks (`by_hand`).
    """
    settle_from_journal(now=now)
    unknown, skipped = recover(now=now)
    with Post() as post, Journal() as journal, fewer_looks():
        run = _Run(now, post, journal)
        run.report.unknown, run.report.skipped = unknown, skipped
        run.halt = standing_halt()
        if run.halt is not None and not _may_probe(run.halt, now=now, by_hand=by_hand):
            run.report.halted = run.halt.says
            return run.report
        if run.halt is not None and not ready(now=now).exists():
            return _greet(run)
        while not run.is_over and _send_batch(run, farm_id):
            continue
    return run.report


def _may_probe(standing: MailTrouble, *, now: dt.datetime, by_hand: bool) -> bool:
    its_time = standing.not_before_at is None or standing.not_before_at <= now
    return (by_hand or its_time) and take_probe(trouble=standing, now=now)


def _greet(run: _Run) -> SendReport:
    """With nothing to send, only ask the server whether it takes mail again: the halt must not stand until tomorrow."""
    outcome = run.post.greet(sender=settings.DEFAULT_FROM_EMAIL)
    if outcome.verdict is Verdict.SENT:
        _end_halt(run)
    else:
        run.report.halted = outcome.reply
    return run.report


def _send_batch(run: _Run, farm_id: int | None) -> bool:
    """Claim some rows and send them; False when nothing is due any more or the run cannot go on."""
    limit = 1 if run.halt else _claim_at_once(run, farm_id)
    claims = claim(now=run.now, limit=limit, ready_at=run.began, farm_id=farm_id)
    fail_at("after_claim")
    left = list(claims)
    try:
        rows = _rows(claims)
        run.reading.expect([rows[held.row_id] for held in claims], now=run.now)
        while left:
            if run.is_over:
                return False
            some, coming = (
                [(held, rows[held.row_id]) for held in left[first : first + BEGIN_AT_ONCE]]
                for first in (0, BEGIN_AT_ONCE)
            )
            ahead = _compose_ahead(run, coming)
            for one in _begin(run, some, left):
                if run.is_over:
                    return False
                left.remove(one.held)
                if not _send_one(run, one, ahead):
                    return False
            _settle_taken(run)
    except LOST as error:
        if connection.in_atomic_block:
            raise
        run.report.interrupted = str(error).strip()[:200]
        logger.error("The database was lost while mail was sent: %s", run.report.interrupted)
        return False
    finally:
        try:
            _settle_taken(run)
        finally:
            if left:
                until_it_holds(partial(give_back, left))
    return bool(claims)


def _claim_at_once(run: _Run, farm_id: int | None) -> int:
    """Return how many rows to claim: a share of what is ready, of a farm or of all."""
    some = ready(now=run.now) if farm_id is None else ready(now=run.now).filter(farm_id=farm_id)
    count = some.order_by()[: CLAIM_AT_ONCE * SHARE_AT_ONCE].count()  # of more it would be the same
    return min(CLAIM_AT_ONCE, max(LEAST_AT_ONCE, count // SHARE_AT_ONCE))


def _rows(claims: list[Claim]) -> dict[int, OutboxRow]:
    """Read claimed rows: while the claims hold nobody else changes them."""
    rows = {row.pk: row for row in ROWS.ask([held.row_id for held in claims])}
    farms = Farm.objects.in_bulk({row.farm_id for row in rows.values()})
    for row in rows.values():
        row.farm = farms[row.farm_id]
        if row.hand is not None:
            row.hand.farm = row.farm
    return rows


@dataclass(frozen=True)
class _Ready:
    """A row whose bytes are made and of which it is written down that it is being sent."""

    held: Claim
    row: OutboxRow
    content: bytes
    address: str


def _begin(run: _Run, some: Sequence[tuple[Claim, OutboxRow]], left: list[Claim]) -> list[_Ready]:
    """Compose rows, and write down together that they are being sent; those of which nothing goes out end here.

    What is returned is still among those left, to be given back unless it is handed over.
    """
    going: dict[Claim, dict[str, Any]] = {}
    rows = dict(some)
    for held, row in some:
        out = run.ahead.pop(held, None) or at_once(_what_goes_out(run, row))
        fail_at("after_compose")
        if isinstance(out, dict):
            going[held] = out
            continue
        if isinstance(out, Outcome):
            _settle(run, held, row, out)
        else:
            settle(held, state=out.state, reason=out.reason)
            name = "empty" if out.state == RowState.EMPTY else "suppressed"
            setattr(run.report, name, getattr(run.report, name) + 1)
        left.remove(held)
    with transaction.atomic():
        run.reading.store_links(held.row_id for held in going)
        begun = start_sending(going, now=run.now)
    for held in [one for one in going if one.row_id not in begun]:
        run.report.lost += 1
        left.remove(held)
    return [
        _Ready(held, rows[held], out["content"], out["address"])
        for held, out in going.items()
        if held.row_id in begun
    ]


def _send_one(run: _Run, one: _Ready, ahead: Iterator[None]) -> bool:
    """Hand one message over and write down what became of it; False when the run cannot go on.

    A step `ahead` is taken whenever the server is at work with what it was told.
    """
    fail_at("after_sending_commit")
    began_s = run.gone_s
    outcome = run.post.hand_over(
        content=one.content,
        address=one.address,
        sender=bounce_sender(one.row),
        meanwhile=partial(next, ahead, None),
    )
    if outcome.verdict is not Verdict.SENT:
        return _settle(run, one.held, one.row, outcome)
    fail_at("after_250_before_journal")
    attempt = one.row.attempt + 1
    line = Accepted(one.row.pk, one.row.message_id, attempt, one.held.token, run.now, outcome.reply)
    is_written = run.journal.write(line)
    fail_at("after_journal_before_settle")
    run.taken_since = run.taken_since if run.taken else began_s
    run.taken[one.held] = {"sent_at": line.at, "smtp_reply": line.reply}
    if not is_written or run.halt is not None or run.gone_s - run.taken_since > SETTLE_AFTER_S:
        _settle_taken(run)
    _end_halt(run)
    return True


def _compose_ahead(run: _Run, coming: Sequence[tuple[Claim, OutboxRow]]) -> Iterator[None]:
    """Make ready, step by step, what goes out for rows whose turn comes later.

    Whatever fails here is met again in its turn; so is a row of which not all steps were taken.
    """
    for held, row in coming:
        with suppress(Exception):
            run.ahead[held] = yield from _what_goes_out(run, row)
        yield


def _settle_taken(run: _Run) -> None:
    """Settle what the server took: many at once, after their lines are on the disk."""
    taken, run.taken = run.taken, {}
    if not taken:
        return
    run.journal.sync()
    done = until_it_holds(partial(settle_taken, taken))
    run.report.sent += done
    run.report.lost += len(taken) - done
    for held, facts in taken.items():
        told = run.reading.told.pop(held.row_id, ())
        if told:
            until_it_holds(partial(note_told, troubles=told, at=facts["sent_at"]))


def _what_goes_out(run: _Run, row: OutboxRow) -> Steps[dict[str, Any] | Nothing | Outcome]:
    try:
        return (yield from what_goes_out(row=row, reading=run.reading, now=run.now))
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
