"""Addresses of stocks: what is there of each item, and how a year counts what is used of it."""

from typing import Any, ClassVar

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from farmops.core import clock
from farmops.core.api import fields
from farmops.core.api.serializers import RowShape, Shape
from farmops.farms.api.access import OFFICE, FarmList, FarmView
from ledger.api.shapes import TenThousandths
from ledger.models import FuelBy, StockCost, YearChoice
from ledger.selectors.stock import stock_on_hand
from ledger.services.books import choose_year


class YearChoiceShape(RowShape):
    """How stocks and fuel are counted in a calendar year. A year without a row keeps the first of each."""

    class Meta:
        model = YearChoice
        fields = read_only_fields = ("calendar_year", "stock_cost", "fuel_by", "chosen_at")


class NewYearChoiceShape(Shape):
    """A choice for a calendar year; it is made once."""

    year = fields.Whole(min_value=1990, max_value=2199)
    stock_cost = fields.Word(choices=StockCost.choices)
    fuel_by = fields.Word(choices=FuelBy.choices)


class YearChoices(FarmList):
    """How a farm counts stocks and fuel, by year."""

    queryset = YearChoice.objects.all()
    shows = YearChoiceShape
    takes = NewYearChoiceShape
    writers = OFFICE
    answers: ClassVar[dict[str, list[int]]] = {"POST": [200, 201]}

    def post(self, request: Request, **kwargs: Any) -> Response:
        return self.kept(*choose_year(farm=self.farm, chosen_by=self.user, now=clock.now(), **self.taken()))


class LayerShape(Shape):
    """What is left of one purchase, and what that had cost."""

    lot = fields.Text()
    quantity = TenThousandths(source="held_e4")
    amount_usd = fields.Dollars(source="held_cents")


class OnHandShape(Shape):
    """What is in stock of one item, with its purchases, oldest first; `unmet` was used before any was booked."""

    account = fields.Text()
    item = fields.Text()
    unit = fields.Text()
    category = fields.Text()
    quantity = TenThousandths(source="stock.held_e4")
    amount_usd = fields.Dollars(source="stock.held_cents")
    unmet = TenThousandths(source="stock.unmet_e4")
    layers = serializers.ListField(child=LayerShape(), source="stock.layers")


class StockOnHand(FarmView):
    """What is in stock of each item that ever came in."""

    shows = OnHandShape
    pagination_class = None
    filter_backends = []

    @extend_schema(responses=OnHandShape(many=True))
    def get(self, request: Request, **kwargs: Any) -> Response:
        return Response(OnHandShape(stock_on_hand(farm=self.farm), many=True).data)
