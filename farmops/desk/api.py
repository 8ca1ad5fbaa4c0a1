"""Making a week plan and sending it, over JSON."""

from typing import Any, ClassVar

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from farmops.core import clock
from farmops.core.api import fields
from farmops.core.api.serializers import Shape
from farmops.desk.services import plan_week
from farmops.farms.api.access import FarmItem
from scheduling.api.shapes import NothingShape, WholePlanShape
from scheduling.api.views import TOO_FAR, PlanList, is_near
from scheduling.models import WeekPlan
from scheduling.services.planning import send_plan

MOST_SECONDS = 30


class WeekShape(Shape):
    """Which days to plan, and how long to search."""

    first_on = fields.Day(help_text="first day on the farm's clock")
    days = fields.Whole(min_value=1, max_value=21, default=7)
    seconds = fields.Whole(min_value=1, max_value=MOST_SECONDS, default=10)
    seed = fields.Whole(default=1)
    rounds = fields.Whole(min_value=1, max_value=5000, required=False, allow_null=True)
    as_of = fields.Day(required=False, allow_null=True, help_text="last day whose weather is known")
    keep_sent = fields.YesNo(default=False)


class PlanDesk(PlanList):
    """Week plans, the newest first, and making one."""

    takes = WeekShape
    answers: ClassVar[dict[str, list[int]]] = {"POST": [201]}

    @extend_schema(responses={201: WholePlanShape})
    def post(self, request: Request, **kwargs: Any) -> Response:
        taken, now = self.taken(), clock.now()
        if not is_near(taken["first_on"], taken.get("as_of") or clock.local_date(now, self.farm.zone)):
            raise ValidationError({"first_on": [TOO_FAR]})
        plan = plan_week(farm=self.farm, made_by=self.user, now=now, **taken)
        shown = WholePlanShape(plan, context=self.get_serializer_context())
        return Response(shown.data, status=201)


class SendPlan(FarmItem):
    """Make a plan the one that the morning sheets follow."""

    http_method_names = ["post"]
    queryset = WeekPlan.objects.select_related("farm", "against")
    takes = NothingShape
    shows = WholePlanShape
    known_by = {"number": "number"}

    def post(self, request: Request, **kwargs: Any) -> Response:
        plan = self.row()
        self.taken()
        return self.shown(send_plan(plan=plan, now=clock.now()))


urlpatterns = [
    path("<slug:farm_code>/plans/", PlanDesk.as_view()),
    path("<slug:farm_code>/plans/<int:number>/send/", SendPlan.as_view()),
]
