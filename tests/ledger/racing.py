"""A process of its own that lays out work, posts it at a given second, or says what the books hold.

`python -m tests.ledger.racing seed COUNT | post AT | count`, with the settings and the database that the environment
names. Answers are one line of JSON.
"""

import datetime as dt
import json
import sys
import time

import django

django.setup()

from django.core.management import call_command  # noqa: E402  (after the settings are read)

from farmops.farms.models import Farm  # noqa: E402
from ledger.models import Entry, Line  # noqa: E402
from ledger.services.posting import post_pending  # noqa: E402
from ledger.services.verify import verify_ledger  # noqa: E402
from scheduling.models import WorkRecord  # noqa: E402
from tests.ledger.makers import NOON, make_place, make_work  # noqa: E402


def seed(count: str) -> dict[str, int]:
    call_command("migrate", verbosity=0)
    place = make_place()
    first = [make_work(place) for _ in range(int(count) // 4)]
    post_pending(now=NOON)
    for record in first:
        make_work(place, hand_min=240, supersedes=record)
    for _ in range(int(count) - 2 * len(first)):
        make_work(place)
    return {"records": WorkRecord.objects.count()}


def post(at: str) -> dict[str, int]:
    farm = Farm.objects.get()
    time.sleep(max(0.0, float(at) - time.time()))
    report = post_pending(farm=farm, now=dt.datetime.now(dt.UTC))
    return {"posted": report.posted, "reversed": report.reversed, "waiting": len(report.waiting)}


def count() -> dict[str, object]:
    report = verify_ledger()
    return {
        "entries": Entry.objects.count(),
        "numbers": list(Entry.objects.order_by("number").values_list("number", flat=True)),
        "labor_cents": sum(
            Line.objects.filter(account="season", category="labor").values_list("cents", flat=True)
        ),
        "faults": [str(fault) for fault in report.faults],
    }


if __name__ == "__main__":
    print(json.dumps({"seed": seed, "post": post, "count": count}[sys.argv[1]](*sys.argv[2:])))
