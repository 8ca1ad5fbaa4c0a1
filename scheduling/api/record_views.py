"""Addresses of what was done, read, met and said: rows are added and read, never changed.

A hand sees and sends what is his or her own.
"""

from typing import Any, ClassVar

from django.db.models import QuerySet
from rest_framework.exceptions import PermissionDenied
from rest_framework.request import Request
from rest_framework.response import Response

from farmops.core import clock
from farmops.core.api.queries import DayFilter, FilterSet, TextFilter, WholeFilter
from farmops.farms.api.access import EVERYBODY, FarmItem, FarmList, FarmView
from farmops.farms.models import Role
from scheduling.api import record_shapes as shapes
from scheduling.models import HourReading, Incident, SaySo, WorkRecord
from scheduling.services import work
from scheduling.services.say_so import record_say_so

REPORTERS = frozenset({Role.MANAGER, Role.HAND})


class Own(FarmView):
    """Rows of which a hand sees those that name him or her in the column `whose`."""

    readers = EVERYBODY
    writers = REPORTERS
    whose: ClassVar[str] = "hand"
    answers: ClassVar[dict[str, list[int]]] = {"POST": [200, 201]}

    def rows(self) -> QuerySet:
        rows = super().rows()
        return rows if self.is_office else rows.filter(**{self.whose: self.hand})

    def spoken_for(self, taken: dict[str, Any]) -> dict[str, Any]:
        """Return what was sent with the hand it is of; the office may leave it open."""
        named = taken.get(self.whose)
        if named is None and self.hand is None:
            return taken
        return {**taken, self.whose: self.own_hand(named)}


class WorkFilter(FilterSet):
    """Work records of a pass, a field, a hand, some days."""

    field_pass = WholeFilter(field_name="field_pass_id")
    field = TextFilter(field_name="field_pass__season__field__code")
    hand = TextFilter(field_name="hand__code")
    first = DayFilter(field_name="work_on", lookup_expr="gte")
    last = DayFilter(field_name="work_on", lookup_expr="lte")


class WorkFacts(Own):
    """Work records."""

    queryset = WorkRecord.objects.select_related(
        "field_pass__season__field", "hand", "machine", "implement", "superseded_by"
    ).prefetch_related("inputs")
    shows = takes = shapes.WorkRecordShape


class WorkList(WorkFacts, FarmList):
    """Work records; the same `client_id` with the same content is the same record."""

    filterset_class = WorkFilter

    def post(self, request: Request, **kwargs: Any) -> Response:
        taken = self.taken()
        taken["hand"] = self.own_hand(taken.get("hand"))
        corrected = taken.get("supersedes")
        if corrected is not None and not self.is_office and corrected.hand != self.hand:
            raise PermissionDenied("A hand corrects his or her own records only.")
        record, is_new = work.record_work(farm=self.farm, recorded_by=self.user, now=clock.now(), **taken)
        return self.kept(record, is_new)


class WorkItem(WorkFacts, FarmItem):
    """One work record."""


class ReadingFilter(FilterSet):
    """Readings of a machine."""

    machine = TextFilter(field_name="machine__code")


class ReadingFacts(Own):
    """Hour readings."""

    queryset = HourReading.objects.select_related("machine", "read_by")
    shows = takes = shapes.HourReadingShape
    whose = "read_by"


class ReadingList(ReadingFacts, FarmList):
    """Readings of hour meters."""

    filterset_class = ReadingFilter

    def post(self, request: Request, **kwargs: Any) -> Response:
        taken = self.spoken_for(self.taken())
        return self.kept(*work.record_hour_reading(farm=self.farm, now=clock.now(), **taken))


class ReadingItem(ReadingFacts, FarmItem):
    """One reading of an hour meter."""


class IncidentFilter(FilterSet):
    """Incidents of a kind, a field, a machine."""

    kind = TextFilter()
    field = TextFilter(field_name="field__code")
    machine = TextFilter(field_name="machine__code")


class IncidentFacts(Own):
    """Incidents."""

    queryset = Incident.objects.select_related("field", "season", "machine", "implement", "hand")
    shows = takes = shapes.IncidentShape


class IncidentList(IncidentFacts, FarmList):
    """What went wrong in the field."""

    filterset_class = IncidentFilter

    def post(self, request: Request, **kwargs: Any) -> Response:
        taken = self.spoken_for(self.taken())
        return self.kept(*work.record_incident(farm=self.farm, now=clock.now(), **taken))


class IncidentItem(IncidentFacts, FarmItem):
    """One incident."""


class SaySoFilter(FilterSet):
    """What was said of a field, a day."""

    field = TextFilter(field_name="field__code")
    day = DayFilter()


class SaySoFacts(FarmView):
    """The grower's word."""

    queryset = SaySo.objects.filter(is_taken_back=False).select_related("field", "zone")
    shows = takes = shapes.SaySoShape
    answers: ClassVar[dict[str, list[int]]] = {"POST": [200, 201]}


class SaySoList(SaySoFacts, FarmList):
    """The grower's own word on a field for a day; the same `client_id` with the same word is the same row."""

    filterset_class = SaySoFilter

    def post(self, request: Request, **kwargs: Any) -> Response:
        return self.kept(*record_say_so(farm=self.farm, said_by=self.user, now=clock.now(), **self.taken()))


class SaySoItem(SaySoFacts, FarmItem):
    """One word."""
