"""What beat wakes up: each function asks the database what is due, and may be started twice."""

import logging

from celery import shared_task
from django.conf import settings
from kombu.exceptions import OperationalError

from farmops.core import clock
from farmops.digests.services import bounces, calendar, keeping
from farmops.digests.services.claims import ready
from farmops.digests.services.fail_points import fail_at
from farmops.digests.services.heartbeat import clocks_beside
from farmops.digests.services.outbox import send_due
from farmops.digests.services.ticking import tick

logger = logging.getLogger(__name__)

# Longer than a run (two minutes of beginning rows, then one patient answer), shorter than the broker's visibility timeout.
SOFT_LIMIT_S, HARD_LIMIT_S = 780, 840
EXPIRES_S = 54
ROWS_FOR_ONE_MORE = 100
MOST_SENDERS = 4


@shared_task
def tick_mail() -> str:
    """Make the mail that is due on the clocks of the farms, and have it sent at once."""
    now = clock.now()
    report = tick(now=now, send=False, clocks=clocks_beside(now=now, machine=clock.machine()))
    if not settings.CELERY_TASK_ALWAYS_EAGER:
        _wake_senders(ready(now=now).count())
    return str(report)


@shared_task(soft_time_limit=SOFT_LIMIT_S, time_limit=HARD_LIMIT_S)
def send_due_sheets() -> str:
    """Send the mail that is made and due; several at once share the work."""
    report = send_due(now=clock.now())
    fail_at("after_settle_before_ack")
    return str(report)


@shared_task
def sweep_mail() -> str:
    """Take out the bytes of mail that went out more than a year ago."""
    return f"swept {keeping.sweep_mail(now=clock.now())}"


@shared_task
def read_bounces() -> str:
    """Take in the mail that came back."""
    return f"read {bounces.read_maildir(now=clock.now())}"


@shared_task
def refresh_calendars() -> str:
    """Hold the calendars that somebody reads by a link against the plans of the next days."""
    now = clock.now()
    return f"changed {calendar.refresh_read_calendars(now=now)}"


def _wake_senders(rows: int) -> None:
    """Have what is ready sent now; where the broker is away, the next look does it."""
    for _one in range(min(MOST_SENDERS, -(-rows // ROWS_FOR_ONE_MORE))):
        try:
            send_due_sheets.apply_async(expires=EXPIRES_S, retry=False)
        except OperationalError:
            logger.warning("The senders cannot be woken; they look by themselves each minute.")
            return
