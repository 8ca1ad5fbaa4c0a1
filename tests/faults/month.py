"""Play days of a crowd in six zones, the clock simulated, rows and mail real: `python -m tests.faults.month DAYS HANDS`.

Half of the days lie around the first change of the clocks of 2027 and half around the second, so that both of North
America and both of Europe are among them. A look at the clocks each quarter of an hour, now and then none for some hours. Every sixth
hand wants nothing on a day without work. Prints the rows by local day, state and reason, and each Message-ID that was
called sent, as JSON.
"""

import datetime as dt
import json
import random
import sys

import django

ZONES = (
    "America/New_York",
    "America/Chicago",
    "America/Denver",
    "America/Phoenix",  # never changes its clocks
    "Europe/Berlin",
    "Australia/Lord_Howe",  # changes by half an hour, in the other half of the year
)
CHANGES = (dt.date(2027, 3, 14), dt.date(2027, 11, 7))
STEP = dt.timedelta(minutes=15)
IDLE_EVERY = 6


def main(days: int, hands: int) -> None:
    django.setup()
    import farmops.celery  # noqa: F401, PLC0415  (nothing of Django may load before setup)
    from farmops.digests.models import OutboxRow  # noqa: PLC0415
    from farmops.digests.services.ticking import tick  # noqa: PLC0415
    from tests.faults.crowd import lay_crowd  # noqa: PLC0415

    chance = random.Random(2027)
    for zone in ZONES:
        sheet_at = dt.time(5, chance.choice([0, 15, 30]))
        per_farm = min(hands, 50)
        lay_crowd(
            farms=hands // per_farm, hands=per_farm, zone=zone, sheet_at=sheet_at, idle_every=IDLE_EVERY
        )
    late_looks = 0
    for begins, ends in spans(days):
        now = dt.datetime.combine(begins, dt.time(), dt.UTC) - dt.timedelta(hours=14)
        # until well after the last hour of the last day in the west; in the east that begins another day, which is not judged
        last = dt.datetime.combine(ends, dt.time(), dt.UTC) + dt.timedelta(hours=20)
        while now < last:
            tick(now=now)
            if chance.random() < 0.01:
                now += dt.timedelta(minutes=chance.randint(30, 300))
                late_looks += 1
            now += STEP + dt.timedelta(seconds=chance.randint(0, 20))
    rows = OutboxRow.objects.order_by()
    found = {
        "rows": list(rows.values_list("farm__zone", "local_day", "state", "reason")),
        "sent": list(rows.filter(state="sent").values_list("message_id", flat=True)),
        "late_looks": late_looks,
    }
    json.dump(found, sys.stdout, default=str)


def spans(days: int) -> list[tuple[dt.date, dt.date]]:
    """Return the first and last day of the two stretches."""
    half = days // 2
    firsts = [change - dt.timedelta(days=half // 2) for change in CHANGES]
    return [(first, first + dt.timedelta(days=half - 1)) for first in firsts]


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
