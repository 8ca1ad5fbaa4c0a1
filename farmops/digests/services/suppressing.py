"""Send nothing more to an address whose mail comes back for good, until somebody says that it is mended."""

import datetime as dt

from django.db import IntegrityError, transaction

from farmops.core.models import User
from farmops.digests.models import BounceReport, SuppressedAddress, TroubleKind
from farmops.digests.selectors.bounces import suppression_of
from farmops.digests.selectors.troubles import standing_troubles
from farmops.digests.services.troubles import end_trouble, raise_trouble

LASTING = "5."
WITHIN = dt.timedelta(days=7)
ENOUGH = 2
"""Two different mails that come back for good within a week: a server that is set up wrong for an hour costs nobody."""


def suppress_after(*, report: BounceReport, now: dt.datetime) -> SuppressedAddress | None:
    """Stop mail to the address of a report where it is the second lasting one of a week, and raise a trouble for it.

    Reports of passing failures (4.x.x) never count, nor those from before somebody lifted an earlier stop. Returns
    the stop that stands then; None where mail goes on.
    """
    if not report.status.startswith(LASTING):
        return None
    standing = suppression_of(farm=report.farm, address=report.address)
    if standing is not None:
        return standing
    since = now - WITHIN
    lifted = SuppressedAddress.objects.filter(farm=report.farm, address=report.address)
    last_lift = (
        lifted.exclude(lifted_at=None).order_by("-lifted_at").values_list("lifted_at", flat=True).first()
    )
    lasting = BounceReport.objects.filter(
        farm=report.farm,
        address=report.address,
        status__startswith=LASTING,
        received_at__gt=max(since, last_lift) if last_lift is not None else since,
    )
    if lasting.order_by().values("row").distinct().count() < ENOUGH:
        return None
    try:
        with transaction.atomic():
            made = SuppressedAddress.objects.create(
                farm=report.farm, address=report.address, report=report, since_at=now
            )
            raise_trouble(
                farm=report.farm,
                kind=TroubleKind.BOUNCED,
                key=str(made.pk),
                says=f"Mail to {report.address} came back. Nothing more is sent there.",
                now=now,
            )
    except IntegrityError:
        return suppression_of(farm=report.farm, address=report.address)
    return made


def lift(*, suppressed: SuppressedAddress, by: User, now: dt.datetime) -> bool:
    """Send to an address again, and end the trouble about it; False when that was said before."""
    standing = SuppressedAddress.objects.filter(pk=suppressed.pk, lifted_at=None)
    with transaction.atomic():
        if not standing.update(lifted_at=now, lifted_by=by):
            return False
        for trouble in standing_troubles(farm=suppressed.farm).filter(
            kind=TroubleKind.BOUNCED, key=str(suppressed.pk)
        ):
            end_trouble(trouble=trouble, by=by, now=now)
    return True
