"""Addresses of pools, of share-outs, and of owning machines through a year."""

from typing import Any, ClassVar

from django import forms
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from farmops.core import clock
from farmops.core.api.queries import DayBox, DayFilter, FilterSet, TextFilter, WholeBox, WholeFilter
from farmops.farms.api.access import OFFICE, FarmItem, FarmList, FarmView
from ledger.api import share_out_shapes
from ledger.models import ShareOut
from ledger.selectors.fixed_costs import fixed_costs
from ledger.selectors.pools import pool_balances, pool_named
from ledger.services.machine_years import book_machine_years
from ledger.services.share_outs import share_out_pool


class PoolsQuery(forms.Form):
    """Through which day."""

    through = DayBox()


class Pools(FarmView):
    """What each pool holds through a day."""

    shows = share_out_shapes.PoolShape
    pagination_class = None
    filter_backends = []
    asks = PoolsQuery

    @extend_schema(responses=share_out_shapes.PoolShape(many=True))
    def get(self, request: Request, **kwargs: Any) -> Response:
        rows = pool_balances(farm=self.farm, through=self.asked()["through"])
        return Response(share_out_shapes.PoolShape(rows, many=True).data)


class ShareOutFilter(FilterSet):
    """Share-outs of a crop year, by what, some days."""

    shared_by = TextFilter()
    crop_year = WholeFilter()
    first = DayFilter(field_name="last_on", lookup_expr="gte")
    last = DayFilter(field_name="last_on", lookup_expr="lte")


class ShareOutFacts(FarmView):
    """Share-outs."""

    queryset = ShareOut.objects.select_related("machine", "implement", "pump", "landlord").prefetch_related(
        "parts__season", "entries__reversed_by"
    )
    shows = share_out_shapes.ShareOutShape
    takes = share_out_shapes.NewShareOutShape
    writers = OFFICE
    answers: ClassVar[dict[str, list[int]]] = {"POST": [200, 201]}


class ShareOutList(ShareOutFacts, FarmList):
    """Pools that were shared out, with what each season got."""

    filterset_class = ShareOutFilter

    def post(self, request: Request, **kwargs: Any) -> Response:
        taken = self.taken()
        pool = pool_named(farm=self.farm, key=taken.pop("pool"))
        outcome = share_out_pool(farm=self.farm, pool=pool, made_by=self.user, now=clock.now(), **taken)
        assert outcome.share_out is not None  # it is booked, not tried
        return self.kept(self.one(pk=outcome.share_out.pk), outcome.is_new)


class ShareOutItem(ShareOutFacts, FarmItem):
    """One share-out."""


class YearQuery(forms.Form):
    """Which calendar year."""

    year = WholeBox(least=1990, most=2100)


class MachineYears(FarmView):
    """What owning each machine takes in a year; a year that is over is booked into the pools, once."""

    shows = share_out_shapes.MachineYearShape
    takes = share_out_shapes.NewMachineYearShape
    writers = OFFICE
    pagination_class = None
    filter_backends = []
    asks = YearQuery
    answers: ClassVar[dict[str, list[int]]] = {"POST": [200]}

    @extend_schema(responses=share_out_shapes.MachineYearShape(many=True))
    def get(self, request: Request, **kwargs: Any) -> Response:
        return self._told(self.asked()["year"])

    @extend_schema(responses=share_out_shapes.MachineYearShape(many=True))
    def post(self, request: Request, **kwargs: Any) -> Response:
        year = self.taken()["year"]
        book_machine_years(farm=self.farm, year=year, made_by=self.user, now=clock.now())
        return self._told(year)

    def _told(self, year: int) -> Response:
        rows = fixed_costs(farm=self.farm, year=year)
        return Response(share_out_shapes.MachineYearShape(rows, many=True).data)
