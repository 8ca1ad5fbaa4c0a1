"""What runs by itself now and then: the photo folder swept against the rows."""

from celery import shared_task

from farmops.core import clock
from scheduling.services import photos


@shared_task(name="scheduling.background.sweep_photos")
def sweep_photos() -> str:
    """Remove files that no row names and tell rows without a file; safe to run twice and side by side."""
    swept = photos.sweep_photos(now=clock.now())
    if swept.missing:
        return f"{len(swept.removed)} removed; without a file: {', '.join(swept.missing[:10])}"
    return f"{len(swept.removed)} removed"
