"""Long work in the Celery worker, and the sweep that finds what was lost or has waited too long."""

import logging

from celery import shared_task
from django.db import transaction
from kombu.exceptions import OperationalError

from farmops.core import clock
from farmops.core.long_work import forget_old
from farmops.core.long_work_run import give_up_lost, run_overdue, run_with_followers

logger = logging.getLogger(__name__)
# Shorter than the broker's visibility timeout.
SOFT_LIMIT_S, HARD_LIMIT_S = 780, 840


@shared_task(
    name="farmops.core.background.do_long_work", soft_time_limit=SOFT_LIMIT_S, time_limit=HARD_LIMIT_S
)
def do_long_work(work_id: int) -> str:
    """Do a work unless somebody has it; safe to be told twice."""
    run_with_followers(work_id=work_id)
    return f"did {work_id}"


@shared_task(
    name="farmops.core.background.sweep_long_work", soft_time_limit=SOFT_LIMIT_S, time_limit=HARD_LIMIT_S
)
def sweep_long_work() -> str:
    """Tell what was lost, forget what is old, and do what nobody has begun."""
    now = clock.now()
    lost, gone = give_up_lost(now=now), forget_old(now=now)
    return f"lost {lost}, forgot {gone}, did {run_overdue(now=now)}"


def in_the_worker(work_id: int) -> None:
    """Have a worker do a work once the transaction that asks for it has committed."""

    def wake() -> None:
        try:
            do_long_work.apply_async([work_id], retry=False)
        except OperationalError:
            logger.warning("No worker can be told of long work %s; the sweep will do it.", work_id)

    transaction.on_commit(wake)
