"""Read what hands were told this evening of tomorrow: the rows of change notices, and what stood when they went out."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterable

from farmops.digests.models import OutboxRow, RowState, SheetKind
from farmops.farms.models import Farm

OPEN = (RowState.DUE, RowState.CLAIMED, RowState.SENDING, RowState.RETRY, RowState.UNKNOWN)
NOT_TOLD = (RowState.EMPTY, RowState.SUPPRESSED)


def notices_of_day(*, farm: Farm, day: dt.date) -> dict[int, list[OutboxRow]]:
    """Return the change notices of an evening by the hand's id, in the order of their numbers, without the bytes."""
    return notices_of_farms(farms=[farm.pk], day=day).get(farm.pk, {})


def notices_of_farms(*, farms: Collection[int], day: dt.date) -> dict[int, dict[int, list[OutboxRow]]]:
    """Return what `notices_of_day` does by the row id of each farm that has any: one query for all of them."""
    rows = OutboxRow.objects.filter(farm__in=farms, local_day=day, kind=SheetKind.CHANGE).defer("content")
    found: dict[int, dict[int, list[OutboxRow]]] = defaultdict(lambda: defaultdict(list))
    for row in rows.order_by("number"):
        found[row.farm_id][row.hand_id or 0].append(row)
    return found


def last_told_at(rows: Iterable[OutboxRow], *, before_number: int | None = None) -> dt.datetime | None:
    """Return when a hand was last told, of the notices with a smaller number where one is given."""
    sent = [
        row.sent_at
        for row in rows
        if row.sent_at is not None and (before_number is None or row.number < before_number)
    ]
    return max(sent, default=None)


def told_count(rows: Iterable[OutboxRow]) -> int:
    """Return how many notices of an evening count against its most: those that told something, or are about to."""
    return sum(row.state not in NOT_TOLD and row.asked_at is None for row in rows)
