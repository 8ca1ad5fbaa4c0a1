"""Addresses of the books: rates are entered, entries and what they add up to are read."""

from typing import Any, ClassVar

from django import forms
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from farmops.core import clock
from farmops.core.api.queries import DayFilter, FilterSet, TextFilter, WholeBox, WholeFilter
from farmops.farms.api.access import OFFICE, FarmItem, FarmList, FarmView
from ledger.api import shapes
from ledger.models import Entry, Line, PostingWait, Rate
from ledger.selectors.costs import field_costs
from ledger.services.rates import set_rate


class RateFilter(FilterSet):
    """Rates of a kind."""

    kind = TextFilter()


class RateFacts(FarmView):
    """Rates."""

    queryset = Rate.objects.select_related("machine", "implement", "hand")
    shows = shapes.RateShape
    takes = shapes.NewRateShape
    writers = OFFICE
    answers: ClassVar[dict[str, list[int]]] = {"POST": [200, 201]}


class RateList(RateFacts, FarmList):
    """What things cost from a date on."""

    filterset_class = RateFilter

    def post(self, request: Request, **kwargs: Any) -> Response:
        return self.kept(*set_rate(farm=self.farm, entered_by=self.user, now=clock.now(), **self.taken()))


class RateItem(RateFacts, FarmItem):
    """One rate."""


class EntryFilter(FilterSet):
    """Entries of a kind of source, some days."""

    source_kind = TextFilter()
    first = DayFilter(field_name="happened_on", lookup_expr="gte")
    last = DayFilter(field_name="happened_on", lookup_expr="lte")


class EntryList(FarmList):
    """Entries in the order of their numbers."""

    queryset = Entry.objects.select_related("reverses")
    shows = shapes.EntryShape
    filterset_class = EntryFilter
    order = ("number",)


class EntryItem(FarmItem):
    """One entry with its lines."""

    queryset = Entry.objects.select_related("reverses").prefetch_related(
        "lines__entry", "lines__season__field", "lines__machine", "lines__implement"
    )
    shows = shapes.WholeEntryShape
    known_by = {"number": "number"}


class LineFilter(FilterSet):
    """Lines of an entry, an account, a category, a season, a field, a crop year."""

    entry = WholeFilter(field_name="entry__number")
    account = TextFilter()
    category = TextFilter()
    season = WholeFilter(field_name="season_id")
    field = TextFilter(field_name="season__field__code")
    crop_year = WholeFilter(field_name="season__crop_year")
    first = DayFilter(field_name="entry__happened_on", lookup_expr="gte")
    last = DayFilter(field_name="entry__happened_on", lookup_expr="lte")


class LineList(FarmList):
    """Lines of entries, in the order they were posted."""

    queryset = Line.objects.select_related("entry", "season__field", "machine", "implement")
    shows = shapes.LineShape
    filterset_class = LineFilter


class CostsQuery(forms.Form):
    """Which crop year."""

    crop_year = WholeBox(least=1990, most=2100)


class Costs(FarmView):
    """What each season of a crop year cost, by category."""

    shows = shapes.CostShape
    pagination_class = None
    filter_backends = []
    asks = CostsQuery

    @extend_schema(responses=shapes.CostShape(many=True))
    def get(self, request: Request, **kwargs: Any) -> Response:
        rows = field_costs(farm=self.farm, crop_year=self.asked()["crop_year"])
        return Response(shapes.CostShape(rows, many=True).data)


class WaitingList(FarmList):
    """What waits to be posted, and for what."""

    queryset = PostingWait.objects.all()
    shows = shapes.WaitShape
