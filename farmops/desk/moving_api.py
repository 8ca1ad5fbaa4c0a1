"""Moving a pass of a plan, its price first, and going back, over JSON; If-Match keeps two people from writing over each other.

Every answer has the version of the week as its ETag. A move without If-Match is answered 428, one by an old version 412.
"""

from typing import Any, ClassVar

from django.urls import path
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer

from farmops.core import clock
from farmops.core.api import fields
from farmops.core.api.serializers import Shape
from farmops.desk import moving
from farmops.farms.api.access import FarmItem
from farmops.farms.api.related import ById
from farmops.farms.models import Farm
from scheduling.api.shapes import NothingShape, WholePlanShape
from scheduling.models import FieldPass, WeekPlan
from scheduling.selectors.horizon import Horizon
from scheduling.selectors.versions import week_version
from scheduling.services.moving import Priced
from scheduling.solver.plan import PlacedTask

IF_MATCH = OpenApiParameter(
    "If-Match",
    OpenApiTypes.STR,
    OpenApiParameter.HEADER,
    required=True,
    description="the ETag of the answer that the change goes by",
)


class MoveShape(Shape):
    """Which pass, with which of the plan's outfits for it, and when."""

    field_pass = ById(FieldPass)
    outfit = fields.Text(max_length=120)
    starts_at = fields.Instant()


class GivesWayShape(Shape):
    """A task that gives way: where it was and where it would be; null where it is left."""

    task_key = fields.Text(read_only=True)
    was_outfit = fields.Text(read_only=True, allow_null=True)
    was_at = fields.Instant(read_only=True, allow_null=True)
    outfit = fields.Text(read_only=True, allow_null=True)
    starts_at = fields.Instant(read_only=True, allow_null=True)


class MovePriceShape(Shape):
    """What a move costs: the plan before, the plan with it, and the difference."""

    task_key = fields.Text(read_only=True)
    more_usd = fields.Dollars(source="more_cents", read_only=True)
    before_usd = fields.Dollars(source="before_cents", read_only=True)
    after_usd = fields.Dollars(source="after_cents", read_only=True)
    shifts = GivesWayShape(many=True, read_only=True)


class _OfPlan(FarmItem):
    """Something done to one week plan."""

    http_method_names = ["post"]
    queryset = WeekPlan.objects.select_related("farm", "against")
    known_by: ClassVar[dict[str, str]] = {"number": "number"}

    def with_version(self, answer: Response) -> Response:
        answer["ETag"] = moving.entity_tag(week_version(farm=Farm.objects.get(pk=self.farm.pk)))
        return answer

    def seen(self, request: Request) -> str:
        return moving.version_of(request.headers.get("If-Match", ""))


class PriceOfMove(_OfPlan):
    """What moving a pass would cost and what would give way; nothing is stored."""

    takes = MoveShape
    shows: ClassVar[type[BaseSerializer]] = MovePriceShape

    def post(self, request: Request, **kwargs: Any) -> Response:
        plan = self.row()
        priced = moving.price_move(plan=plan, now=clock.now(), **self.taken())
        return self.with_version(self.shown(_told(priced)))


class MovePass(_OfPlan):
    """Move a pass: it is held there, in a new plan that counts only when it is sent."""

    takes = MoveShape
    shows: ClassVar[type[BaseSerializer]] = WholePlanShape
    answers: ClassVar[dict[str, list[int]]] = {"POST": [201]}

    @extend_schema(parameters=[IF_MATCH], responses={201: WholePlanShape})
    def post(self, request: Request, **kwargs: Any) -> Response:
        plan, now, taken = self.row(), clock.now(), self.taken()
        seen = moving.told_version(farm=self.farm, seen=self.seen(request))
        priced = moving.price_move(plan=plan, now=now, **taken)
        kept = moving.keep_move(priced=priced, seen=seen, made_by=self.user, now=now)
        return self.with_version(self.shown(kept, status=201))


class UndoMove(_OfPlan):
    """Go back to the plan before a move, with a number of its own."""

    takes = NothingShape
    shows: ClassVar[type[BaseSerializer]] = WholePlanShape
    answers: ClassVar[dict[str, list[int]]] = {"POST": [201]}

    @extend_schema(parameters=[IF_MATCH], responses={201: WholePlanShape})
    def post(self, request: Request, **kwargs: Any) -> Response:
        plan = self.row()
        self.taken()
        back = moving.undo_move(plan=plan, seen=self.seen(request), made_by=self.user, now=clock.now())
        return self.with_version(self.shown(back, status=201))


def _told(priced: Priced) -> dict[str, Any]:
    plan = priced.base
    horizon = Horizon(plan.starts_at, plan.farm.zone, plan.days)

    def place(placed: PlacedTask | None) -> tuple[Any, Any]:
        return (None, None) if placed is None else (placed.mode, horizon.at(placed.start))

    shifts = []
    for one in priced.shifts:
        (was_outfit, was_at), (outfit, starts_at) = place(one.old), place(one.new)
        shifts.append(
            {
                "task_key": one.task,
                "was_outfit": was_outfit,
                "was_at": was_at,
                "outfit": outfit,
                "starts_at": starts_at,
            }
        )
    return {
        "task_key": priced.task,
        "more_cents": priced.more_cents,
        "before_cents": priced.cost_before_cents,
        "after_cents": priced.plan.cost,
        "shifts": shifts,
    }


urlpatterns = [
    path("<slug:farm_code>/plans/<int:number>/move/price/", PriceOfMove.as_view()),
    path("<slug:farm_code>/plans/<int:number>/move/", MovePass.as_view()),
    path("<slug:farm_code>/plans/<int:number>/undo-move/", UndoMove.as_view()),
]
