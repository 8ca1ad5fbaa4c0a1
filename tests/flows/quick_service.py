"""The service settings with a tick of one second for the sheets; costs keep their five minutes, so only a nudge posts them."""

from farmops.settings.service import *  # noqa: F403
from farmops.settings.service import JOBS as SERVICE_JOBS

QUICK = ("tick_mail", "send_sheets")
JOBS = [{**job, "every_s": 1 if job["name"] in QUICK else job["every_s"]} for job in SERVICE_JOBS]
