"""What may be believed of each field's punctures, and whether a debris walk is worth it there, over JSON."""

from decimal import ROUND_HALF_EVEN, Decimal
from typing import Any

from django import forms
from django.shortcuts import get_object_or_404
from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from farmops.core import clock
from farmops.core.api import fields
from farmops.core.api.serializers import Shape
from farmops.desk.debris_worth import FieldWalk, field_walk, field_walks
from farmops.farms.api.access import FarmView
from farmops.farms.models import Field
from scheduling.debris.rates import FieldRate
from scheduling.debris.worth import Answer
from scheduling.selectors.passes import pass_key

RATE_STEP = Decimal("0.0001")


class PunctureRateShape(Shape):
    """Punctures per 1,000 acres: the likely rate, and between what it lies in eight of ten chances."""

    mean = fields.Exact(max_digits=12, decimal_places=4)
    low = fields.Exact(max_digits=12, decimal_places=4)
    high = fields.Exact(max_digits=12, decimal_places=4)


class WalkNumbersShape(Shape):
    """The numbers that a walk was weighed with."""

    found_share = fields.Exact(max_digits=6, decimal_places=3)
    swath_ft = fields.Exact(max_digits=5, decimal_places=1)
    walk_mph = fields.Exact(max_digits=4, decimal_places=1)
    wage_usd_per_h = fields.Dollars(source="wage_cents_per_h")
    puncture_usd = fields.Dollars(source="puncture_cents")
    lost_h = fields.Exact(max_digits=6, decimal_places=1)
    lost_usd_per_h = fields.Dollars(source="lost_cents_per_h")


class WorthShape(Shape):
    """A walk weighed: what the next pass is expected to cost in punctures, what a walk saves of it and costs itself."""

    answer = fields.Word(choices=[one.value for one in Answer])
    area_ac = fields.Exact(max_digits=9, decimal_places=2)
    passes = fields.Whole(help_text="the next one, and those that wait after it on the same ground")
    pass_usd = fields.Dollars(source="pass_cents")
    saved_next_usd = fields.Dollars(source="saved_next_cents")
    saved_all_usd = fields.Dollars(source="saved_all_cents")
    walk_usd = fields.Dollars(source="walk_cents")


class DebrisShape(Shape):
    """A field's punctures by debris, and the walk before its next pass."""

    field = fields.Text(source="debris.field.code")
    punctures = serializers.SerializerMethodField()
    by_stubs = fields.Whole(
        source="debris.by_stubs", help_text="punctures by stalk stubs, which are no debris"
    )
    covered_ac = fields.Exact(source="debris.covered_ac", max_digits=12, decimal_places=2)
    rate_per_1000_ac = PunctureRateShape(
        allow_null=True, help_text="as the walks of the season have left it; null: nothing was covered yet"
    )
    share_left = fields.Exact(
        max_digits=6, decimal_places=4, help_text="of the debris, after the walks of the season"
    )
    before = fields.Text(allow_null=True, help_text="the pass that a walk would come before")
    walk_id = fields.Whole(allow_null=True, help_text="the pass that is that walk, proposed or done")
    is_walked = fields.YesNo()
    numbers = WalkNumbersShape()
    worth = WorthShape(
        allow_null=True, help_text="null where nothing waits, nothing is known, or no wage is set"
    )

    def get_punctures(self, row: dict[str, Any]) -> int:
        return len(row["debris"].punctures)


class Debris(FarmView):
    """Fields with their punctures and walks."""

    shows = DebrisShape
    pagination_class = None
    filter_backends = []
    asks = forms.Form


class DebrisOfFarm(Debris):
    """Every field of the farm, in the order of their codes."""

    @extend_schema(responses=DebrisShape(many=True))
    def get(self, request: Request, **kwargs: Any) -> Response:
        _found, walks, _inputs = field_walks(farm=self.farm, now=clock.now())
        rows = [_row(one) for one in walks]
        return Response(DebrisShape(rows, many=True, context=self.get_serializer_context()).data)


class DebrisOfField(Debris):
    """One field."""

    def get(self, request: Request, code: str, **kwargs: Any) -> Response:
        field = get_object_or_404(Field, farm=self.farm, code=code)
        return self.shown(_row(field_walk(farm=self.farm, field=field, now=clock.now())))


def _row(one: FieldWalk) -> dict[str, Any]:
    return {
        "debris": one.debris,
        "rate_per_1000_ac": None if one.rate is None else _rate(one.rate),
        "share_left": _decimal(one.left),
        "before": None if one.before is None else pass_key(one.before),
        "walk_id": None if one.walk is None else one.walk.pk,
        "is_walked": one.is_walked,
        "numbers": one.inputs.walk,
        "worth": one.worth,
    }


def _rate(rate: FieldRate) -> dict[str, Decimal]:
    low, high = rate.ends
    return {"mean": _decimal(rate.mean), "low": _decimal(low), "high": _decimal(high)}


def _decimal(value: float) -> Decimal:
    return Decimal(str(value)).quantize(RATE_STEP, ROUND_HALF_EVEN)


urlpatterns = [
    path("<slug:farm_code>/debris/", DebrisOfFarm.as_view()),
    path("<slug:farm_code>/debris/<slug:code>/", DebrisOfField.as_view()),
]
