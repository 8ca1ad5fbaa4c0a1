"""Kill the clockwork at a named point, once a seed, and let it come back: `python -m tests.faults.killed POINT SEEDS`.

Each seed is a day of its own. A child process that was forked looks at the clocks and sends until it is killed; another
comes back to the same day and looks again for an hour. Prints what was killed and the Message-IDs of the day's rows with
the states they ended in, as JSON.
"""

import datetime as dt
import json
import os
import random
import signal
import sys
from collections.abc import Callable
from typing import Any

import django

HANDS = 8
FIRST = dt.date(2027, 1, 4)
ONCE = ("after_make", "after_claim", "after_settle_before_ack")
COMES_BACK_MIN = (1, 2, 5, 18, 34, 60)


def main(point: str, seeds: int) -> None:
    django.setup()
    import farmops.celery  # noqa: PLC0415  (nothing of Django may load before setup)
    import farmops.digests.background  # noqa: F401, PLC0415  (loaded once, before there are children)
    from farmops.digests.models import OutboxRow  # noqa: PLC0415
    from tests.farmops.digests.planned import at  # noqa: PLC0415
    from tests.faults.crowd import lay_crowd  # noqa: PLC0415

    lay_crowd(farms=2, hands=HANDS // 2, zone="America/New_York", sheet_at=dt.time(5, 30))
    days = []
    for seed in range(seeds):
        day = FIRST + dt.timedelta(days=seed)
        morning = at(day, 5, 31)
        time = 1 if point in ONCE else random.Random(f"{point} {seed}").randint(1, HANDS)
        was_killed = in_child(lambda m=morning, t=time: look(m, f"{point}:{t}")) == -signal.SIGKILL
        for minute in COMES_BACK_MIN:
            ended = in_child(lambda m=morning + dt.timedelta(minutes=minute): look(m, ""))
            assert ended == 0, ended
        rows = OutboxRow.objects.filter(local_day=day).values_list("message_id", "state")
        days.append({"killed": was_killed, "rows": dict(rows)})
    json.dump(days, sys.stdout)


def look(instant: dt.datetime, fail_at: str) -> None:
    """Do what a tick and a sender do, at an instant."""
    from farmops.core import clock  # noqa: PLC0415
    from farmops.digests import background  # noqa: PLC0415
    from farmops.digests.services import fail_points  # noqa: PLC0415

    fail_points.arm(fail_at)
    clock.now = lambda: instant  # type: ignore[assignment]
    background.tick_mail.run()
    background.send_due_sheets.run()


def in_child(work: Callable[[], Any]) -> int:
    """Run work in a forked process and return how it ended: 0, or less the signal that killed it."""
    from django.db import connections  # noqa: PLC0415

    connections.close_all()
    child = os.fork()
    if child == 0:
        status = 1
        try:
            work()
            connections.close_all()
            status = 0
        finally:
            os._exit(status)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]))
