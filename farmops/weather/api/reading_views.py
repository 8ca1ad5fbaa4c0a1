"""Addresses of what was read at fields: rows are added and read, never changed. A hand sees his or her own."""

from typing import Any, ClassVar

from django.db.models import QuerySet
from rest_framework.request import Request
from rest_framework.response import Response

from farmops.core import clock
from farmops.core.api.queries import DayFilter, FilterSet, TextFilter
from farmops.farms.api.access import EVERYBODY, FarmItem, FarmList, FarmView
from farmops.farms.models import Role
from farmops.weather.api import shapes
from farmops.weather.models import STANDING, GaugeReading, SoilReading
from farmops.weather.services.field_readings import record_gauge, record_soil_reading


class FieldFacts(FarmView):
    """Readings, of which a hand sees those that name his or her user in the column `whose`."""

    readers = EVERYBODY
    writers = frozenset({Role.MANAGER, Role.HAND})
    whose: ClassVar[str]
    answers: ClassVar[dict[str, list[int]]] = {"POST": [200, 201]}

    def rows(self) -> QuerySet:
        rows = super().rows()
        return rows if self.is_office else rows.filter(**{self.whose: self.user})


class GaugeFilter(FilterSet):
    """Gauge readings of a field, from a date to a date."""

    field = TextFilter(field_name="field__code")
    first = DayFilter(field_name="day", lookup_expr="gte")
    last = DayFilter(field_name="day", lookup_expr="lte")


class GaugeFacts(FieldFacts):
    """Gauge readings."""

    queryset = GaugeReading.objects.filter(STANDING).select_related("field")
    shows = takes = shapes.GaugeReadingShape
    whose = "read_by"


class GaugeList(GaugeFacts, FarmList):
    """Rain in gauges at fields; the same `client_id` with the same content is the same reading."""

    filterset_class = GaugeFilter

    def post(self, request: Request, **kwargs: Any) -> Response:
        taken = self.taken()
        return self.kept(*record_gauge(farm=self.farm, recorded_by=self.user, now=clock.now(), **taken))


class GaugeItem(GaugeFacts, FarmItem):
    """One gauge reading."""


class SoilFilter(FilterSet):
    """Soil thermometer readings of a field."""

    field = TextFilter(field_name="field__code")


class SoilFacts(FieldFacts):
    """Soil thermometer readings."""

    queryset = SoilReading.objects.filter(STANDING).select_related("field", "zone")
    shows = takes = shapes.SoilReadingShape
    whose = "recorded_by"


class SoilList(SoilFacts, FarmList):
    """Warmth on thermometers in the ground; the same `client_id` with the same content is the same reading."""

    filterset_class = SoilFilter

    def post(self, request: Request, **kwargs: Any) -> Response:
        taken = self.taken()
        return self.kept(
            *record_soil_reading(farm=self.farm, recorded_by=self.user, now=clock.now(), **taken)
        )


class SoilItem(SoilFacts, FarmItem):
    """One reading of a thermometer in the ground."""
