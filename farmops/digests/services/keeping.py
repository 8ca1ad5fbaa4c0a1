"""Keep what was sent as bytes for a year, and no longer; the row with its times and its hash stays."""

import datetime as dt

from farmops.digests.models import OutboxRow, RowState

KEPT = dt.timedelta(days=365)
AT_ONCE = 500
ENDS = (RowState.SENT, RowState.DEAD, RowState.SKIPPED, RowState.EMPTY, RowState.SUPPRESSED)


def sweep_mail(*, now: dt.datetime) -> int:
    """Take the bytes out of the rows whose mail ended more than a year ago; return how many. Safe to run at any time."""
    old = (
        OutboxRow.objects.filter(state__in=ENDS, local_day__lt=(now - KEPT).date())
        .exclude(content=b"")
        .exclude(sent_at__gte=now - KEPT)
    )
    swept = 0
    while ids := list(old.order_by("pk").values_list("pk", flat=True)[:AT_ONCE]):
        swept += OutboxRow.objects.filter(pk__in=ids).update(content=b"")
    return swept
