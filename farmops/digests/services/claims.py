"""Move rows of the outbox from state to state, each step one conditional UPDATE that a second worker cannot repeat.

A claim is a lease with a token. Every later step names the token: a worker that lost its lease changes no row.
"""

import datetime as dt
import uuid
from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.db.models import F, Q, QuerySet

from farmops.digests.models import OutboxRow, Reason, RowState

CLAIM_LEASE = dt.timedelta(minutes=3)
"""How long a row may wait for its turn in the worker that claimed it; after that any other may take it."""

LEASE = dt.timedelta(minutes=15)
"""How long a row may be in the middle of being sent: longer than the longest legal wait for a server's last answer."""


@dataclass(frozen=True)
class Claim:
    """A row that this worker alone may send, for as long as the lease lasts."""

    row_id: int
    token: uuid.UUID


def ready(*, now: dt.datetime) -> QuerySet[OutboxRow]:
    """Return the rows that may be claimed: due, waited long enough, or left by a worker that went away."""
    waiting = Q(state__in=[RowState.DUE, RowState.RETRY, RowState.UNKNOWN], not_before_at__lte=now)
    left_behind = Q(state=RowState.CLAIMED, claim_until__lt=now)
    return OutboxRow.objects.filter(waiting | left_behind, give_up_at__gt=now)


def recover(*, now: dt.datetime) -> tuple[int, int]:
    """Settle what nobody holds any more; return how many became unknown and how many were skipped.

    A worker that went away while sending may have handed the message over: that row is unknown, not due.
    """
    unknown = OutboxRow.objects.filter(state=RowState.SENDING, claim_until__lt=now).update(
        state=RowState.UNKNOWN,
        may_have_arrived=True,
        not_before_at=now,
        claim_token=None,
        claim_until=None,
    )
    over = Q(state__in=[RowState.DUE, RowState.RETRY, RowState.UNKNOWN]) | Q(
        state=RowState.CLAIMED, claim_until__lt=now
    )
    skipped = OutboxRow.objects.filter(over, give_up_at__lte=now).update(
        state=RowState.SKIPPED, reason=Reason.TOO_LATE, claim_token=None, claim_until=None
    )
    return unknown, skipped


def claim(
    *, now: dt.datetime, limit: int, ready_at: dt.datetime | None = None, farm_id: int | None = None
) -> list[Claim]:
    """Claim up to `limit` rows in one short transaction, oldest first, a farm's together.

    `ready_at`: only rows that were ready at that instant; a run gives its beginning, so it meets no row twice.
    """
    token = uuid.uuid4()
    with transaction.atomic():
        rows = ready(now=now).filter(not_before_at__lte=ready_at or now)
        if farm_id is not None:
            rows = rows.filter(farm_id=farm_id)
        # SQLite takes one writer at a time and knows no row locks; there the lock is the immediate transaction
        rows = rows.order_by("not_before_at", "farm_id", "id").select_for_update(skip_locked=True)
        ids = list(rows.values_list("pk", flat=True)[:limit])
        if not ids:
            return []
        ready(now=now).filter(pk__in=ids).update(
            state=RowState.CLAIMED, claim_token=token, claim_until=now + CLAIM_LEASE
        )
        claimed = OutboxRow.objects.filter(claim_token=token, state=RowState.CLAIMED)
        held = set(claimed.values_list("pk", flat=True))
    return [Claim(row_id, token) for row_id in ids if row_id in held]


def start_sending(claim: Claim, *, now: dt.datetime, **facts: Any) -> bool:
    """Write down that the row is about to be sent, with what goes out; False when the lease is lost."""
    changed = OutboxRow.objects.filter(
        pk=claim.row_id, claim_token=claim.token, state=RowState.CLAIMED
    ).update(state=RowState.SENDING, claim_until=now + LEASE, attempt=F("attempt") + 1, **facts)
    return changed == 1


def settle(claim: Claim, *, state: RowState, **facts: Any) -> bool:
    """End the claim with a state; False when the lease is lost, and then nothing changes."""
    changed = OutboxRow.objects.filter(
        pk=claim.row_id, claim_token=claim.token, state__in=[RowState.CLAIMED, RowState.SENDING]
    ).update(state=state, claim_token=None, claim_until=None, **facts)
    return changed == 1


def give_back(claims: Collection[Claim]) -> int:
    """Let go of rows that were claimed and not begun; return how many were."""
    held = OutboxRow.objects.filter(
        pk__in=[claim.row_id for claim in claims],
        claim_token__in={claim.token for claim in claims},
        state=RowState.CLAIMED,
    )
    return held.update(state=RowState.DUE, claim_token=None, claim_until=None)
