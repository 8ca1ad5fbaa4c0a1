"""A process that lays out work and lets several others post it at the same moment, then says what the books hold.

`python -m tests.ledger.racing RECORDS PROCESSES`, with the settings and the database that the environment names; the
answer is one line of JSON.
"""

import json
import multiprocessing
import sys
from typing import Any

import django

django.setup()

from django.core.management import call_command  # noqa: E402  (after the settings are read)
from django.db import connections  # noqa: E402

from ledger.models import Entry, Line  # noqa: E402
from ledger.services.posting import post_pending  # noqa: E402
from ledger.services.verify import verify_ledger  # noqa: E402
from tests.ledger.makers import NOON, make_place, make_work  # noqa: E402


def seed(records: int) -> None:
    """Lay out a quarter of posted records, a correction of each, and fresh ones."""
    call_command("migrate", verbosity=0)
    place = make_place()
    first = [make_work(place) for _ in range(records // 4)]
    post_pending(now=NOON)
    for record in first:
        make_work(place, hand_min=240, supersedes=record)
    for _ in range(records - 2 * len(first)):
        make_work(place)


def post(barrier: Any, reports: Any) -> None:
    barrier.wait(timeout=60)
    report = post_pending(now=NOON)
    connections.close_all()
    reports.put((report.posted, report.reversed, len(report.waiting)))


def race(records: int, processes: int) -> dict[str, object]:
    seed(records)
    connections.close_all()
    context = multiprocessing.get_context("fork")
    barrier, reports = context.Barrier(processes), context.Queue()
    runners = [context.Process(target=post, args=(barrier, reports)) for _ in range(processes)]
    for runner in runners:
        runner.start()
    done = [reports.get(timeout=90) for _ in runners]
    for runner in runners:
        runner.join()
    labor = Line.objects.filter(account="season", category="labor")
    return {
        "posted": sum(report[0] for report in done),
        "reversed": sum(report[1] for report in done),
        "waiting": sum(report[2] for report in done),
        "exit_codes": sorted({runner.exitcode for runner in runners}),
        "numbers": list(Entry.objects.order_by("number").values_list("number", flat=True)),
        "labor_cents": sum(labor.values_list("cents", flat=True)),
        "faults": [str(fault) for fault in verify_ledger().faults],
    }


if __name__ == "__main__":
    print(json.dumps(race(int(sys.argv[1]), int(sys.argv[2]))))
