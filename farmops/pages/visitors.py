"""In which language a page speaks to somebody: the signed-in reader's own, else what a visitor chose or a browser asks."""

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.utils import translation

API = "/api/"
"""What stands below this address speaks to programs, in English."""


def language_of(request: HttpRequest) -> str:
    """Return the language that a visitor chose on the page, else the first of the browser's that the pages speak."""
    chosen = request.GET.get("lang", "")
    if chosen in dict(settings.LANGUAGES):
        return chosen
    return translation.get_language_from_request(request)


class PagesSpeakToTheirReader:
    """Let every page, those of errors too, speak the language of who is signed in, or of who is not yet."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if request.path.startswith(API):
            return self.get_response(request)
        known = settings.SESSION_COOKIE_NAME in request.COOKIES and request.user.is_authenticated
        with translation.override(request.user.language if known else language_of(request)):  # type: ignore[union-attr]
            return self.get_response(request)
