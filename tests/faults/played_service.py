"""The service settings for proofs that play other days than today's, in one process: nobody is woken by a broker."""

from farmops.settings.service import *  # noqa: F403

MAIL_CLOCK_IS_WATCHED = False
CELERY_TASK_ALWAYS_EAGER = True
