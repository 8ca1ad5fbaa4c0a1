"""Long lists in pages by cursor: rows that are added meanwhile move no page."""

from typing import Any

from rest_framework.exceptions import NotFound
from rest_framework.pagination import CursorPagination
from rest_framework.request import Request

from farmops.core.api.fields import DIGITS
from farmops.core.problems import BadQuery

MOST = 500


class Pages(CursorPagination):
    """`limit` rows a page (100 if not asked, 500 at most); `next` and `previous` are whole addresses."""

    page_size = 100
    page_size_query_param = "limit"
    max_page_size = MOST
    ordering: Any = "id"

    def get_ordering(self, request: Request, queryset: Any, view: Any) -> tuple[str, ...]:
        return tuple(view.order)

    def get_page_size(self, request: Request) -> int:
        asked = request.query_params.get("limit")
        if asked is None:
            return self.page_size
        if not DIGITS.fullmatch(asked) or not 1 <= int(asked) <= MOST:
            raise BadQuery({"limit": f"Write a whole number from 1 to {MOST}."})
        return int(asked)

    def get_paginated_response_schema(self, schema: dict[str, Any]) -> dict[str, Any]:
        address = {"type": ["string", "null"], "format": "uri"}
        return {
            "type": "object",
            "required": ["next", "previous", "results"],
            "properties": {"next": address, "previous": address, "results": schema},
        }

    def decode_cursor(self, request: Request) -> Any:
        try:
            return super().decode_cursor(request)
        except NotFound as error:
            raise BadQuery({"cursor": "This is not a cursor that was given out."}) from error
