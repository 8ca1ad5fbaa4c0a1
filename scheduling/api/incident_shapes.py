"""How the places of incidents and what was done about them are written as JSON, and hour meters that were replaced."""

from farmops.core.api.serializers import RowShape
from farmops.farms.api.related import ByCode, ById
from farmops.farms.models import Machine
from scheduling.models import Incident, IncidentMended, IncidentPlace, MeterReplaced


class IncidentPlaceShape(RowShape):
    """Where an incident was; the newest place of an incident counts."""

    class Meta:
        model = IncidentPlace
        fields = (
            "id",
            "client_id",
            "incident",
            "latitude_deg",
            "longitude_deg",
            "placed_by",
            "recorded_at",
        )
        read_only_fields = ("id", "recorded_at")

    incident = ById(Incident)


class IncidentMendedShape(RowShape):
    """What was done about an incident, and the minutes that it cost in all; the newest row of an incident counts."""

    class Meta:
        model = IncidentMended
        fields = ("id", "client_id", "incident", "mending", "lost_min", "note", "recorded_at")
        read_only_fields = ("id", "recorded_at")

    incident = ById(Incident)


class MeterReplacedShape(RowShape):
    """An hour meter that was replaced: what the old one showed last, and the new one first."""

    class Meta:
        model = MeterReplaced
        fields = (
            "id",
            "client_id",
            "machine",
            "replaced_at",
            "old_reading_h",
            "new_reading_h",
            "note",
            "recorded_at",
        )
        read_only_fields = ("id", "recorded_at")

    machine = ByCode(Machine)
