"""The service settings with a look at the clocks and a sender each second, as both would run in a crowded minute."""

from farmops.settings import env
from farmops.settings.service import *  # noqa: F403
from farmops.settings.service import CELERY_BROKER_TRANSPORT_OPTIONS as USUAL
from farmops.settings.service import JOBS as SERVICE_JOBS

JOBS = [{**job, "every_s": 1} for job in SERVICE_JOBS if job["name"] in ("tick_mail", "send_sheets")]
# How long until the broker hands a task out again that a worker still holds; it looks each second.
CELERY_VISIBILITY_TIMEOUT = env.integer("FARMOPS_TEST_VISIBLE_AFTER_S", 900)
CELERY_BROKER_TRANSPORT_OPTIONS = {
    **USUAL,
    "visibility_timeout": CELERY_VISIBILITY_TIMEOUT,
    "unacked_restore_interval": 1,
    "unacked_restore_throttle": 1,
}
