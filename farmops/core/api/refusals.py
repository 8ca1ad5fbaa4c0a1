"""What Django itself refuses, in the form that the caller reads: a problem under /api/, a page elsewhere."""

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.views import defaults

from farmops.core.problems import MEDIA_TYPE, problem

PREFIX = "/api/"


def problem_page(request: HttpRequest, *, status: int, code: str, detail: str) -> HttpResponse:
    """Return a problem as Django's own answer."""
    body = problem(status=status, code=code, detail=detail, instance=request.get_full_path())
    return JsonResponse(body, status=status, content_type=MEDIA_TYPE)


def _either(
    otherwise: Callable[..., HttpResponse], status: int, code: str, detail: str
) -> Callable[..., HttpResponse]:
    def answer(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if request.path.startswith(PREFIX):
            return problem_page(request, status=status, code=code, detail=detail)
        return otherwise(request, *args, **kwargs)

    return answer


bad_request = _either(defaults.bad_request, 400, "bad_request", "The request cannot be read.")
forbidden = _either(defaults.permission_denied, 403, "forbidden", "You may not do this.")
not_found = _either(defaults.page_not_found, 404, "not_found", "There is nothing at this address.")
broken = _either(
    defaults.server_error,
    500,
    "broken",
    "Something broke here; it was written down. Nothing was half stored.",
)
