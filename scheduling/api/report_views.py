"""Addresses of reports from the field and their photos: sent once or many times, stored once, and never refused for hours."""

from typing import Any, ClassVar

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from rest_framework.authentication import TokenAuthentication
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from farmops.core import clock
from farmops.core.api.parsing import StrictJSONParser
from farmops.core.api.queries import FilterSet, TextFilter
from farmops.core.api.same_origin import SameOriginSession
from farmops.core.models import Language
from farmops.farms.api.access import EVERYBODY, FarmItem, FarmList, FarmView
from scheduling.api import report_shapes as shapes
from scheduling.api.record_views import REPORTERS
from scheduling.models import FieldReport, ReportPhoto
from scheduling.selectors.reports import reports_of
from scheduling.services.photos import MOST_BYTES, TOO_BIG, PhotoTooBig, keep_photo
from scheduling.services.receiving import receive_report
from scheduling.services.report_body import BodyUnreadable

STATUS = {"kept": 201, "again": 200, "parked": 202}
MOST_REQUEST = MOST_BYTES + 64 * 1024


class ReportFilter(FilterSet):
    """Reports of a kind, a hand."""

    kind = TextFilter()
    hand = TextFilter(field_name="hand__code")


class FromTheField(FarmView):
    """What a queue in a telephone sends, days later if need be."""

    authentication_classes = [TokenAuthentication, SameOriginSession]
    readers = EVERYBODY
    writers = REPORTERS

    def own_reports(self) -> QuerySet[FieldReport]:
        """Return the reports that the user may see: a hand his or her own, the office all."""
        rows = reports_of(farm=self.farm)
        return rows if self.is_office else rows.filter(hand=self.hand)


class ReportFacts(FromTheField):
    """Reports; a hand sees his or her own."""

    queryset = FieldReport.objects.select_related("hand", "parked").prefetch_related("photos")
    shows = shapes.ReportShown
    answers: ClassVar[dict[str, list[int]]] = {"POST": [200, 201, 202]}

    def rows(self) -> QuerySet:
        return self.own_reports()


class ReportList(ReportFacts, FarmList):
    """Reports. 201: kept; 200: kept before; 202: kept for the manager to look at; 422: cannot be read, not kept."""

    takes = shapes.ReportTaken
    filterset_class = ReportFilter

    def post(self, request: Request, **kwargs: Any) -> Response:
        taken = self.taken()
        hand = self.own_hand(taken.pop("hand", None))
        try:
            received = receive_report(farm=self.farm, hand=hand, sent_by=self.user, now=clock.now(), **taken)
        except BodyUnreadable as error:
            raise error.within("body") from error
        context = {**self.get_serializer_context(), "says": received.says}
        answer = Response(self.shows(received.report, context=context).data, status=STATUS[received.state])
        if received.state == "again":
            answer["Idempotency-Replayed"] = "true"
        return answer


class ReportItem(ReportFacts, FarmItem):
    """The receipt of one report, for a sender that lost the answer."""

    known_by: ClassVar[dict[str, str]] = {"client_id": "client_id"}


class ReportPhotos(FromTheField):
    """Photos of a report, drawn anew. 413: too large; 415: no photo that is taken; 422: broken, or a fifth one."""

    queryset = ReportPhoto.objects.select_related("report")
    parser_classes = [MultiPartParser, StrictJSONParser]
    takes = shapes.PhotoTaken
    shows = shapes.PhotoShown
    answers: ClassVar[dict[str, list[int]]] = {"POST": [200, 201]}

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        if _length(request) > MOST_REQUEST:  # said before a byte of it is read
            raise PhotoTooBig(TOO_BIG, Language.ENGLISH)
        super().initial(request, *args, **kwargs)

    def post(self, request: Request, **kwargs: Any) -> Response:
        report = get_object_or_404(self.own_reports(), client_id=self.kwargs["client_id"])
        taken = self.taken()
        photo, is_new = keep_photo(
            report=report, client_id=taken["client_id"], content=shapes.photo_of(taken), now=clock.now()
        )
        return self.kept(photo, is_new)


def _length(request: Request) -> int:
    text = str(request.META.get("CONTENT_LENGTH") or "0")
    return int(text) if text.isascii() and text.isdecimal() else 0
