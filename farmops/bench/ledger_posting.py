"""Posting with one writer and with several at once: each stores reports of work and posts what waits, as a web process
does after a report came in."""

import datetime as dt
import multiprocessing
import time
from typing import Any

from django.db import DatabaseError, connections

from farmops.bench.ledger_place import CODE, Outfit, make_reports, outfits
from farmops.farms.models import Farm
from ledger.models import Entry, PostingWait
from ledger.selectors.pending import pending_work
from ledger.services.posting import post_pending
from scheduling.models import FieldPass

NOW = dt.datetime(2026, 11, 21, 12, tzinfo=dt.UTC)
TOGETHER = 20
PATIENCE_S = 600
FORK = multiprocessing.get_context("fork")


def posted(*, writers: int, records: int) -> dict[str, Any]:
    """Let so many processes store and post so many reports each, on one farm, and say what came of it.

    `shown` are the faults of the database that a writer was shown, `left` the reports without an entry at the end.
    """
    farm = Farm.objects.get(code=CODE)
    crew = outfits(farm=farm)
    passes = list(
        FieldPass.objects.filter(farm=farm, season__crop_year=2026).select_related("season").order_by("id")
    )
    before = Entry.objects.filter(farm=farm).count()
    start, told = FORK.Barrier(writers + 1), FORK.SimpleQueue()
    connections.close_all()
    running = [
        FORK.Process(
            target=_write, args=(farm, passes, crew[at % len(crew)], at * records, records, start, told)
        )
        for at in range(writers)
    ]
    for one in running:
        one.start()
    start.wait(timeout=PATIENCE_S)
    started = time.perf_counter()
    for one in running:
        one.join(timeout=PATIENCE_S)
    seconds = time.perf_counter() - started
    shown = [says for _one in running if not told.empty() for says in told.get()]
    shown += [f"a writer ended with {one.exitcode}" for one in running if one.exitcode != 0]
    return {
        "seconds": seconds,
        "posted": Entry.objects.filter(farm=farm).count() - before,
        "left": pending_work(farm=farm).count() + PostingWait.objects.filter(farm=farm).count(),
        "shown": shown,
    }


def _write(
    farm: Farm, passes: list[FieldPass], outfit: Outfit, first: int, records: int, start: Any, told: Any
) -> None:
    shown: list[str] = []
    start.wait(timeout=PATIENCE_S)
    for at in range(first, first + records, TOGETHER):
        count = min(TOGETHER, first + records - at)
        try:
            make_reports(farm=farm, passes=passes, outfit=outfit, count=count, first=at, now=NOW)
            post_pending(farm=farm, now=NOW)
        except DatabaseError as error:
            shown.append(f"{type(error).__name__}: {error}")
    post_pending(farm=farm, now=NOW)
    told.put(shown)
