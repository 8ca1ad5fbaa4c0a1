"""Addresses of fuel: rows are added and read, never changed. A hand sees and sends his or her own fill-ups."""

from typing import Any, ClassVar

from rest_framework.exceptions import PermissionDenied
from rest_framework.request import Request
from rest_framework.response import Response

from farmops.core import clock
from farmops.core.api.queries import FilterSet, TextFilter
from farmops.farms.api.access import OFFICE, FarmItem, FarmList, FarmView
from farmops.farms.models import Role
from scheduling.api import fuel_shapes as shapes
from scheduling.api.record_views import Own
from scheduling.models import FuelDelivery, FuelFill, TankReading
from scheduling.services import fuel


class FillFilter(FilterSet):
    """Fill-ups of a machine, from a tank."""

    machine = TextFilter(field_name="machine__code")
    tank = TextFilter(field_name="tank__code")


class FillFacts(Own):
    """Fill-ups."""

    queryset = FuelFill.objects.select_related("machine", "tank", "hand", "superseded_by")
    shows = takes = shapes.FuelFillShape


class FillList(FillFacts, FarmList):
    """Fill-ups of machines, also what a newer row corrects."""

    filterset_class = FillFilter

    def post(self, request: Request, **kwargs: Any) -> Response:
        taken = self.spoken_for(self.taken())
        corrected = taken.get("supersedes")
        if corrected is not None and not self.is_office and corrected.hand != self.hand:
            raise PermissionDenied("A hand corrects his or her own records only.")
        keep = fuel.record_fuel_fill if taken.get("is_taken_back") else fuel.fill_up
        return self.kept(*keep(farm=self.farm, recorded_by=self.user, now=clock.now(), **taken))


class FillItem(FillFacts, FarmItem):
    """One fill-up."""


class TankFilter(FilterSet):
    """Rows of a tank."""

    tank = TextFilter(field_name="tank__code")


class Books(FarmView):
    """Rows that the office writes and reads."""

    writers: ClassVar[frozenset[Role]] = OFFICE
    answers: ClassVar[dict[str, list[int]]] = {"POST": [200, 201]}


class DeliveryFacts(Books):
    """Deliveries."""

    queryset = FuelDelivery.objects.select_related("tank", "superseded_by")
    shows = takes = shapes.FuelDeliveryShape


class DeliveryList(DeliveryFacts, FarmList):
    """Deliveries into tanks, also what a newer row corrects."""

    filterset_class = TankFilter

    def post(self, request: Request, **kwargs: Any) -> Response:
        kept = fuel.record_fuel_delivery(
            farm=self.farm, recorded_by=self.user, now=clock.now(), **self.taken()
        )
        return self.kept(*kept)


class DeliveryItem(DeliveryFacts, FarmItem):
    """One delivery."""


class TankReadingFacts(Books):
    """What the stick found."""

    queryset = TankReading.objects.select_related("tank")
    shows = takes = shapes.TankReadingShape


class TankReadingList(TankReadingFacts, FarmList):
    """What the stick found in tanks."""

    filterset_class = TankFilter

    def post(self, request: Request, **kwargs: Any) -> Response:
        kept = fuel.record_tank_reading(
            farm=self.farm, recorded_by=self.user, now=clock.now(), **self.taken()
        )
        return self.kept(*kept)


class TankReadingItem(TankReadingFacts, FarmItem):
    """One reading of a tank."""
