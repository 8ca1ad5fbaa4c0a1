"""Which bills belong to which incident: those that name it, and those that came since and might."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from decimal import ROUND_HALF_EVEN, Decimal

from django.db.models import Q, QuerySet, Sum

from farmops.core.clock import local_date
from farmops.farms.models import Farm
from ledger.models import Bill, Category
from ledger.selectors.bills import unreversed
from scheduling.models import Incident, IncidentKind

MENDED_BY = (Category.TIRES, Category.REPAIRS, Category.OTHER)
"""Categories of bills that mend something."""
COMES_WITHIN = dt.timedelta(days=60)  # farm judgement: a supplier who bills monthly has billed by then
CENT = Decimal(1)


def bills_of_incidents(*, farm: Farm, incidents: Iterable[Incident] | None = None) -> dict[int, list[Bill]]:
    """Return the bills that stand of each incident and were not reversed, by its id and in the order of their dates."""
    rows = unreversed(Bill.objects.filter(farm=farm, incident__isnull=False, superseded_by__isnull=True))
    if incidents is not None:
        rows = rows.filter(incident__in=list(incidents))
    found: dict[int, list[Bill]] = defaultdict(list)
    for bill in rows.select_related("payee", "machine", "implement").order_by("bill_on", "id"):
        if bill.incident_id is not None:
            found[bill.incident_id].append(bill)
    return dict(found)


def bills_that_may_be(*, incident: Incident) -> list[Bill]:
    """Return bills for tires or repairs that name no incident yet and came within 60 days after this one.

    Those for its machine or implement come first; a bill for another machine, for a pump, or one that was reversed in the
    books is not among them.
    """
    on = local_date(incident.happened_at, incident.farm.zone)
    rows: QuerySet[Bill] = Bill.objects.filter(
        farm=incident.farm_id,
        incident__isnull=True,
        superseded_by__isnull=True,
        season__isnull=True,
        pump__isnull=True,
        category__in=MENDED_BY,
        cents__gt=0,
        bill_on__range=(on, on + COMES_WITHIN),
    )
    rows = unreversed(rows).filter(Q(machine__isnull=True) | Q(machine=incident.machine_id))
    rows = rows.filter(Q(implement__isnull=True) | Q(implement=incident.implement_id))
    found = list(rows.select_related("payee", "machine", "implement").order_by("bill_on", "id"))
    return sorted(found, key=lambda bill: bill.machine_id is None and bill.implement_id is None)


def mean_puncture_cents(*, farm: Farm) -> tuple[int, int] | None:
    """Return what a puncture was billed on average, and of how many that is the mean; None where none was billed."""
    rows = unreversed(
        Bill.objects.filter(farm=farm, incident__kind=IncidentKind.PUNCTURE, superseded_by__isnull=True)
    ).order_by()
    sums = [cents for _incident, cents in rows.values_list("incident").annotate(Sum("cents"))]
    if not sums:
        return None
    mean = (Decimal(sum(sums)) / len(sums)).quantize(CENT, ROUND_HALF_EVEN)
    return max(int(mean), 0), len(sums)
