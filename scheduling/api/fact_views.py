"""Addresses of what is seen on a field and put on it, and of choices about limits: rows are added and read, never changed.

Everybody on the farm reads what shuts a field or says how wet it is; a hand corrects his or her own rows only.
"""

from dataclasses import replace
from typing import Any, ClassVar

from rest_framework.exceptions import PermissionDenied
from rest_framework.request import Request
from rest_framework.response import Response

from farmops.core import clock
from farmops.core.api.queries import DayFilter, FilterSet, TextFilter
from farmops.farms.api.access import EVERYBODY, FarmItem, FarmList, FarmView
from scheduling.api import fact_shapes as shapes
from scheduling.api.record_views import REPORTERS
from scheduling.models import LimitChoice, PivotPlace, Remark, Spraying, Watering
from scheduling.services.limit_choices import choose_limit
from scheduling.services.pivot_places import record_pivot_place
from scheduling.services.remarks import record_remark
from scheduling.services.spray_details import marked_restricted
from scheduling.services.sprayings import record_spraying
from scheduling.services.waterings import record_watering


class Seen(FarmView):
    """Rows that whoever is on the farm reads and adds."""

    readers = EVERYBODY
    writers = REPORTERS
    answers: ClassVar[dict[str, list[int]]] = {"POST": [200, 201]}
    by: ClassVar[str] = "recorded_by"

    def sent(self) -> dict[str, Any]:
        """Return what was sent in with who sent it; a hand does not correct what somebody else wrote."""
        taken = self.taken()
        corrected = taken.get("supersedes")
        if corrected is not None and not self.is_office and getattr(corrected, self.by) != self.user:
            raise PermissionDenied("A hand corrects his or her own records only.")
        return {**taken, self.by: self.user, "farm": self.farm, "now": clock.now()}


class RemarkFilter(FilterSet):
    """Remarks on a field, for a kind of work."""

    field = TextFilter(field_name="field__code")
    what = TextFilter()
    operation = TextFilter()


class RemarkFacts(Seen):
    """Remarks."""

    queryset = Remark.objects.select_related("field", "zone", "work_record", "superseded_by")
    shows = takes = shapes.RemarkShape
    by = "said_by"


class RemarkList(RemarkFacts, FarmList):
    """Remarks on the wetness of fields, also those that a newer one corrects."""

    filterset_class = RemarkFilter

    def post(self, request: Request, **kwargs: Any) -> Response:
        return self.kept(*record_remark(**self.sent()))


class RemarkItem(RemarkFacts, FarmItem):
    """One remark."""


class WateringFilter(FilterSet):
    """Water on a field, some days."""

    field = TextFilter(field_name="field__code")
    first = DayFilter(field_name="water_on", lookup_expr="gte")
    last = DayFilter(field_name="water_on", lookup_expr="lte")


class WateringFacts(Seen):
    """Water put on."""

    queryset = Watering.objects.select_related("field", "superseded_by")
    shows = takes = shapes.WateringShape


class WateringList(WateringFacts, FarmList):
    """Water put on fields, also what a newer row corrects."""

    filterset_class = WateringFilter

    def post(self, request: Request, **kwargs: Any) -> Response:
        return self.kept(*record_watering(**self.sent()))


class WateringItem(WateringFacts, FarmItem):
    """One watering."""


class SprayingFilter(FilterSet):
    """Sprayings of a field, of a kind."""

    field = TextFilter(field_name="field__code")
    operation = TextFilter()


class SprayingFacts(Seen):
    """Sprayings."""

    queryset = Spraying.objects.select_related(
        "field", "sprayed_by", "superseded_by", "detail"
    ).prefetch_related("product_rows")
    shows = takes = shapes.SprayingShape


class SprayingList(SprayingFacts, FarmList):
    """What was sprayed on fields, also what a newer row corrects."""

    filterset_class = SprayingFilter

    def post(self, request: Request, **kwargs: Any) -> Response:
        sent = self.sent()
        if self.hand is not None or sent.get("sprayed_by") is not None:
            sent["sprayed_by"] = self.own_hand(sent.get("sprayed_by"))
        detail = sent.get("detail")
        if detail is not None:
            if not self.is_office and (detail.applicator_name or detail.license_no):
                raise PermissionDenied(
                    "A hand reports what he or she sprayed; the office names somebody else."
                )
            known = tuple(marked_restricted(detail.products, farm=self.farm))
            sent["detail"] = replace(detail, products=known)
        return self.kept(*record_spraying(**sent))


class SprayingItem(SprayingFacts, FarmItem):
    """One spraying."""


class PivotPlaceFilter(FilterSet):
    """Sights of the pivot of a field."""

    field = TextFilter(field_name="pivot__field__code")


class PivotPlaceFacts(Seen):
    """Where pivots were seen."""

    queryset = PivotPlace.objects.select_related("pivot__field")
    shows = takes = shapes.PivotPlaceShape


class PivotPlaceList(PivotPlaceFacts, FarmList):
    """Where pivots were seen, and whether they ran."""

    filterset_class = PivotPlaceFilter

    def post(self, request: Request, **kwargs: Any) -> Response:
        return self.kept(*record_pivot_place(**self.sent()))


class PivotPlaceItem(PivotPlaceFacts, FarmItem):
    """One sight of a pivot."""


class LimitChoiceFilter(FilterSet):
    """Choices about a limit, on a field."""

    key = TextFilter()
    field = TextFilter(field_name="field__code")


class LimitChoiceFacts(FarmView):
    """Choices about limits."""

    queryset = LimitChoice.objects.select_related("field")
    shows = takes = shapes.LimitChoiceShape
    answers: ClassVar[dict[str, list[int]]] = {"POST": [201]}


class LimitChoiceList(LimitChoiceFacts, FarmList):
    """The farm's own choices about limits, every one ever made; the newest of a key and field counts."""

    filterset_class = LimitChoiceFilter

    def post(self, request: Request, **kwargs: Any) -> Response:
        taken = self.taken()
        number = taken.pop("number", None)
        row = choose_limit(
            farm=self.farm,
            number=None if number is None else float(number),
            set_by=self.user,
            now=clock.now(),
            **taken,
        )
        return self.shown(row, status=201)


class LimitChoiceItem(LimitChoiceFacts, FarmItem):
    """One choice about a limit."""
