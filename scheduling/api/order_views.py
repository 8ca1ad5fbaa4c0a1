"""Orders of work over JSON: read, kept, changed by version, looked at on seasons, laid out, taken back.

An order's ETag names its version and a preview's what it would do: a change goes by the one, laying out by the other.
Without If-Match both are answered 428, with an old one 412.
"""

from typing import Any, ClassVar

from django.db.models import F, Prefetch
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from farmops.core import clock
from farmops.core.api.queries import FilterSet, TextFilter
from farmops.core.problems import DomainError, Kind
from farmops.farms.api.access import FarmItem, FarmList, FarmView
from scheduling.api import order_shapes as shapes
from scheduling.api.shapes import NothingShape
from scheduling.models import OrderLaidField, OrderLaying, OrderOfWork, OrderVersion
from scheduling.orders.checks import planting_window
from scheduling.selectors.orders import kept
from scheduling.services.order_files import order_document, starting_orders
from scheduling.services.order_keeping import OrderChanged, add_order, change_order
from scheduling.services.order_laying import lay_order, take_back
from scheduling.services.order_preview import preview_order

IF_MATCH = OpenApiParameter(
    "If-Match",
    OpenApiTypes.STR,
    OpenApiParameter.HEADER,
    required=True,
    description="the ETag of the answer that this goes by",
)


class OrderNotSeen(DomainError):
    """An order of work is to be changed or laid out without the version that this goes by."""

    code = "order_not_seen"
    kind = Kind.UNSEEN


def seen_in(request: Request) -> str:
    """Return the one entity tag of If-Match (RFC 9110, 13.1.1). Raises OrderNotSeen where there is none, or several."""
    text = request.headers.get("If-Match", "").strip()
    if len(text) < 3 or text[0] != '"' or text[-1] != '"' or text.count('"') != 2:
        raise OrderNotSeen(
            "Say in If-Match by which ETag this goes: that of the order, or that of the preview."
        )
    return text[1:-1]


class StartingOrders(FarmView):
    """Orders of work that ship, to be sent as new ones of the farm."""

    shows = shapes.StartingOrderShape
    pagination_class = None
    filter_backends = []

    @extend_schema(responses=shapes.StartingOrderShape(many=True))
    def get(self, request: Request, **kwargs: Any) -> Response:
        rows = [
            {"key": key, **{name: value for name, value in order_document(one).items() if name != "format"}}
            for key, one in starting_orders().items()
        ]
        return Response([_texts(row) for row in rows])


def _texts(row: dict[str, Any]) -> dict[str, Any]:
    """Return a document with its decimals as texts, as this interface writes and takes them."""
    exact = ("depth_in", "custom_ac_per_h", "reentry_h", "late_usd_per_ac_day", "leave_usd_per_ac")
    steps = [
        {name: str(value) if name in exact else value for name, value in step.items()}
        for step in row["steps"]
    ]
    return {**row, "steps": steps}


class OrderFilter(FilterSet):
    """Orders of a crop, of a tillage."""

    crop = TextFilter()
    tillage = TextFilter()


class OrderFacts(FarmView):
    """Orders of work by their newest version."""

    queryset = OrderVersion.objects.filter(number=F("order__newest_no")).select_related("order")
    shows = shapes.OrderShape


class OrderList(OrderFacts, FarmList):
    """Orders of work of the farm, each as its newest version says, and a new one."""

    takes = shapes.NewOrderShape
    filterset_class = OrderFilter
    answers: ClassVar[dict[str, list[int]]] = {"POST": [201]}

    @extend_schema(responses={201: shapes.OrderShape})
    def post(self, request: Request, **kwargs: Any) -> Response:
        body = self.taken()
        code = body.pop("code")
        made = add_order(
            farm=self.farm, code=code, order=shapes.order_from(body), made_by=self.user, now=clock.now()
        )
        return _tagged(self.shown(made.version, status=201), made.seen)


class OrderItem(OrderFacts, FarmItem):
    """One order of work as its newest version says."""

    known_by: ClassVar[dict[str, str]] = {"code": "order__code"}

    def get(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        version = self.row()
        return _tagged(self.shown(version), kept(version.order).seen)


class _OfOrder(FarmItem):
    """Something of one order of work."""

    queryset = OrderOfWork.objects.select_related("farm")
    known_by: ClassVar[dict[str, str]] = {"code": "code"}


class OrderVersions(FarmList):
    """The versions of one order of work, and the next one."""

    queryset = OrderVersion.objects.select_related("order")
    shows = shapes.OrderShape
    takes = shapes.OrderBodyShape
    answers: ClassVar[dict[str, list[int]]] = {"POST": [201]}
    order = ("-number",)

    def rows(self) -> Any:
        return super().rows().filter(order__code=self.kwargs["code"])

    @extend_schema(parameters=[IF_MATCH], responses={201: shapes.OrderShape})
    def post(self, request: Request, **kwargs: Any) -> Response:
        row = self.one(number=F("order__newest_no")).order
        body, seen, before = self.taken(), seen_in(request), kept(row)
        if seen != before.seen:
            raise OrderChanged("Somebody changed this order of work meanwhile: look at it as it is now.")
        made = change_order(
            row=row,
            order=shapes.order_from(body),
            seen=before.version.number,
            made_by=self.user,
            now=clock.now(),
        )
        return _tagged(self.shown(made.version, status=201), made.seen)


class PreviewOrder(_OfOrder):
    """What an order would lay out on seasons, and why it does not fit one. Nothing is written."""

    http_method_names = ["post"]
    takes = shapes.PlacesShape
    shows = shapes.PreviewShape

    def post(self, request: Request, **kwargs: Any) -> Response:
        asked = kept(self.row())
        windows = shapes.windows_from(
            self.taken()["seasons"], lambda year: planting_window(asked.order, year)
        )
        today = clock.local_date(clock.now(), self.farm.zone)
        preview = preview_order(farm=self.farm, kept=asked, windows=windows, today=today)
        return _tagged(self.shown(preview), preview.seen)


class LayOrder(_OfOrder):
    """Lay an order out on seasons as its preview had it, all or none."""

    http_method_names = ["post"]
    takes = shapes.LayShape
    shows = shapes.LayingShape
    answers: ClassVar[dict[str, list[int]]] = {"POST": [200, 201]}

    @extend_schema(parameters=[IF_MATCH], responses={200: shapes.LayingShape, 201: shapes.LayingShape})
    def post(self, request: Request, **kwargs: Any) -> Response:
        row, body, now = self.row(), self.taken(), clock.now()
        order = kept(row).order
        laid = lay_order(
            row=row,
            windows=shapes.windows_from(body["seasons"], lambda year: planting_window(order, year)),
            seen=seen_in(request),
            client_id=body["client_id"],
            laid_by=self.user,
            now=now,
            today=clock.local_date(now, self.farm.zone),
        )
        return self.kept(laid.laying, laid.is_new)


LAYINGS = OrderLaying.objects.select_related("version__order", "taken_back").prefetch_related(
    Prefetch("fields", OrderLaidField.objects.order_by("id"))
)


class LayingList(FarmList):
    """The times that orders were laid out, the newest first."""

    queryset = LAYINGS
    shows = shapes.LayingShape
    order = ("-id",)


class LayingItem(FarmItem):
    """One time that an order was laid out."""

    queryset = LAYINGS
    shows = shapes.LayingShape


class TakeBackLaying(FarmItem):
    """Take a laying back while nothing of it is sent, begun or done."""

    http_method_names = ["post"]
    queryset = OrderLaying.objects.select_related("version__order")
    takes = NothingShape
    shows = shapes.LayingShape

    def post(self, request: Request, **kwargs: Any) -> Response:
        laying = self.row()
        self.taken()
        take_back(laying=laying, taken_back_by=self.user, now=clock.now())
        return self.shown(LAYINGS.get(pk=laying.pk))


def _tagged(answer: Response, seen: str) -> Response:
    answer["ETag"] = f'"{seen}"'
    return answer
