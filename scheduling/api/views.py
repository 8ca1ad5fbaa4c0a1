"""Addresses of passes, windows, plans and a hand's day."""

import datetime as dt
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer

from farmops.core import clock
from farmops.core.api.queries import DayBox, FilterSet, TextBox, TextFilter, WholeBox, WholeFilter
from farmops.core.problems import BadQuery
from farmops.farms.api.access import EVERYBODY, FarmItem, FarmList, FarmView
from farmops.farms.models import Hand
from scheduling.api import record_shapes, shapes
from scheduling.models import FieldPass, WeekPlan
from scheduling.selectors.passes import open_passes
from scheduling.selectors.plans import tasks_of_hand
from scheduling.selectors.windows import pass_windows
from scheduling.services import work

MOST_DAYS_AWAY = 366
TOO_FAR = f"Lies more than {MOST_DAYS_AWAY} days from the last day whose weather is known."


def is_near(day: dt.date, as_of: dt.date) -> bool:
    """Tell whether working out the ground of a day from that of another is worth anybody's time."""
    return abs((day - as_of).days) <= MOST_DAYS_AWAY


class PassFilter(FilterSet):
    """Passes of a state, a field, a season, a kind of work."""

    state = TextFilter()
    field = TextFilter(field_name="season__field__code")
    season = WholeFilter(field_name="season_id")
    operation = TextFilter()


class PassFacts(FarmView):
    """Passes; a hand is shown no prices."""

    queryset = FieldPass.objects.select_related("season__field")
    readers = EVERYBODY
    shows = shapes.PricedPassShape

    def get_serializer_class(self) -> type[BaseSerializer]:
        is_hand = hasattr(self, "roles") and not self.is_office
        return shapes.PassShape if is_hand else shapes.PricedPassShape


class PassList(PassFacts, FarmList):
    """Passes: one operation on one season's ground."""

    filterset_class = PassFilter


class PassItem(PassFacts, FarmItem):
    """One pass."""


class CallOff(FarmItem):
    """Call a pass off: it leaves the plans."""

    http_method_names = ["post"]
    queryset = FieldPass.objects.select_related("season__field")
    takes = shapes.WhyShape
    shows = shapes.PricedPassShape

    def post(self, request: Request, **kwargs: Any) -> Response:
        return self.shown(work.call_off(field_pass=self.row(), now=clock.now(), **self.taken()))


class TakeUpAgain(FarmItem):
    """Let a pass that was called off wait for a plan again."""

    http_method_names = ["post"]
    queryset = FieldPass.objects.select_related("season__field")
    takes = shapes.NothingShape
    shows = shapes.PricedPassShape

    def post(self, request: Request, **kwargs: Any) -> Response:
        field_pass = self.row()
        self.taken()
        return self.shown(work.take_up_again(field_pass=field_pass))


WindowsQuery = type(
    "WindowsQuery",
    (forms.Form,),
    {
        "from": DayBox(help_text="first day on the farm's clock"),
        "days": WholeBox(least=1, most=21, required=False, help_text="7 if left out"),
        "as_of": DayBox(
            required=False, help_text="last day whose weather is known; the farm's today if left out"
        ),
    },
)


class WindowsView(FarmView):
    """The windows of every open pass, and the ground behind them."""

    shows = record_shapes.WindowsShape
    asks = WindowsQuery

    def get(self, request: Request, **kwargs: Any) -> Response:
        asked = self.asked()
        as_of = asked["as_of"] or clock.local_date(clock.now(), self.farm.zone)
        if not is_near(asked["from"], as_of):
            raise BadQuery({"from": TOO_FAR})
        starts_at = dt.datetime.combine(asked["from"], dt.time(), ZoneInfo(self.farm.zone))
        report = pass_windows(
            farm=self.farm,
            passes=list(open_passes(farm=self.farm)),
            starts_at=starts_at,
            days=asked["days"] or 7,
            as_of=as_of,
        )
        return Response(report.to_json())


class PlanFilter(FilterSet):
    """Plans of a state."""

    state = TextFilter()


class PlanList(FarmList):
    """Week plans, the newest first."""

    queryset = WeekPlan.objects.select_related("farm", "against")
    shows = shapes.PlanShape
    filterset_class = PlanFilter
    order = ("-number",)


class PlanItem(FarmItem):
    """One week plan with its tasks, and what it leaves and why."""

    queryset = WeekPlan.objects.select_related("farm", "against")
    shows = shapes.WholePlanShape
    known_by = {"number": "number"}


class SlipsQuery(forms.Form):
    """Whose day."""

    on = DayBox(help_text="day on the farm's clock")
    hand = TextBox(required=False, help_text="code of the hand; yourself if left out")


class JobSlips(FarmView):
    """What the sent plan has one hand do on a day."""

    readers = EVERYBODY
    shows = shapes.TaskShape
    pagination_class = None
    filter_backends = []
    asks = SlipsQuery

    @extend_schema(responses=shapes.TaskShape(many=True))
    def get(self, request: Request, **kwargs: Any) -> Response:
        asked = self.asked()
        named = self._named(asked["hand"])
        if named is None and self.hand is None:
            raise BadQuery({"hand": "You are no hand of this farm; name the hand."})
        hand = self.own_hand(named)
        slips = tasks_of_hand(farm=self.farm, hand=hand, day=asked["on"])
        return Response(shapes.TaskShape(slips, many=True, context=self.get_serializer_context()).data)

    def _named(self, code: str) -> Hand | None:
        if not code:
            return None
        hand: QuerySet[Hand] = Hand.objects.filter(farm=self.farm, code=code)
        found = hand.first()
        if found is None:
            raise BadQuery({"hand": "This farm has no such hand."})
        return found
