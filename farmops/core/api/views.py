"""The base of every address: who asks, what may be asked, and how the answer is put."""

from collections.abc import Sequence
from typing import Any, ClassVar

from django import forms
from django.db.models import QuerySet
from rest_framework.generics import GenericAPIView
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer

from farmops.core.api import queries
from farmops.core.api.paging import Pages
from farmops.core.api.parsing import StrictJSONParser
from farmops.core.models import User


class ApiView(GenericAPIView):
    """An address: `shows` renders a row, `takes` reads a body, `asks` reads the query where it is no list."""

    http_method_names = ["get", "head", "post", "patch"]
    metadata_class = None
    parser_classes = [StrictJSONParser]
    pagination_class: type[Pages] | None = Pages
    filter_backends: Sequence[Any] = [queries.StrictFilterBackend]
    filterset_class: Any = None
    order: ClassVar[tuple[str, ...]] = ("id",)
    answers: ClassVar[dict[str, list[int]]] = {}
    shows: ClassVar[type[BaseSerializer]]
    takes: ClassVar[type[BaseSerializer] | None] = None
    asks: ClassVar[type[forms.Form] | None] = None

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        self.admit(request)
        queries.refuse_unknown(request.query_params, self.known_parameters(request.method or ""))

    def admit(self, request: Request) -> None:
        """Refuse who may not come here; addresses that belong to somebody say how."""

    def known_parameters(self, method: str) -> set[str]:
        """Return the names that may stand in the query of a method."""
        if method not in ("GET", "HEAD"):
            return set()
        names = set(self.asks.base_fields) if self.asks is not None else set()
        if isinstance(self, ListModelMixin):
            names |= {"cursor", "limit"}
            if self.filterset_class is not None:
                names |= set(self.filterset_class.base_filters)
        return names

    def get_serializer_class(self) -> type[BaseSerializer]:
        return self.shows

    def asked(self) -> dict[str, Any]:
        """Return the values of the query by the form of the address."""
        assert self.asks is not None
        return queries.asked(self.asks, self.request.query_params)

    def taken(self, *, partial: bool = False) -> dict[str, Any]:
        """Return the values of the body by the serializer of the address."""
        assert self.takes is not None
        body = self.takes(data=self.request.data, partial=partial, context=self.get_serializer_context())
        body.is_valid(raise_exception=True)
        return dict(body.validated_data)

    def shown(self, row: Any, *, status: int = 200) -> Response:
        """Return a row as an answer."""
        return Response(self.get_serializer(row).data, status=status)

    def kept(self, row: Any, is_new: bool) -> Response:
        """Return what was sent in: 201 the first time, 200 for a repeat of the same."""
        return self.shown(row, status=201 if is_new else 200)

    @property
    def user(self) -> User:
        """Return who asks; the permissions have seen to it that it is somebody."""
        assert isinstance(self.request.user, User)
        return self.request.user

    def rows(self) -> QuerySet:
        """Return the rows that the address may show at all."""
        raise NotImplementedError

    @classmethod
    def every_row(cls) -> QuerySet:
        """Return the rows of the address before anybody asks, of whatever owner."""
        rows: Any = cls.queryset
        assert rows is not None
        return rows.all()

    def get_queryset(self) -> QuerySet:
        if getattr(self, "swagger_fake_view", False):
            return self.every_row().none()
        return self.rows()


class ListView(ListModelMixin, ApiView):
    """A list in pages."""

    def get(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        return self.list(request, *args, **kwargs)
