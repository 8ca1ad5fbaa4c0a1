"""One look at the clocks of the farms: make what is due and not made, settle what was left, say that the clockwork runs."""

import datetime as dt
import logging
from collections import Counter
from dataclasses import dataclass, field
from functools import partial

from farmops.digests.models import MailTrouble, OutboxRow, RowState, SheetKind, TroubleKind
from farmops.digests.services.calendar_watch import refresh_changed
from farmops.digests.services.claims import recover
from farmops.digests.services.fail_points import fail_at
from farmops.digests.services.heartbeat import (
    SHEETS,
    UNWATCHED,
    WORTH_A_WORD_S,
    Clocks,
    beat,
    why_not_trusted,
)
from farmops.digests.services.journal import settle_from_journal, sweep_journal
from farmops.digests.services.making import make_due
from farmops.digests.services.outbox import SendReport, send_due
from farmops.digests.services.reconnecting import until_it_holds
from farmops.digests.services.troubles import raise_trouble
from farmops.farms.models import Farm

logger = logging.getLogger(__name__)

TOLD_WITHIN = dt.timedelta(days=2)
"""Farm judgement: what was skipped longer ago is no news to the manager."""


@dataclass
class TickReport:
    """What one look did; `distrusted` says why nothing was made."""

    made: int = 0
    settled: int = 0
    unknown: int = 0
    skipped: int = 0
    distrusted: str = ""
    sent: SendReport = field(default_factory=SendReport)

    def __str__(self) -> str:
        return f"made nothing: {self.distrusted}" if self.distrusted else f"made {self.made}"


def tick(
    *,
    now: dt.datetime,
    send: bool = True,
    clocks: Clocks = UNWATCHED,
    by_hand: bool = False,
) -> TickReport:
    """Look at every farm's clock once; safe to run twice, at the same time, late, or by hand.

    `clocks` are what the clock is held against; without any it is believed. While it is not, no row is made and nothing
    says that the clockwork runs; what was made before still goes out in its hours.
    """
    report = TickReport()
    if clocks.apart_s is not None and abs(clocks.apart_s) > WORTH_A_WORD_S:
        logger.warning("This clock is %+.0f s from that of the database.", clocks.apart_s)
    doubt = why_not_trusted(now=now, clocks=clocks)
    report.settled = settle_from_journal(now=now)
    if doubt is not None:
        report.distrusted = doubt.says
        logger.error("No mail is made: %s", doubt.says)
    else:
        report.made = make_due(now=now)
        fail_at("after_make")
        refresh_changed(now=now)
    report.unknown, report.skipped = recover(now=now)
    _tell_of_skipped(now=now)
    if doubt is None:
        sweep_journal(now=now)
        until_it_holds(partial(beat, job=SHEETS, now=now, clocks=clocks))
    if send:
        report.sent = send_due(now=now, by_hand=by_hand)
    return report


def _tell_of_skipped(*, now: dt.datetime) -> None:
    """Raise one trouble a farm and day for what came too late, whoever skipped it; mail about troubles raises none."""
    recent = OutboxRow.objects.filter(state=RowState.SKIPPED, give_up_at__gt=now - TOLD_WITHIN)
    rows = recent.exclude(kind=SheetKind.TROUBLE).values_list("farm_id", "local_day")
    counts = Counter(rows)
    farms = Farm.objects.in_bulk({farm_id for farm_id, _day in counts})
    for (farm_id, day), count in sorted(counts.items()):
        says = f"{count} of the mails for {day.isoformat()} came too late to help and were not sent."
        trouble = raise_trouble(
            farm=farms[farm_id],
            kind=TroubleKind.SKIPPED,
            key=day.isoformat(),
            says=says,
            now=now,
            row_count=count,
        )
        if trouble.row_count < count:
            MailTrouble.objects.filter(pk=trouble.pk, told_at=None).update(row_count=count, says=says)
