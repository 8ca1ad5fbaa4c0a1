"""Addresses of where incidents were, what was done about them, and meters replaced: rows are added and never changed.

A hand sees and adds what belongs to his or her own incidents.
"""

from typing import Any, ClassVar

from rest_framework.exceptions import PermissionDenied
from rest_framework.request import Request
from rest_framework.response import Response

from farmops.core import clock
from farmops.core.api.queries import FilterSet, TextFilter, WholeFilter
from farmops.farms.api.access import FarmItem, FarmList, FarmView
from scheduling.api import incident_shapes as shapes
from scheduling.api.record_views import Own
from scheduling.models import IncidentMended, IncidentPlace, Mending, MeterReplaced
from scheduling.services.incidents import mend_incident, place_incident
from scheduling.services.meters import record_meter_replaced


class OfIncidentFilter(FilterSet):
    """Rows of an incident."""

    incident = WholeFilter(field_name="incident_id")


class OfIncident(Own):
    """Rows of incidents."""

    whose = "incident__hand"

    def of_own_incident(self) -> dict[str, Any]:
        """Return what was sent; a hand adds nothing to the incidents of others."""
        taken = self.taken()
        if not self.is_office and taken["incident"].hand != self.hand:
            raise PermissionDenied("A hand adds to his or her own incidents only.")
        return taken


class PlaceFacts(OfIncident):
    """Where incidents were."""

    queryset = IncidentPlace.objects.select_related("incident")
    shows = takes = shapes.IncidentPlaceShape


class PlaceList(PlaceFacts, FarmList):
    """Where incidents were, also what a newer place stands for."""

    filterset_class = OfIncidentFilter

    def post(self, request: Request, **kwargs: Any) -> Response:
        return self.kept(*place_incident(farm=self.farm, now=clock.now(), **self.of_own_incident()))


class PlaceItem(PlaceFacts, FarmItem):
    """One place of an incident."""


class MendingFacts(OfIncident):
    """What was done about incidents."""

    queryset = IncidentMended.objects.select_related("incident")
    shows = takes = shapes.IncidentMendedShape


class MendingList(MendingFacts, FarmList):
    """What was done about incidents, also what a newer row stands for."""

    filterset_class = OfIncidentFilter

    def post(self, request: Request, **kwargs: Any) -> Response:
        taken = {"lost_min": 0, **self.of_own_incident()}
        if not self.is_office and taken["mending"] == Mending.MISTAKE:
            raise PermissionDenied("The office says what was entered by mistake.")
        return self.kept(*mend_incident(farm=self.farm, now=clock.now(), **taken))


class MendingItem(MendingFacts, FarmItem):
    """One thing done about an incident."""


class MeterReplacedFilter(FilterSet):
    """Meters of a machine."""

    machine = TextFilter(field_name="machine__code")


class MeterReplacedFacts(FarmView):
    """Hour meters that were replaced."""

    queryset = MeterReplaced.objects.select_related("machine")
    shows = takes = shapes.MeterReplacedShape
    answers: ClassVar[dict[str, list[int]]] = {"POST": [200, 201]}


class MeterReplacedList(MeterReplacedFacts, FarmList):
    """Hour meters that were replaced; service goes on counting over them."""

    filterset_class = MeterReplacedFilter

    def post(self, request: Request, **kwargs: Any) -> Response:
        kept = record_meter_replaced(farm=self.farm, recorded_by=self.user, now=clock.now(), **self.taken())
        return self.kept(*kept)


class MeterReplacedItem(MeterReplacedFacts, FarmItem):
    """One meter replaced."""
