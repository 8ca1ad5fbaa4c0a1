"""Addresses of what is entered from paper: bills, their payment, and opening stock."""

from typing import Any, ClassVar

from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer

from farmops.core import clock
from farmops.core.api.queries import DayFilter, FilterSet, TextFilter
from farmops.farms.api.access import OFFICE, FarmItem, FarmList, FarmView
from ledger.api import bill_shapes
from ledger.models import Bill, OpeningStock
from ledger.services.bills import enter_bill, pay_bill
from ledger.services.opening import enter_opening_stock


class BillFilter(FilterSet):
    """Bills of a payee, a category, some days."""

    payee = TextFilter(field_name="payee__name")
    category = TextFilter()
    first = DayFilter(field_name="bill_on", lookup_expr="gte")
    last = DayFilter(field_name="bill_on", lookup_expr="lte")


class BillFacts(FarmView):
    """Bills."""

    queryset = Bill.objects.select_related(
        "payee", "machine", "implement", "pump", "entity", "season", "incident", "payment"
    ).prefetch_related("items__machine")
    shows = bill_shapes.BillShape
    takes: ClassVar[type[BaseSerializer] | None] = bill_shapes.NewBillShape
    writers = OFFICE
    answers: ClassVar[dict[str, list[int]]] = {"POST": [200, 201]}


class BillList(BillFacts, FarmList):
    """What suppliers ask."""

    filterset_class = BillFilter

    def post(self, request: Request, **kwargs: Any) -> Response:
        return self.kept(*enter_bill(farm=self.farm, entered_by=self.user, now=clock.now(), **self.taken()))


class BillItem(BillFacts, FarmItem):
    """One bill."""


class BillPaid(BillFacts, FarmItem):
    """Say that a bill was paid, whole."""

    http_method_names = ["post"]
    takes = bill_shapes.PaymentShape

    def post(self, request: Request, **kwargs: Any) -> Response:
        bill = self.row()
        _payment, is_new = pay_bill(bill=bill, entered_by=self.user, now=clock.now(), **self.taken())
        return self.kept(self.row(), is_new)


class OpeningFilter(FilterSet):
    """Opening stock of an item."""

    item = TextFilter()


class OpeningFacts(FarmView):
    """Opening stock."""

    queryset = OpeningStock.objects.select_related("supersedes")
    shows = bill_shapes.OpeningShape
    takes = bill_shapes.NewOpeningShape
    writers = OFFICE
    answers: ClassVar[dict[str, list[int]]] = {"POST": [200, 201]}


class OpeningList(OpeningFacts, FarmList):
    """What was in stock when the books began."""

    filterset_class = OpeningFilter

    def post(self, request: Request, **kwargs: Any) -> Response:
        entered = enter_opening_stock(farm=self.farm, entered_by=self.user, now=clock.now(), **self.taken())
        return self.kept(*entered)


class OpeningItem(OpeningFacts, FarmItem):
    """What was in stock of one item."""
