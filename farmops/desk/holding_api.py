"""Holding a pass to an outfit or an hour and letting it go, over JSON."""

from typing import Any, ClassVar

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer

from farmops.core import clock
from farmops.core.api import fields
from farmops.core.api.serializers import Shape
from farmops.desk.days import day_to_plan_again
from farmops.desk.holding import hold_pass
from farmops.farms.api.access import FarmItem
from scheduling.api.shapes import NothingShape, PricedPassShape
from scheduling.models import FieldPass
from scheduling.selectors.holding import outfit_in_words, outfits_to_offer
from scheduling.services.fixing import let_go


class HoldShape(Shape):
    """What to hold to: an outfit, an hour, or both."""

    outfit = fields.Text(max_length=120, required=False, default="", help_text="one of the pass's outfits")
    starts_at = fields.Instant(required=False, allow_null=True, default=None)


class OutfitShape(Shape):
    """An outfit that can do a pass."""

    outfit = fields.Text(read_only=True)
    says = fields.Text(read_only=True, help_text="its names")


class OnePass(FarmItem):
    """One pass."""

    queryset = FieldPass.objects.select_related("season__field__pivot__pump", "farm")
    shows: ClassVar[type[BaseSerializer]] = PricedPassShape


class HoldPass(OnePass):
    """Hold a pass to an outfit, an hour, or both; plans made from then on keep to it."""

    http_method_names = ["post"]
    takes = HoldShape

    def post(self, request: Request, **kwargs: Any) -> Response:
        row = self.row()
        return self.shown(hold_pass(farm=self.farm, field_pass=row, now=clock.now(), **self.taken()))


class LetGoOfPass(OnePass):
    """Let the planner choose a pass's outfit and hour again."""

    http_method_names = ["post"]
    takes = NothingShape

    def post(self, request: Request, **kwargs: Any) -> Response:
        row = self.row()
        self.taken()
        return self.shown(let_go(field_pass=row))


class OutfitsOfPass(OnePass):
    """The outfits that can do a pass in the three weeks to come."""

    http_method_names = ["get", "head"]
    shows = OutfitShape
    pagination_class = None
    filter_backends = []

    @extend_schema(responses=OutfitShape(many=True))
    def get(self, request: Request, **kwargs: Any) -> Response:
        first_on = day_to_plan_again(farm=self.farm, now=clock.now())
        outfits = outfits_to_offer(farm=self.farm, field_pass=self.row(), first_on=first_on)
        rows = [{"outfit": one.id, "says": outfit_in_words(one)} for one in outfits]
        return Response(OutfitShape(rows, many=True).data)


urlpatterns = [
    path("<slug:farm_code>/passes/<int:pk>/hold/", HoldPass.as_view()),
    path("<slug:farm_code>/passes/<int:pk>/let-go/", LetGoOfPass.as_view()),
    path("<slug:farm_code>/passes/<int:pk>/outfits/", OutfitsOfPass.as_view()),
]
