"""Reading the outbox: what became of the mail, and whether the clockwork runs."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

from django.db.models import Count, Min, Q, QuerySet

from farmops.digests.models import (
    Heartbeat,
    MailTrouble,
    OutboxRow,
    Reason,
    RowState,
    SheetKind,
    TroubleKind,
)
from farmops.digests.selectors.clocks import FarmClock, farm_clocks
from farmops.digests.selectors.owed import by_day, hands_without_row, users_without_row
from farmops.farms.models import Farm, Role

SILENT_AFTER_S = 170
"""Health turns after this long without a look at the clocks, or with a row that nobody takes."""

WAITING = (RowState.DUE, RowState.RETRY, RowState.UNKNOWN)
NOT_DELIVERED = (RowState.DEAD, RowState.SUPPRESSED, RowState.SKIPPED)


@dataclass(frozen=True)
class Health:
    """The health of the mail, from the database alone; None where there is nothing to count from.

    `made` of `expected` are the people whose hour of today has come; `halted` and `distrusted` say why nothing is sent,
    or made.
    """

    since_last_run_s: int | None
    oldest_due_s: int
    unknown: int
    dead: int
    expected: int = 0
    made: int = 0
    halted: str = ""
    distrusted: str = ""
    clock_apart_s: float | None = None

    @property
    def is_ready(self) -> bool:
        """Say whether the clockwork runs: it ran lately, nothing waits too long, and nothing stands in its way."""
        return not self.why_not()

    def why_not(self) -> list[str]:
        """Return what is wrong, each in a sentence; nothing where all is well."""
        says = []
        if self.since_last_run_s is None or self.since_last_run_s > SILENT_AFTER_S:
            says.append("The sheets are not being looked at. Are beat and a worker running?")
        if self.oldest_due_s > SILENT_AFTER_S:
            says.append(
                "Mail that is due waits for somebody to send it. Does a worker run, and the mail server answer?"
            )
        if self.halted:
            says.append(f"The mail server refuses this service: {self.halted}")
        if self.distrusted:
            says.append(self.distrusted)
        return says


def rows_of_day(*, farm: Farm, day: dt.date) -> QuerySet[OutboxRow]:
    """Return what is owed by a farm for a day, without the bytes."""
    return OutboxRow.objects.filter(farm=farm, local_day=day).select_related("hand", "user").defer("content")


def undelivered(*, farm: Farm) -> QuerySet[OutboxRow]:
    """Return what did not go out and why, the newest day first, without the bytes; what a person did not want is left out."""
    rows = OutboxRow.objects.filter(farm=farm, state__in=NOT_DELIVERED).exclude(reason=Reason.NOT_WANTED)
    return rows.select_related("hand", "user").defer("content").order_by("-local_day", "id")


def dead_count(*, farm: Farm) -> int:
    """Return how many mails of a farm were refused for good or tried too often."""
    return OutboxRow.objects.filter(farm=farm, state=RowState.DEAD).count()


def rows_by_state() -> Mapping[tuple[str, str], int]:
    """Return how many rows there are by kind and state."""
    counts = OutboxRow.objects.order_by().values_list("kind", "state").annotate(n=Count("id"))
    return {(kind, state): n for kind, state, n in counts}


def health(*, job: str, now: dt.datetime) -> Health:
    """Return the health of the mail; the same few queries whatever the number of farms."""
    last = Heartbeat.objects.filter(job=job).first()
    ends = OutboxRow.objects.filter(state__in=[RowState.UNKNOWN, RowState.DEAD])
    counts = dict(ends.order_by().values_list("state").annotate(n=Count("id")))
    expected, made = _share(now)
    of_all = MailTrouble.objects.filter(farm=None, ended_at=None).values_list("kind", "says")
    says = dict(of_all)
    return Health(
        since_last_run_s=None if last is None else int((now - last.last_at).total_seconds()),
        oldest_due_s=_oldest_s(now),
        unknown=counts.get(RowState.UNKNOWN, 0),
        dead=counts.get(RowState.DEAD, 0),
        expected=expected,
        made=made,
        halted=says.get(TroubleKind.HALTED, ""),
        distrusted=says.get(TroubleKind.CLOCK, ""),
        clock_apart_s=last.clock_apart_s if last else None,
    )


def _oldest_s(now: dt.datetime) -> int:
    """Return how long the oldest row has been ready without anybody taking it, one that a worker left behind included."""
    open_rows = OutboxRow.objects.filter(give_up_at__gt=now)
    waits = open_rows.filter(state__in=WAITING, not_before_at__lte=now).aggregate(at=Min("not_before_at"))[
        "at"
    ]
    held = Q(state=RowState.CLAIMED) | Q(state=RowState.SENDING)
    left = open_rows.filter(held, claim_until__lt=now).aggregate(at=Min("claim_until"))["at"]
    since = [at for at in (waits, left) if at is not None]
    return int((now - min(since)).total_seconds()) if since else 0


def _share(now: dt.datetime) -> tuple[int, int]:
    """Return for how many people a sheet or a digest is owed today by now, and for how many a row was made."""
    clocks = {one.farm.pk: one for one in farm_clocks(now=now)}
    farms = by_day((one.day, one.farm) for one in clocks.values())
    made = 0
    for day, of_day in farms.items():
        rows = OutboxRow.objects.filter(
            farm__in=[one.pk for one in of_day],
            local_day=day,
            number=1,
            kind__in=[SheetKind.HAND, SheetKind.DIGEST],
        )
        made += rows.count()
    missing = 0
    for farm_id, hands in hands_without_row(farms=farms).items():
        missing += sum(_is_owed(clocks[farm_id], SheetKind.HAND, one.pk, now) for one in hands)
    users = users_without_row(farms=farms, kind=SheetKind.DIGEST, role=Role.MANAGER)
    for farm_id, found in users.items():
        missing += sum(_is_owed(clocks[farm_id], SheetKind.DIGEST, one.pk, now) for one in found)
    return made + missing, made


def _is_owed(clock: FarmClock, kind: str, person_id: int, now: dt.datetime) -> bool:
    due_at = clock.instant(clock.hour_of(kind, person_id))
    return due_at <= now < due_at + dt.timedelta(minutes=clock.times.catch_up_min)
