"""What went wrong in the field: each incident with where it was, what was done about it and what it cost in time."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import TypeVar

from shapely.geometry import Point, shape

from farmops.farms.models import Farm, Field
from scheduling.debris.stubs import is_stub
from scheduling.models import Incident, IncidentKind, IncidentMended, IncidentPlace, Mending

Row = TypeVar("Row", IncidentPlace, IncidentMended)


@dataclass(frozen=True)
class IncidentFacts:
    """An incident with its newest place and mending."""

    incident: Incident
    place: IncidentPlace | None
    mended: IncidentMended | None

    @property
    def lost_min(self) -> int:
        """Return the minutes that it cost: what was said last; none for what never was."""
        if self.is_mistake:
            return 0
        return self.mended.lost_min if self.mended is not None else self.incident.lost_min

    @property
    def mending(self) -> Mending:
        """Return what was done about it."""
        return Mending(self.mended.mending) if self.mended is not None else Mending.NONE

    @property
    def is_mistake(self) -> bool:
        """Whether it was entered by mistake: it stands in the list and counts nowhere."""
        return self.mending == Mending.MISTAKE

    @property
    def is_puncture(self) -> bool:
        """Whether a tire went flat."""
        return self.incident.kind == IncidentKind.PUNCTURE

    @property
    def is_by_stub(self) -> bool:
        """Whether it met the stub of a stalk, which is no debris: nobody picks it up."""
        return is_stub(self.incident.met)


def incident_facts(
    *,
    farm: Farm,
    kind: str = "",
    field: Field | None = None,
    incident_id: int | None = None,
    between: tuple[dt.datetime, dt.datetime] | None = None,
) -> list[IncidentFacts]:
    """Return incidents with where they were and what was done, the newest first; all kinds where none is named.

    `between` are the first and the last instant at which they happened.
    """
    rows = Incident.objects.filter(farm=farm).select_related(
        "field", "season", "machine", "implement", "hand"
    )
    if kind:
        rows = rows.filter(kind=kind)
    if field is not None:
        rows = rows.filter(field=field)
    rows = rows.filter(pk=incident_id) if incident_id is not None else rows.defer("field__boundary")
    if between is not None:
        rows = rows.filter(happened_at__range=between)
    found = list(rows.order_by("-happened_at", "-id"))
    for one in found:
        one.farm = farm
    places = _newest(IncidentPlace.objects.filter(farm=farm, incident__in=found).order_by("id"))
    mended = _newest(IncidentMended.objects.filter(farm=farm, incident__in=found).order_by("id"))
    return [IncidentFacts(one, places.get(one.pk), mended.get(one.pk)) for one in found]


def lost_minutes(*, farm: Farm, kind: str) -> list[int]:
    """Return the minutes that each incident of a kind cost, as `IncidentFacts.lost_min` has them; those that cost any."""
    lost = dict(Incident.objects.filter(farm=farm, kind=kind).values_list("pk", "lost_min"))
    mended = IncidentMended.objects.filter(farm=farm, incident__kind=kind).order_by("id")
    for pk, mending, lost_min in mended.values_list("incident_id", "mending", "lost_min"):
        lost[pk] = 0 if mending == Mending.MISTAKE else lost_min
    return [one for one in lost.values() if one]


def field_at(*, farm: Farm, latitude_deg: Decimal, longitude_deg: Decimal) -> Field | None:
    """Return the field whose boundary a place lies in; None where it lies in none."""
    here = Point(float(longitude_deg), float(latitude_deg))
    return next((one for one in Field.objects.filter(farm=farm) if shape(one.boundary).covers(here)), None)


def last_incident_at(*, farm: Farm) -> dt.datetime | None:
    """Return when the last incident was."""
    return (
        Incident.objects.filter(farm=farm)
        .order_by("-happened_at")
        .values_list("happened_at", flat=True)
        .first()
    )


def _newest(rows: Iterable[Row]) -> dict[int, Row]:
    return {one.incident_id: one for one in rows}
