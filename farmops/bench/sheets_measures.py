"""What is measured of the mail, each in a child process: making, composing, sending by some workers, and bare smtplib."""

import datetime as dt
import math
import multiprocessing
import os
import smtplib
import statistics
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import connections

from farmops.bench.sheets_place import FIRST, ZONE, code_of
from farmops.bench.sheets_sink import HOST
from farmops.digests.models import OutboxRow, RowState
from farmops.digests.selectors.day import sheet_instant
from farmops.digests.services.calendar_watch import refresh_changed
from farmops.digests.services.composing import FarmDays, compose_row
from farmops.digests.services.making import make_due, make_for
from farmops.digests.services.outbox import send_due
from farmops.farms.models import Farm

SENDER = "farm@localhost"


def made(*, day: int, farms: int) -> dict[str, Any]:
    """Make the rows of a day (counted from the first): of all farms by the tick, or of the first ones by hand.

    The calendars of the day are held against the plan after that, as a look at the clocks does.
    """
    local_day = FIRST + dt.timedelta(days=day)
    every = Farm.objects.order_by("code")
    now = sheet_instant(farm=every[0], day=local_day) + dt.timedelta(minutes=1)
    began = time.perf_counter()
    if farms >= every.count():
        rows = make_due(now=now)
    else:
        chosen = every.filter(code__in=[code_of(number) for number in range(farms)])
        rows = sum(make_for(farm=farm, day=local_day, now=now) for farm in chosen)
    seconds = time.perf_counter() - began
    refresh_changed(now=now, most_s=math.inf)
    return {"seconds": seconds, "with_calendars_s": time.perf_counter() - began, "rows": rows, "zone": ZONE}


def composed(*, day: int) -> dict[str, Any]:
    """Compose every row of a day that is due, as a run does in its order, and return the times of one sheet.

    `first_ms` is of the first sheet of some farms, which reads the day of all of them.
    """
    due = OutboxRow.objects.filter(local_day=FIRST + dt.timedelta(days=day), state=RowState.DUE)
    rows = list(due.select_related("farm", "hand", "user").order_by("farm", "id"))
    first, times_s, firsts_s, together = rows[0], [], [], None
    compose_row(row=first, now=first.due_at, days=FarmDays())  # templates and tables are read once a process
    days = FarmDays()
    days.expect((row.farm, row.local_day) for row in rows)
    for row in rows:
        began = time.perf_counter()
        done = compose_row(row=row, now=row.due_at, days=days)
        times_s.append(time.perf_counter() - began)
        beside = days.read_beside(row.farm, row.local_day)
        if beside is not together:
            together = beside
            firsts_s.append(times_s[-1])
        if done is None:
            raise ValueError(f"{row} has nothing to tell")
    times_s.sort()
    return {
        "seconds": sum(times_s),
        "rows": len(times_s),
        "mean_ms": 1000 * statistics.fmean(times_s),
        "p95_ms": 1000 * times_s[math.ceil(0.95 * len(times_s)) - 1],
        "first_ms": 1000 * statistics.median(firsts_s),
        "most_ms": 1000 * times_s[-1],
    }


def sent(*, day: int, port: int, workers: int) -> dict[str, Any]:
    """Send the rows of a day with some workers, each a process; return the time from the first to the last, and memory."""
    local_day = FIRST + dt.timedelta(days=day)
    rows = OutboxRow.objects.filter(local_day=local_day, state=RowState.DUE)
    count, now = rows.count(), rows[0].not_before_at + dt.timedelta(minutes=1)
    settings.EMAIL_BACKEND = "farmops.digests.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = HOST, port
    connections.close_all()
    forks = multiprocessing.get_context("fork")
    answers: Any = forks.SimpleQueue()
    together = forks.Barrier(workers + 1)
    processes = [forks.Process(target=_worker, args=(now, together, answers)) for _one in range(workers)]
    for process in processes:
        process.start()
    together.wait()
    began = time.perf_counter()
    for process in processes:
        process.join()
    seconds = time.perf_counter() - began
    told = [answers.get() for _one in range(workers)]
    left = OutboxRow.objects.filter(local_day=local_day).exclude(state=RowState.SENT).count()
    if left or sum(one["sent"] for one in told) != count:
        raise ValueError(f"{count} were due, {[one['sent'] for one in told]} were sent, {left} are left")
    return {
        "seconds": seconds,
        "rows": count,
        "cpu_ms": 1000 * sum(one["cpu_s"] for one in told) / count,
        "begins_mb": max(one["begins_mb"] for one in told),
        "ends_mb": max(one["ends_mb"] for one in told),
    }


def _worker(now: dt.datetime, together: Any, answers: Any) -> None:
    together.wait()
    mark, count, begins_mb, cpu_s = time.monotonic(), 0, 0.0, time.process_time()
    while True:
        report = send_due(now=now + dt.timedelta(seconds=time.monotonic() - mark))
        begins_mb = begins_mb or _held_mb()
        count += report.sent
        if not report.sent:
            break
    connections.close_all()
    cpu_s = time.process_time() - cpu_s
    answers.put({"sent": count, "cpu_s": cpu_s, "begins_mb": begins_mb, "ends_mb": _held_mb()})


def _held_mb() -> float:
    """Return the memory that this process holds now."""
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


def bare(*, day: int, port: int, count: int, loops: int) -> dict[str, Any]:
    """Hand the bytes that went out that day to the same server by smtplib, in some loops at once, each over one connection.

    The rows are shared out among the loops, each a process, as they are among workers.
    """
    rows = OutboxRow.objects.filter(local_day=FIRST + dt.timedelta(days=day), state=RowState.SENT)
    messages = [(row.address, bytes(row.content)) for row in rows.order_by("id")[:count]]
    connections.close_all()
    forks = multiprocessing.get_context("fork")
    answers: Any = forks.SimpleQueue()
    together = forks.Barrier(loops + 1)
    processes = [
        forks.Process(target=_loop, args=(messages[number::loops], port, together, answers))
        for number in range(loops)
    ]
    for process in processes:
        process.start()
    together.wait()
    began = time.perf_counter()
    for process in processes:
        process.join()
    seconds = time.perf_counter() - began
    return {
        "seconds": seconds,
        "cpu_ms": 1000 * sum(answers.get() for _one in range(loops)) / len(messages),
        "rows": len(messages),
        "mean_kb": statistics.fmean(len(content) for _to, content in messages) / 1000,
    }


def _loop(messages: Sequence[tuple[str, bytes]], port: int, together: Any, answers: Any) -> None:
    together.wait()
    cpu_s = time.process_time()
    with smtplib.SMTP(HOST, port) as conversation:
        for address, content in messages:
            conversation.sendmail(SENDER, [address], content)
    answers.put(time.process_time() - cpu_s)
