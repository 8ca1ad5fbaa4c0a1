"""What beat wakes up: each function asks the database what is due, and may be started twice."""

from celery import shared_task

from farmops.core import clock
from farmops.digests.services.heartbeat import SHEETS, beat
from farmops.digests.services.outbox import make_due, send_due

# Longer than a run (two minutes of claiming, then one patient answer), shorter than the broker's visibility timeout.
SOFT_LIMIT_S, HARD_LIMIT_S = 780, 840


@shared_task(soft_time_limit=SOFT_LIMIT_S, time_limit=HARD_LIMIT_S)
def send_due_sheets() -> str:
    """Make and send the sheets that are due on the clocks of the farms."""
    now = clock.now()
    made = make_due(now=now)
    report = send_due(now=now)
    beat(job=SHEETS, now=clock.now())
    return f"made {made}, {report}"
