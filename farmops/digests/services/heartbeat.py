"""Write down that a periodic job ran to its end."""

import datetime as dt

from farmops.digests.models import Heartbeat

SHEETS = "send_sheets"


def beat(*, job: str, now: dt.datetime) -> None:
    """Note that a job ended now."""
    Heartbeat.objects.update_or_create(job=job, defaults={"last_at": now})
