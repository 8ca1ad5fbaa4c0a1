"""What would help a planned week, over JSON."""

from typing import Any, ClassVar

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from farmops.core import clock
from farmops.core.api import fields
from farmops.core.api.serializers import Shape
from farmops.desk.help_lines import help_as_json
from farmops.desk.supposing import what_would_help
from farmops.farms.api.access import FarmItem
from scheduling.models import WeekPlan
from scheduling.services.supposing import MOST_SUPPOSITIONS

MOST_SECONDS = 30


class SupposeShape(Shape):
    """What to suppose, and how long to search in all."""

    suppose = serializers.ListField(
        child=fields.Text(max_length=120),
        max_length=MOST_SUPPOSITIONS,
        required=False,
        default=list,
        help_text="such as hand:+1@thursday, disk:+1=$30/h, outfit:disk:+1, overtime:+1h or rain@friday; "
        "if empty, what is asked first of all",
    )
    seconds = fields.Whole(min_value=1, max_value=MOST_SECONDS, default=20)
    seed = fields.Whole(default=1)
    rounds = fields.Whole(min_value=1, max_value=5000, required=False, allow_null=True, default=None)


class AnswerShape(Shape):
    """What one thing supposed is worth; null where with it there is no plan."""

    suppose = fields.Text(read_only=True)
    says = fields.Text(read_only=True)
    worth_usd = fields.Dollars(source="cents", read_only=True, allow_null=True)
    least_usd = fields.Dollars(source="least_cents", read_only=True, allow_null=True)
    most_usd = fields.Dollars(source="most_cents", read_only=True, allow_null=True)
    is_sure = fields.YesNo(read_only=True)
    now_planned = serializers.ListField(child=fields.Text(), read_only=True)
    now_left = serializers.ListField(child=fields.Text(), read_only=True)
    moved = serializers.ListField(child=fields.Text(), read_only=True)
    overtime_min = fields.Whole(min_value=None, read_only=True)
    why_none = fields.Text(read_only=True)


class HelpShape(Shape):
    """The plan as it is after as much search, and the answers, best first."""

    cost_usd = fields.Dollars(source="cost", read_only=True)
    bound_usd = fields.Dollars(source="bound", read_only=True)
    answers = AnswerShape(many=True, read_only=True)


class WhatWouldHelp(FarmItem):
    """What hours, hands and implements more, or less, would be worth to a planned week; nothing is stored."""

    http_method_names = ["post"]
    queryset = WeekPlan.objects.select_related("farm")
    takes = SupposeShape
    shows = HelpShape
    known_by: ClassVar[dict[str, str]] = {"number": "number"}

    @extend_schema(responses=HelpShape)
    def post(self, request: Request, **kwargs: Any) -> Response:
        plan = self.row()
        found = what_would_help(plan=plan, now=clock.now(), **self.taken())
        return Response(HelpShape(help_as_json(found)).data)


urlpatterns = [
    path("<slug:farm_code>/plans/<int:number>/suppose/", WhatWouldHelp.as_view()),
]
