"""Laying an order of work out on very many fields as long work; see `farmops.core.long_work`."""

import datetime as dt
import uuid
from collections.abc import Mapping

from django.utils.translation import gettext_noop

from farmops.core import clock
from farmops.core.long_work import Progress, Result, begin
from farmops.core.models import LongWork, User
from farmops.farms.models import Season
from scheduling.models import OrderOfWork
from scheduling.services.order_laying import lay_order
from scheduling.services.order_preview import Window

LAY_ORDER = "lay_order"
LAYING = gettext_noop("writing the passes")
MANY_FIELDS = 100
"""From here on laying out may take longer than a person waits for a page: measured, 200 fields in a second and a half."""


def begin_laying(
    *,
    row: OrderOfWork,
    windows: Mapping[Season, Window],
    seen: str,
    client_id: uuid.UUID,
    asked_by: User | None,
    now: dt.datetime,
) -> LongWork:
    """Have an order laid out as it was looked at, on all of these seasons or on none."""
    asked = {
        "order": row.code,
        "seen": seen,
        "client_id": str(client_id),
        "seasons": [
            [one.pk, window.first_on.isoformat(), window.last_on.isoformat()]
            for one, window in windows.items()
        ],
    }
    return begin(
        farm=row.farm, kind=LAY_ORDER, asked_by=asked_by, asked=asked, key=f"{row.code}/{client_id}", now=now
    )


def lay(work: LongWork, progress: Progress) -> Result:
    """Lay the order out."""
    asked = work.asked
    row = OrderOfWork.objects.select_related("farm").get(farm_id=work.farm_id, code=asked["order"])
    days = {
        pk: Window(dt.date.fromisoformat(first), dt.date.fromisoformat(last))
        for pk, first, last in asked["seasons"]
    }
    seasons = Season.objects.filter(farm=row.farm, pk__in=days).select_related("field", "farm")
    now = clock.now()
    laid = lay_order(
        row=row,
        windows={one: days[one.pk] for one in seasons},
        seen=asked["seen"],
        client_id=uuid.UUID(asked["client_id"]),
        laid_by=work.asked_by,
        now=now,
        today=clock.local_date(now, row.farm.zone),
        progress=lambda done, of: progress(done, of, LAYING),
    )
    return Result(facts={"laying": laid.laying.pk, "fields": len(days)})
