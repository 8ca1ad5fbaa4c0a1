"""A process of its own in which the same report is sent five times at once, with photos, and settled twice at once.

`python -m tests.scheduling.reporting_race FOLDER`, with the settings and the database that the environment names. It prints
one line of JSON: what each thread was told, and what was kept.
"""

import json
import sys
import threading
import uuid
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import django

django.setup()

from django.conf import settings  # noqa: E402  (after the settings are read)
from django.core.management import call_command  # noqa: E402
from django.db import connection  # noqa: E402

import farmops.celery  # noqa: E402, F401  (nudges need the configured app)
from farmops.core.keeping import ClientIdReused  # noqa: E402
from farmops.core.problems import DomainError  # noqa: E402
from farmops.farms.models import Farm, Hand  # noqa: E402
from scheduling.models import FieldPass, FieldReport, ParkedReport, ReportPhoto, WorkDay, WorkRecord  # noqa: E402
from scheduling.services.parked import set_aside, take_over  # noqa: E402
from scheduling.services.photos import PhotoRefused, keep_photo  # noqa: E402
from scheduling.services.receiving import receive_report  # noqa: E402
from tests.ledger.makers import make_place  # noqa: E402
from tests.scheduling import pictures  # noqa: E402
from tests.scheduling.sending import DAY, NOW  # noqa: E402

AT_ONCE = 5
SAME = uuid.UUID(int=1)


def act(gate: threading.Barrier, number: int) -> dict[str, Any]:
    """Send what every thread sends, then one id with hours of one's own, a day, a photo; then settle what waits."""
    farm, hand = Farm.objects.get(), Hand.objects.get()
    facts: dict[str, Any] = {"farm": farm, "hand": hand, "sent_by": None, "now": NOW}
    body = {"pass_id": FieldPass.objects.get().pk, "work_on": DAY.isoformat(), "done_ac": "1"}
    told: dict[str, Any] = {}
    gate.wait()
    same = receive_report(
        client_id=SAME, kind="work", body={**body, "hours": "2", "starts": "06:00"}, **facts
    )
    told["same"] = same.state
    gate.wait()
    own = {**body, "hours": str(number + 1), "starts": "10:00"}
    try:
        told["own"] = receive_report(client_id=uuid.UUID(int=2), kind="work", body=own, **facts).state
    except ClientIdReused:
        told["own"] = "refused"
    gate.wait()
    day = {"work_on": DAY.isoformat(), "starts": "07:00", "ends": "17:00"}
    told["day"] = receive_report(client_id=uuid.uuid4(), kind="day", body=day, **facts).state
    gate.wait()
    try:
        picture = pictures.picture(size=(20 + number, 20))
        keep_photo(report=same.report, client_id=uuid.uuid4(), content=picture, now=NOW)
        told["photo"] = "kept"
    except PhotoRefused:
        told["photo"] = "refused"
    gate.wait()
    waiting = ParkedReport.objects.order_by("id").first()
    assert waiting is not None
    changes = {"starts": "17:00", "ends": "18:00"}
    try:
        if number % 2:
            set_aside(parked=waiting, reason="no", settled_by=None, now=NOW)
            told["settled"] = "set_aside"
        else:
            take_over(parked=waiting, changes=changes, settled_by=None, now=NOW)
            told["settled"] = "taken"
    except DomainError as error:
        told["settled"] = error.code
    connection.close()
    return told


def main() -> None:
    settings.PHOTO_DIR = sys.argv[1]
    call_command("migrate", verbosity=0)
    make_place(rated=False)
    gate = threading.Barrier(AT_ONCE, timeout=60)
    with ThreadPoolExecutor(AT_ONCE) as pool:
        rows = [one.result() for one in [pool.submit(act, gate, number) for number in range(AT_ONCE)]]
    kept = {
        "reports": FieldReport.objects.count(),
        "hand_min": sorted(WorkRecord.objects.values_list("hand_min", flat=True)),
        "days": sorted(WorkDay.objects.values_list("worked_min", flat=True)),
        "photos": ReportPhoto.objects.count(),
        "settled": sorted(ParkedReport.objects.values_list("state", flat=True)),
    }
    told = {name: sorted(row[name] for row in rows) for name in rows[0]}
    print(json.dumps({"told": told, "kept": kept}))


if __name__ == "__main__":
    main()
