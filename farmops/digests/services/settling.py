"""Write down what became of a row: the mail server's answer leads to a state, a history, and word to the manager."""

import datetime as dt
import random
from dataclasses import dataclass
from typing import Any

from django.db import transaction

from farmops.digests.models import OutboxRow, Reason, RowState, SendTry, SheetKind, TroubleKind
from farmops.digests.outcomes import MOST_ATTEMPTS, Outcome, Verdict, wait_s
from farmops.digests.services.claims import Claim, settle
from farmops.digests.services.troubles import raise_trouble

UNUSABLE = "UnusableAddress"
"""The class of an error that lies in the address itself."""


@dataclass(frozen=True)
class Settled:
    """The state a row ended a try in; None where the claim was lost and nothing was changed."""

    state: RowState | None


def settle_outcome(*, held: Claim, row: OutboxRow, outcome: Outcome, now: dt.datetime) -> Settled:
    """Settle a row whose message the mail server did not take; `row` is as it was before the try."""
    words = {"smtp_reply": outcome.reply, "error_class": outcome.error_class}
    state, facts = _next(row, outcome, now)
    with transaction.atomic():
        if not settle(held, state=state, **words, **facts):
            return Settled(None)
        SendTry.objects.create(
            farm=row.farm,
            row=row,
            tried_at=now,
            attempt=facts.get("attempt", row.attempt + 1),
            outcome=outcome.verdict,
            address=row.person.email,
            smtp_reply=outcome.reply,
            error_class=outcome.error_class[:60],
        )
        if state == RowState.DEAD and row.kind != SheetKind.TROUBLE:
            raise_trouble(
                farm=row.farm,
                kind=TroubleKind.DEAD,
                key=str(row.pk),
                says=f"The mail to {row.person_name} could not be handed over: {outcome.reply or outcome.error_class}",
                now=now,
            )
    return Settled(state)


def _next(row: OutboxRow, outcome: Outcome, now: dt.datetime) -> tuple[RowState, dict[str, Any]]:
    if outcome.verdict is Verdict.DEAD:
        is_unusable = outcome.error_class == UNUSABLE
        return RowState.DEAD, {"reason": Reason.UNUSABLE if is_unusable else Reason.REFUSED}
    if outcome.verdict is Verdict.HALT:  # it says nothing about this row, which stays as it was
        return RowState.DUE, {"attempt": row.attempt}
    attempt = row.attempt if outcome.ends_run else row.attempt + 1
    if attempt >= MOST_ATTEMPTS:
        return RowState.DEAD, {"reason": Reason.TRIES, "attempt": attempt}
    wait = dt.timedelta(seconds=wait_s(attempt=max(attempt, 1), roll=random.random()))
    facts = {"attempt": attempt, "not_before_at": now + wait}
    if outcome.verdict is Verdict.UNKNOWN:
        return RowState.UNKNOWN, {**facts, "may_have_arrived": True}
    return RowState.RETRY, facts
