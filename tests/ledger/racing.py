"""A process that lays out work and lets several others post it at the same moment, then says what the books hold.

Then a month is closed while they post, and while somebody writes past everything; at last two say at once what only one of
them may. `python -m tests.ledger.racing RECORDS PROCESSES`, with the settings and the database that the environment names; the answer is one line of JSON.
"""

import datetime as dt
import json
import multiprocessing
import sys
import time
from collections.abc import Callable
from typing import Any

import django

django.setup()

from django.conf import settings  # noqa: E402  (after the settings are read)
from django.core.management import call_command  # noqa: E402
from django.db import IntegrityError, connection, connections, transaction  # noqa: E402

from farmops.core.problems import DomainError  # noqa: E402
from ledger.models import Bill, Entry, Line, Payee, Rate  # noqa: E402
from ledger.selectors.bill_lines import bill_lines, puncture_choice  # noqa: E402
from ledger.selectors.categories import category_book  # noqa: E402
from ledger.selectors.chain import chain_head  # noqa: E402
from ledger.services.bills import pay_bill  # noqa: E402
from ledger.services.journal import hold_books, write_entry  # noqa: E402
from ledger.services.periods import close_period  # noqa: E402
from ledger.services.posting import post_pending  # noqa: E402
from ledger.services.rates import set_rate  # noqa: E402
from ledger.services.verify import verify_ledger  # noqa: E402
from tests.ledger.makers import DAY, NEW_YEAR, NOON, Place, make_bill, make_place, make_work  # noqa: E402

BILLS = 4
APRIL, MAY = dt.date(2026, 4, 1), dt.date(2026, 5, 1)
IN_JUNE = dt.datetime(2026, 6, 2, 16, tzinfo=dt.UTC)
WITHOUT_THE_RULE = {
    "sqlite": "DROP TRIGGER ledger_entry_stays_out_of_closed_months",
    "postgresql": "DROP TRIGGER ledger_entry_follows ON ledger_entry",
}
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


def work_and_post(place: Place, barrier: Any, records: int) -> None:
    """Report work of April and post it, again and again."""
    barrier.wait(timeout=60)
    for _ in range(records):
        make_work(place)
        post_pending(farm=place.farm, now=IN_JUNE)


def close_meanwhile(place: Place, barrier: Any, records: int) -> None:
    """Close April once a third of the work is posted."""
    barrier.wait(timeout=60)
    while Entry.objects.filter(farm=place.farm).count() < records // 3:
        time.sleep(0.01)
    close_period(farm=place.farm, month=APRIL, now=IN_JUNE)


def write_past_everything(place: Place, purpose: str) -> None:
    """Write an entry of April by SQL alone, without holding the books."""
    last = chain_head(farm=place.farm)
    facts: dict[str, Any] = {
        "farm_id": place.farm.pk,
        "number": last.number + 1,
        "source_kind": "bill",
        "source_id": -1,
        "source_key": "",
        "purpose": purpose,
        "happened_on": DAY,
        "booked_on": DAY,
        "posted_at": IN_JUNE,
        "why": "",
        "is_imported": True,
        "form_no": 2,
        "line_count": 0,
        "hash_before": last.digest,
        "hash": purpose,
    }
    with connection.cursor() as cursor:
        marks = ", ".join(["%s"] * len(facts))
        values = [str(value) if isinstance(value, dt.date) else value for value in facts.values()]
        cursor.execute(f"INSERT INTO ledger_entry ({', '.join(facts)}) VALUES ({marks})", values)


def hold_open(place: Place, written: Any) -> None:
    """Write past everything and commit only a while later."""
    with transaction.atomic():
        write_past_everything(place, "slow")
        written.set()
        time.sleep(0.5)


def close_after(place: Place, written: Any) -> None:
    written.wait(timeout=60)
    close_period(farm=place.farm, month=APRIL, now=IN_JUNE)


def is_refused(place: Place, purpose: str) -> bool:
    try:
        with transaction.atomic():
            write_past_everything(place, purpose)
    except IntegrityError as error:
        return "the month is closed" in str(error)
    return False


def closing(records: int, processes: int) -> dict[str, object]:
    place, other = make_place("pecan-bend"), make_place("other-bend")
    barrier = FORK.Barrier(processes + 1)
    workers = [(work_and_post, place, barrier, records)] * processes
    exit_codes = run([*workers, (close_meanwhile, place, barrier, records * processes)])
    whole = Entry.objects.filter(farm=place.farm)
    close = whole.get(purpose="close").number
    before, after = whole.filter(number__lt=close), whole.filter(number__gt=close)
    told: dict[str, object] = {
        "exit_codes": exit_codes,
        "posted": whole.filter(source_kind="work_record").count(),
        "some_before": before.count() >= records * processes // 3,
        "late": after.filter(booked_on__lt=MAY).count(),
        "true_days": set(whole.filter(source_kind="work_record").values_list("happened_on", flat=True))
        == {DAY},
        "faults": [str(fault) for fault in verify_ledger(farm=place.farm).faults],
        "past_everything": is_refused(place, "late"),
    }
    make_bill(other)
    post_pending(farm=other.farm, now=NOON)
    written = FORK.Event()
    told["exit_codes_of_two"] = run([(hold_open, other, written), (close_after, other, written)])
    order = Entry.objects.filter(farm=other.farm).order_by("number")
    told["in_turn"] = list(order.values_list("purpose", flat=True))
    with connection.cursor() as cursor:
        cursor.execute(WITHOUT_THE_RULE[connection.vendor])
    told["refused_without_the_rule"] = is_refused(place, "late")
    return told


def say_slowly(say: Callable[[], object], said: Any) -> None:
    """Say something and commit only a while later."""
    with transaction.atomic():
        say()
        said.set()
        time.sleep(0.5)


def say_meanwhile(say: Callable[[], object], said: Any, answers: Any) -> None:
    """Say something while another is not committed; the answer is the code of the refusal."""
    said.wait(timeout=60)
    try:
        say()
    except DomainError as error:
        answers.put(error.code)
    else:
        answers.put("kept")


def second_says(first: Callable[[], object], second: Callable[[], object]) -> str:
    """Return what the second is answered while the first is not committed yet."""
    said, answers = FORK.Event(), FORK.SimpleQueue()
    codes = run([(say_slowly, first, said), (say_meanwhile, second, said, answers)])
    return str(answers.get()) if codes == [0, 0] else f"exit codes {codes}"


def contradicting() -> dict[str, object]:
    """Let two say at the same moment what only one of them may: an invoice twice, a price beside another, a payment of what
    is being corrected."""
    place = make_place("alder-bend")
    make_bill(place, "5.00")  # its payee is known
    wrong = make_bill(place, "70.00", number="B-1")
    told: dict[str, object] = {
        "invoice": second_says(
            lambda: make_bill(place, "90.00", number="A-7"), lambda: make_bill(place, "90.00", number="A-7")
        ),
        "price": second_says(lambda: price_of_fuel(place, MAY), lambda: price_of_fuel(place, APRIL)),
        "payment": second_says(
            lambda: make_bill(place, "77.00", number="B-1", supersedes=wrong),
            lambda: pay_bill(bill=wrong, paid_on=DAY, now=NOON),
        ),
    }
    ours = Bill.objects.filter(farm=place.farm)
    told["bills"] = sorted(ours.values_list("number", flat=True))
    told["prices"] = Rate.objects.filter(farm=place.farm, kind="fuel", valid_from__gt=NEW_YEAR).count()
    told["paid"] = ours.filter(payment__isnull=False).count()
    return told


def price_of_fuel(place: Place, valid_from: dt.date) -> None:
    until = dt.date(2026, 12, 31)
    set_rate(
        farm=place.farm, kind="fuel", usd_per_unit="3", valid_from=valid_from, valid_until=until, now=NOON
    )


if __name__ == "__main__":
    settings.NUDGES = {}  # each process posts when it says so
    call_command("migrate", verbosity=0)
    records, processes = int(sys.argv[1]), int(sys.argv[2])
    told = {"post": race(records, processes), "say": contradicting()}
    print(json.dumps({**told, "close": closing(records // 3, processes)}))
