"""Addresses of what is told of a stored plan: why each task stands where it does, and what it changes of the sent one."""

from typing import Any

from django.urls import path
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from farmops.core.api import fields
from farmops.core.api.serializers import Shape
from farmops.farms.api.access import FarmItem
from scheduling.models import WeekPlan
from scheduling.selectors.changes import changes_of, plan_before
from scheduling.selectors.reasons import reasons_of


class ReasonsShape(Shape):
    """The document `plan-reasons/1`: why each task stands when it does, what else it could be, and why others are left."""

    format = fields.Text(read_only=True)
    tasks = serializers.ListField(child=fields.Document(), read_only=True)
    left = serializers.ListField(child=fields.Document(), read_only=True)


class ChangesShape(Shape):
    """The document `plan-changes/1`, with the number of the plan that is changed; null where there is none to change."""

    against = fields.Whole(read_only=True, allow_null=True)
    changes = fields.Document(read_only=True, allow_null=True)


class OfPlan(FarmItem):
    """Something told of one week plan."""

    http_method_names = ["get", "head"]
    queryset = WeekPlan.objects.select_related("farm", "against")
    known_by = {"number": "number"}


class ReasonsOfPlan(OfPlan):
    """Why a plan has each task when it does, what the next best choice would cost, and why others are left."""

    shows = ReasonsShape

    def get(self, request: Request, **kwargs: Any) -> Response:
        return Response(reasons_of(plan=self.row()))


class ChangesOfPlan(OfPlan):
    """What a plan changes of the sent one: what moves, whether it had to, and what the change saves."""

    shows = ChangesShape

    def get(self, request: Request, **kwargs: Any) -> Response:
        plan = self.row()
        before = plan_before(plan=plan)
        changes = changes_of(plan=plan, before=before) if before is not None else None
        number = before.number if before is not None else None
        return Response({"against": number, "changes": changes})


urlpatterns = [
    path("<slug:farm_code>/plans/<int:number>/reasons/", ReasonsOfPlan.as_view()),
    path("<slug:farm_code>/plans/<int:number>/changes/", ChangesOfPlan.as_view()),
]
