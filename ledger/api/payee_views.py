"""Addresses of whom a farm pays, in whose name, and for what: payees, entities and categories."""

from typing import Any, ClassVar

from django import forms
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from farmops.core.api.queries import FilterSet, TextFilter, WholeBox
from farmops.farms.api.access import OFFICE, FarmList, FarmView
from ledger.api import bill_shapes
from ledger.models import Entity, Payee
from ledger.selectors.categories import category_book
from ledger.selectors.payees import payee_years
from ledger.services.categories import add_category
from ledger.services.entities import add_entity
from ledger.services.payees import set_payee


class PayeeFilter(FilterSet):
    """Payees of a name."""

    name = TextFilter()


class PayeeList(FarmList):
    """Those a farm pays; what is known of one is told anew whole."""

    queryset = Payee.objects.all()
    shows = bill_shapes.PayeeShape
    takes = bill_shapes.NewPayeeShape
    writers = OFFICE
    answers: ClassVar[dict[str, list[int]]] = {"POST": [200, 201]}
    filterset_class = PayeeFilter

    def post(self, request: Request, **kwargs: Any) -> Response:
        return self.kept(*set_payee(farm=self.farm, **self.taken()))


class YearQuery(forms.Form):
    """Which calendar year."""

    year = WholeBox(least=1990, most=2100)


class PayeeYears(FarmView):
    """What each payee was paid in a calendar year."""

    shows = bill_shapes.PayeeYearShape
    pagination_class = None
    filter_backends = []
    asks = YearQuery

    @extend_schema(responses=bill_shapes.PayeeYearShape(many=True))
    def get(self, request: Request, **kwargs: Any) -> Response:
        rows = payee_years(farm=self.farm, year=self.asked()["year"])
        return Response(bill_shapes.PayeeYearShape(rows, many=True).data)


class EntityList(FarmList):
    """Companies and persons in whose name bills are."""

    queryset = Entity.objects.all()
    shows = bill_shapes.EntityShape
    takes = bill_shapes.EntityShape
    writers = OFFICE
    answers: ClassVar[dict[str, list[int]]] = {"POST": [200, 201]}

    def post(self, request: Request, **kwargs: Any) -> Response:
        return self.kept(*add_entity(farm=self.farm, **self.taken()))


class CategoryList(FarmView):
    """Categories that ship, then those of the farm's own."""

    shows = bill_shapes.CategoryShape
    takes = bill_shapes.NewCategoryShape
    writers = OFFICE
    answers: ClassVar[dict[str, list[int]]] = {"POST": [200, 201]}
    pagination_class = None
    filter_backends = []

    @extend_schema(responses=bill_shapes.CategoryShape(many=True))
    def get(self, request: Request, **kwargs: Any) -> Response:
        rows = list(category_book(farm=self.farm).values())
        return Response(bill_shapes.CategoryShape(rows, many=True).data)

    def post(self, request: Request, **kwargs: Any) -> Response:
        row, is_new = add_category(farm=self.farm, **self.taken())
        return self.kept(category_book(farm=self.farm)[row.code], is_new)
