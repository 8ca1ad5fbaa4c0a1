"""Requests that no part of the service could store are refused at the door."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest

from farmops.core.api.refusals import PREFIX, problem_page

SAYS = "The address holds a character that cannot be stored."


class RefuseControlCharacters:
    """Refuse a NUL in the path or the query: one database engine takes it and the other fails on it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        query = request.META.get("QUERY_STRING", "")
        if "\x00" in request.path or "%00" in query or "\x00" in query:
            if request.path.startswith(PREFIX):
                return problem_page(request, status=400, code="bad_request", detail=SAYS)
            return HttpResponseBadRequest(SAYS)
        return self.get_response(request)
