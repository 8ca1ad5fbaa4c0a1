"""Move rows of the outbox from state to state, each step one conditional UPDATE that a second worker cannot repeat.

A claim is a lease with a token. Every later step names the token: a worker that lost its lease changes no row.
"""

import datetime as dt
import uuid
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.db.models import F, Q, QuerySet

from farmops.core.many import taker, update_many
from farmops.core.ready import Among
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
        ready(now=now).filter(Among("pk", ids)).update(
            state=RowState.CLAIMED, claim_token=token, claim_until=now + CLAIM_LEASE
        )
        claimed = OutboxRow.objects.filter(claim_token=token, state=RowState.CLAIMED)
        held = set(claimed.values_list("pk", flat=True))
    return [Claim(row_id, token) for row_id in ids if row_id in held]


def start_sending(facts: Mapping[Claim, Mapping[str, Any]], *, now: dt.datetime) -> set[int]:
    """Write down that rows are about to be sent, with what goes out of each; return the ids of those still held.

    One transaction for all of them, so that they share one wait for the disk. All name the same columns.
    """
    changed = _update_each(
        facts,
        "state = %s, claim_until = %s, attempt = attempt + 1",
        (RowState.SENDING, taker()(_field("claim_until"), now + LEASE)),
        only_in=(RowState.CLAIMED,),
    )
    if changed == len(facts):
        return {held.row_id for held in facts}
    rows = OutboxRow.objects.filter(
        claim_token__in={held.token for held in facts}, state=RowState.SENDING, claim_until=now + LEASE
    )
    return set(rows.values_list("pk", flat=True)) & {held.row_id for held in facts}


def settle_taken(facts: Mapping[Claim, Mapping[str, Any]]) -> int:
    """End claims whose messages were taken by the mail server; return how many rows that changed.

    A row whose lease was lost changes nothing. All name the same columns.
    """
    return _update_each(
        facts,
        "state = %s, reason = %s, error_class = %s, claim_token = NULL, claim_until = NULL",
        (RowState.SENT, "", ""),
        only_in=(RowState.CLAIMED, RowState.SENDING),
    )


def settle(claim: Claim, *, state: RowState, **facts: Any) -> bool:
    """End the claim with a state; False when the lease is lost, and then nothing changes."""
    changed = OutboxRow.objects.filter(
        pk=claim.row_id, claim_token=claim.token, state__in=[RowState.CLAIMED, RowState.SENDING]
    ).update(state=state, claim_token=None, claim_until=None, **facts)
    return changed == 1


def give_back(claims: Collection[Claim]) -> int:
    """Let go of rows whose message was not handed over; return how many were. A try that was written down did not happen."""
    held = OutboxRow.objects.filter(
        pk__in=[claim.row_id for claim in claims],
        claim_token__in={claim.token for claim in claims},
    )
    free = {"state": RowState.DUE, "claim_token": None, "claim_until": None}
    begun = held.filter(state=RowState.SENDING).update(attempt=F("attempt") - 1, **free)
    return begun + held.filter(state=RowState.CLAIMED).update(**free)


def _update_each(
    facts: Mapping[Claim, Mapping[str, Any]], sets: str, values: Sequence[Any], *, only_in: Sequence[RowState]
) -> int:
    """Update rows that are claimed, each with values of its own, and return how many that changed."""
    if not facts:
        return 0
    columns = {name: _field(name) for name in next(iter(facts.values()))}
    by = (_field("id"), _field("claim_token"))
    take = taker()
    rows = [
        (
            held.row_id,
            take(by[1], held.token),
            *[take(field, of_row[name]) for name, field in columns.items()],
        )
        for held, of_row in facts.items()
    ]
    return update_many(
        OutboxRow,
        sets=sets,
        values=[str(one) if isinstance(one, RowState) else one for one in values],
        by=by,
        own=list(columns.values()),
        rows=rows,
        only=f"state IN ({', '.join(['%s'] * len(only_in))})",
        only_values=[str(one) for one in only_in],
    )


def _field(name: str) -> Any:
    return OutboxRow._meta.get_field(name)
