"""In which language a page speaks to somebody whom it does not know yet."""

from django.conf import settings
from django.http import HttpRequest
from django.utils import translation


def language_of(request: HttpRequest) -> str:
    """Return the language that a visitor chose on the page, else the first of the browser's that the pages speak."""
    chosen = request.GET.get("lang", "")
    if chosen in dict(settings.LANGUAGES):
        return chosen
    return translation.get_language_from_request(request)
