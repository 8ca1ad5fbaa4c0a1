"""Reading the outbox: what became of the sheets, and whether the clockwork runs."""

import datetime as dt
from dataclasses import dataclass

from django.db.models import Count, Min, QuerySet

from farmops.digests.models import Heartbeat, OutboxRow, RowState
from farmops.farms.models import Farm

# Health turns after this long without a tick or with a row that nobody takes.
SILENT_AFTER_S = 170


@dataclass(frozen=True)
class Health:
    """Four numbers from the database; None where there is nothing to count from."""

    since_last_run_s: int | None
    oldest_due_s: int
    unknown: int
    dead: int

    @property
    def is_ready(self) -> bool:
        """Say whether the clockwork runs: it ran lately, and no row that is due has waited too long."""
        ran = self.since_last_run_s is not None and self.since_last_run_s <= SILENT_AFTER_S
        return ran and self.oldest_due_s <= SILENT_AFTER_S


def rows_of_day(*, farm: Farm, day: dt.date) -> QuerySet[OutboxRow]:
    """Return what is owed by a farm for a day, without the bytes."""
    return OutboxRow.objects.filter(farm=farm, local_day=day).select_related("hand", "user").defer("content")


def health(*, job: str, now: dt.datetime) -> Health:
    """Return the health of the morning mail."""
    last = Heartbeat.objects.filter(job=job).values_list("last_at", flat=True).first()
    waiting = OutboxRow.objects.filter(state=RowState.DUE, not_before_at__lte=now, give_up_at__gt=now)
    oldest = waiting.aggregate(at=Min("not_before_at"))["at"]
    ends = OutboxRow.objects.filter(state__in=[RowState.UNKNOWN, RowState.DEAD])
    counts = dict(ends.order_by().values_list("state").annotate(n=Count("id")))
    return Health(
        since_last_run_s=None if last is None else int((now - last).total_seconds()),
        oldest_due_s=0 if oldest is None else int((now - oldest).total_seconds()),
        unknown=counts.get(RowState.UNKNOWN, 0),
        dead=counts.get(RowState.DEAD, 0),
    )
