"""What the periodic sweep and the nudges call: post what has no posting."""

from celery import shared_task

from farmops.core import clock
from ledger.services import posting


@shared_task(name="ledger.background.post_pending")
def post_pending() -> str:
    """Post everything pending of every farm; safe to run twice and side by side."""
    return str(posting.post_pending(now=clock.now()))
