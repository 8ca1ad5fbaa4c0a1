"""Long work over JSON: what is under way and how it ended, calling it off, and planning that nobody has to wait for."""

from typing import Any, ClassVar

from django.db.models import QuerySet
from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from farmops.core import clock
from farmops.core.api import fields
from farmops.core.api.serializers import Shape
from farmops.core.long_work import call_off
from farmops.core.models import LongWork, LongWorkState
from farmops.desk.long_exports import OFFICE_KINDS
from farmops.desk.long_work import begin_plan
from farmops.farms.api.access import MANAGERS, OFFICE, FarmItem, FarmList, FarmView
from scheduling.api.shapes import NothingShape
from scheduling.api.views import TOO_FAR, is_near

MOST_SECONDS = 120


class LongWorkShape(Shape):
    """A long work: how far it is, how it ended, and what came of it."""

    id = fields.Whole(read_only=True)
    kind = fields.Text(read_only=True)
    state = fields.Word(choices=LongWorkState.choices, read_only=True)
    done = fields.Whole(read_only=True)
    of = fields.Whole(read_only=True, help_text="0 while nobody knows")
    words = fields.Text(read_only=True, help_text="what is being done")
    asked = fields.Document(read_only=True)
    asked_at = fields.Instant(read_only=True)
    began_at = fields.Instant(read_only=True, allow_null=True)
    call_off_at = fields.Instant(read_only=True, allow_null=True)
    ended_at = fields.Instant(read_only=True, allow_null=True, help_text="null until it has ended")
    code = fields.Text(read_only=True, help_text="of the error that refused it; empty where none did")
    says = fields.Text(read_only=True, help_text="why it was refused")
    result = fields.Document(read_only=True, help_text="by its kind; of a plan its number")
    file_name = fields.Text(read_only=True)
    file_bytes = fields.Whole(read_only=True, allow_null=True, help_text="null where no file is kept")


class PlanLaterShape(Shape):
    """From which day on to plan, and how long to search."""

    first_on = fields.Day(help_text="first day on the farm's clock")
    seconds = fields.Whole(min_value=1, max_value=MOST_SECONDS, default=10)


class _Rows(FarmView):
    queryset = LongWork.objects.all()
    shows = LongWorkShape
    readers = OFFICE
    writers = OFFICE

    def rows(self) -> QuerySet:
        rows = self.every_row().filter(farm=self.farm)
        return rows if self.roles & MANAGERS else rows.filter(kind__in=OFFICE_KINDS)


class LongWorkList(_Rows, FarmList):
    """Long work of the last 30 days, the newest first. Those who keep the books see that of the books."""

    order = ("-id",)


class OneLongWork(_Rows, FarmItem):
    """One long work."""

    http_method_names = ["get", "head"]


class CallOff(_Rows, FarmItem):
    """Call a long work off: at once where it waits, else at its next step. What has ended stays as it ended."""

    http_method_names = ["post"]
    takes = NothingShape

    def post(self, request: Request, **kwargs: Any) -> Response:
        work = self.row()
        self.taken()
        return self.shown(call_off(work=work, by=self.user, now=clock.now()))


class BeginPlan(FarmView):
    """Have seven days planned anew, what was sent held on to where it can be; asked twice it is planned once."""

    http_method_names = ["post"]
    takes = PlanLaterShape
    shows = LongWorkShape
    answers: ClassVar[dict[str, list[int]]] = {"POST": [202]}

    @extend_schema(responses={202: LongWorkShape})
    def post(self, request: Request, **kwargs: Any) -> Response:
        taken, now = self.taken(), clock.now()
        if not is_near(taken["first_on"], clock.local_date(now, self.farm.zone)):
            raise ValidationError({"first_on": [TOO_FAR]})
        work = begin_plan(
            farm=self.farm,
            first_on=taken["first_on"],
            seconds=taken["seconds"],
            asked_by=self.user,
            now=now,
        )
        return self.shown(work, status=202)


urlpatterns = [
    path("<slug:farm_code>/long-work/", LongWorkList.as_view()),
    path("<slug:farm_code>/long-work/<int:pk>/", OneLongWork.as_view()),
    path("<slug:farm_code>/long-work/<int:pk>/call-off/", CallOff.as_view()),
    path("<slug:farm_code>/plans/begin/", BeginPlan.as_view()),
]
