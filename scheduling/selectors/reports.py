"""Reading reports from the field: what became of each, what waits for the manager, and their photos."""

import datetime as dt
import uuid
from typing import Literal

from django.db.models import Q, QuerySet

from farmops.farms.models import Farm, Hand
from scheduling.models import FieldReport, Incident, ParkedReport, ParkedState, ReportKind, ReportPhoto

LOOKS_LIKE_A_REPEAT = "looks_like_a_repeat"
CHECK_NOT_FINE = "check_not_fine"
KEPT_ALL_THE_SAME = frozenset({LOOKS_LIKE_A_REPEAT, CHECK_NOT_FINE})
"""Codes of reports that are kept, and only looked at."""

Became = Literal["kept", "parked", "set_aside"]


def reports_of(*, farm: Farm, hand: Hand | None = None) -> QuerySet[FieldReport]:
    """Return the reports of a farm, or those of one hand, with what showing them needs."""
    rows = FieldReport.objects.filter(farm=farm).select_related("hand", "parked").prefetch_related("photos")
    return rows if hand is None else rows.filter(hand=hand)


def parked_of(report: FieldReport) -> ParkedReport | None:
    """Return what waits, or waited, of a report."""
    found: ParkedReport | None = getattr(report, "parked", None)
    return found


def became_of(report: FieldReport) -> Became:
    """Return what became of a report by now."""
    parked = parked_of(report)
    if parked is None or parked.state == ParkedState.TAKEN:
        return "kept"
    if parked.state == ParkedState.SET_ASIDE:
        return "set_aside"
    return "kept" if parked.code in KEPT_ALL_THE_SAME else "parked"


def waiting_reports(*, farm: Farm) -> QuerySet[ParkedReport]:
    """Return the reports that wait for the manager, the oldest first."""
    rows = ParkedReport.objects.filter(farm=farm, state=ParkedState.WAITING)
    return (
        rows.select_related("report__hand").prefetch_related("report__photos").order_by("report__received_at")
    )


def settled_reports(*, farm: Farm) -> QuerySet[ParkedReport]:
    """Return the reports that were taken over or set aside, the last settled first."""
    rows = ParkedReport.objects.filter(farm=farm).exclude(state=ParkedState.WAITING)
    return rows.select_related("report__hand", "settled_by").order_by("-settled_at", "-id")


def answered_reports(*, farm: Farm, hand: Hand, since: dt.datetime) -> QuerySet[FieldReport]:
    """Return the reports of a hand that the manager settled since an instant, the last settled first."""
    rows = reports_of(farm=farm, hand=hand).filter(parked__settled_at__gte=since)
    return rows.order_by("-parked__settled_at", "-id")


def photos_of(*, farm: Farm) -> QuerySet[ReportPhoto]:
    """Return the photos of a farm's reports."""
    return ReportPhoto.objects.filter(farm=farm).select_related("report")


def photos_of_incident(*, incident: Incident) -> list[ReportPhoto]:
    """Return the photos of the report that an incident came in by, also where it waited when they came."""
    rows = photos_of(farm=incident.farm)
    told = rows.filter(Q(incident=incident) | Q(report__client_id=incident.client_id))
    waited = rows.filter(
        report__kind=ReportKind.WORK, report__hand=incident.hand, report__parked__state=ParkedState.TAKEN
    )
    late = [row.pk for row in waited if puncture_id(row.report.client_id) == incident.client_id]
    return list(told | rows.filter(pk__in=late))


def puncture_id(client_id: uuid.UUID) -> uuid.UUID:
    """Return the id of the incident that a report of work tells of, made of the report's own."""
    return uuid.uuid5(client_id, "puncture")
