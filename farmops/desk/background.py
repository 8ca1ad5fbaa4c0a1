"""What runs by itself now and then: the ground of this morning kept ready for the pages."""

from celery import shared_task

from farmops.core import clock
from farmops.desk.ready_ground import keep_ready


@shared_task(name="farmops.desk.background.keep_ground")
def keep_ground() -> str:
    """Work the ground of the day out anew wherever something that it rests on is another; safe to run twice."""
    return f"kept {keep_ready(now=clock.now())}"
