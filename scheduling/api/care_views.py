"""Addresses of service: what was done is added and read, what is due is worked out."""

from typing import Any

from django import forms
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer

from farmops.core import clock
from farmops.core.api.queries import FilterSet, TextFilter
from farmops.farms.api.access import EVERYBODY, FarmItem, FarmList, FarmView
from scheduling.api import care_shapes as shapes
from scheduling.api.fact_views import Seen
from scheduling.models import CareDone
from scheduling.selectors.care import care_due
from scheduling.services.care import record_care

CENTS = 100


class CareDoneFilter(FilterSet):
    """Service by a rule, on a machine or implement."""

    rule = TextFilter(field_name="rule__code")
    machine = TextFilter(field_name="rule__machine__code")
    implement = TextFilter(field_name="rule__implement__code")


class CareDoneFacts(Seen):
    """Service that was done."""

    queryset = CareDone.objects.select_related("rule", "hand", "superseded_by")
    shows = takes = shapes.CareDoneShape

    def get_serializer_class(self) -> type[BaseSerializer]:
        is_hand = hasattr(self, "roles") and not self.is_office
        return (
            shapes.UnpricedCareDoneShape if is_hand and self.request.method == "GET" else shapes.CareDoneShape
        )


class CareDoneList(CareDoneFacts, FarmList):
    """Service that was done, also what a newer row corrects."""

    filterset_class = CareDoneFilter

    def post(self, request: Request, **kwargs: Any) -> Response:
        sent = self.sent()
        if self.hand is not None or sent.get("hand") is not None:
            sent["hand"] = self.own_hand(sent.get("hand"))
        usd = sent.pop("parts_usd", None)
        return self.kept(*record_care(**sent, parts_cents=None if usd is None else int(usd * CENTS)))


class CareDoneItem(CareDoneFacts, FarmItem):
    """One service that was done."""


class CareDueList(FarmView):
    """Every service of the farm with what is left of it now."""

    readers = EVERYBODY
    shows = shapes.CareDueShape
    pagination_class = None
    filter_backends = []
    asks = forms.Form

    @extend_schema(responses=shapes.CareDueShape(many=True))
    def get(self, request: Request, **kwargs: Any) -> Response:
        due = care_due(farm=self.farm, at=clock.now())
        return Response(shapes.CareDueShape(due, many=True, context=self.get_serializer_context()).data)
