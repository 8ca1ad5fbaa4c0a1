"""What no part of the service could store is refused at the door; what lies still goes out compressed."""

from collections.abc import Callable
from ipaddress import ip_address

from django.conf import settings
from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest
from django.http.response import HttpResponseBase
from django.middleware.gzip import GZipMiddleware

from farmops.core.api.refusals import PREFIX, problem_page

SAYS = "The address holds a character that cannot be stored."
TOO_LARGE = "This is more than can be taken at once; send fewer or smaller photos."


class CallerBehindProxy:
    """Name the caller whom the proxy names, where a proxy alone reaches this server; else its word is anybody's.

    The proxy adds whom it answers to the end of X-Forwarded-For; what stands before that came from the caller.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        told = str(request.META.get("HTTP_X_FORWARDED_FOR", "")).rpartition(",")[2].strip()
        if settings.IS_BEHIND_PROXY and _is_address(told):
            request.META["REMOTE_ADDR"] = told
        return self.get_response(request)


def _is_address(text: str) -> bool:
    try:
        ip_address(text)
    except ValueError:
        return False
    return True


class StaticIsCompressed(GZipMiddleware):
    """Compress style sheets and scripts where no compressed copy lies ready; they hold nothing secret."""

    def process_response(self, request: HttpRequest, response: HttpResponseBase) -> HttpResponseBase:
        if request.path.startswith(settings.STATIC_URL):
            return super().process_response(request, response)
        return response


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


class RefuseLargeBodies:
    """Refuse a request that says it is too long before a byte of it is read; files would fill the disk."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        length = str(request.META.get("CONTENT_LENGTH") or "0")
        if length.isascii() and length.isdecimal() and int(length[:15]) > settings.MOST_REQUEST_BYTES:
            if request.path.startswith(PREFIX):
                return problem_page(request, status=413, code="too_large", detail=TOO_LARGE)
            return HttpResponse(TOO_LARGE, status=413, content_type="text/plain; charset=utf-8")
        return self.get_response(request)
