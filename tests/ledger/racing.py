"""A process that lays out work and lets several others post it at the same moment, then says what the books hold.

`python -m tests.ledger.racing RECORDS PROCESSES`, with the settings and the database that the environment names; the
answer is one line of JSON.
"""

import datetime as dt
import json
import multiprocessing
import sys
import time
from typing import Any

import django

django.setup()

from django.conf import settings  # noqa: E402  (after the settings are read)
from django.core.management import call_command  # noqa: E402
from django.db import connections, transaction  # noqa: E402

from ledger.models import Entry, Line, Payee  # noqa: E402
from ledger.selectors.bill_lines import bill_lines, puncture_choice  # noqa: E402
from ledger.selectors.categories import category_book  # noqa: E402
from ledger.services.journal import hold_books, write_entry  # noqa: E402
from ledger.services.posting import post_pending  # noqa: E402
from ledger.services.verify import verify_ledger  # noqa: E402
from tests.ledger.makers import DAY, NOON, Place, make_bill, make_place, make_work  # noqa: E402

BILLS = 4
FORK = multiprocessing.get_context("fork")


def run(targets: list[Any]) -> list[int | None]:
    """Run functions in processes of their own at the same time and return their exit codes."""
    connections.close_all()
    runners = [FORK.Process(target=target, args=args) for target, *args in targets]
    for runner in runners:
        runner.start()
    for runner in runners:
        runner.join(timeout=120)
    return [runner.exitcode for runner in runners]


def write_slowly(place: Place, bill: Any, written: Any) -> None:
    """Write the entry of a bill and commit only a while later."""
    lines = bill_lines(
        bill=bill,
        puncture_to=puncture_choice(farm=place.farm),
        categories=category_book(farm=place.farm),
    )
    with transaction.atomic():
        hold_books(farm=place.farm)
        write_entry(farm=place.farm, source=bill, lines=lines, happened_on=bill.bill_on, now=NOON)
        written.set()
        time.sleep(0.5)


def post_meanwhile(written: Any) -> None:
    """Post another bill while the books are held: it waits its turn and takes the number after."""
    written.wait(timeout=60)
    assert post_pending(now=NOON).posted == 1


def seed(place: Place, records: int) -> None:
    """Lay out a quarter of posted records, a correction of each, and fresh ones."""
    first = [make_work(place) for _ in range(records // 4)]
    post_pending(now=NOON)
    for record in first:
        make_work(place, hand_min=240, supersedes=record)
    for _ in range(records - 2 * len(first)):
        make_work(place)


def post(place: Place, barrier: Any, reports: Any) -> None:
    """Post what is there together with the others, and between times a bill of one's own."""
    barrier.wait(timeout=60)
    done = [post_pending(now=NOON)]
    for _ in range(BILLS):
        make_bill(place)
        done.append(post_pending(now=NOON))
    reports.put([sum(report.posted for report in done), sum(report.reversed for report in done)])


def race(records: int, processes: int) -> dict[str, object]:
    settings.NUDGES = {}  # each process posts when it says so
    call_command("migrate", verbosity=0)
    place = make_place()
    written = FORK.Event()
    slow, earlier = make_bill(place), make_bill(place, bill_on=DAY - dt.timedelta(days=1))
    exit_codes = run([(write_slowly, place, slow, written), (post_meanwhile, written)])
    in_turn = list(Entry.objects.order_by("number").values_list("bill_id", flat=True)) == [
        slow.pk,
        earlier.pk,
    ]
    seed(place, records)
    barrier, reports = FORK.Barrier(processes), FORK.SimpleQueue()
    exit_codes += run([(post, place, barrier, reports)] * processes)
    done = [reports.get() for _ in range(processes) if not reports.empty()]
    labor = Line.objects.filter(account="season", category="labor")
    return {
        "exit_codes": exit_codes,
        "in_turn": in_turn,
        "posted": sum(report[0] for report in done),
        "reversed": sum(report[1] for report in done),
        "numbers": list(Entry.objects.order_by("number").values_list("number", flat=True)),
        "payees": Payee.objects.count(),
        "labor_cents": sum(labor.values_list("cents", flat=True)),
        "faults": [str(fault) for fault in verify_ledger().faults],
    }


if __name__ == "__main__":
    print(json.dumps(race(int(sys.argv[1]), int(sys.argv[2]))))
