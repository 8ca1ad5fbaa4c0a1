"""What the periodic sweep and the nudges call: post what has no posting, tidy the photos of bills."""

from celery import shared_task

from farmops.core import clock
from ledger.services import bill_photos, posting


@shared_task(name="ledger.background.post_pending")
def post_pending() -> str:
    """Post everything pending of every farm; safe to run twice and side by side."""
    return str(posting.post_pending(now=clock.now()))


@shared_task(name="ledger.background.sweep_bill_photos")
def sweep_bill_photos() -> str:
    """Remove files of bills that no row names, and say which rows have lost theirs."""
    swept = bill_photos.sweep_bill_photos(now=clock.now())
    lost = f"; without a file: {', '.join(swept.missing)}" if swept.missing else ""
    return f"{len(swept.removed)} removed{lost}"
