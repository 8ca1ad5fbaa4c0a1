"""Signed in by the session, for a queue that sends days later: its own pages may send, whatever became of their token.

A page that waited in a telephone holds an old token. What a browser says of itself serves as well: no other site can
set a header of its own kind on a request without asking first, nor change where the browser says it comes from.
"""

from drf_spectacular.authentication import SessionScheme
from rest_framework.authentication import SessionAuthentication
from rest_framework.request import Request

OWN_HEADER = "X-Requested-With"


def is_same_origin(request: Request) -> bool:
    """Return whether a browser says that a request comes from a page of this service, by its own header and origin."""
    if not request.headers.get(OWN_HEADER):
        return False
    origin = request.headers.get("Origin")
    if origin is not None:
        return origin == f"{request.scheme}://{request.get_host()}"
    return request.headers.get("Sec-Fetch-Site") == "same-origin"


class SameOriginSession(SessionAuthentication):
    """The session of a page of ours; anything else needs the token of the page as everywhere."""

    def enforce_csrf(self, request: Request) -> None:
        if not is_same_origin(request):
            super().enforce_csrf(request)


class SameOriginScheme(SessionScheme):
    """How the description of the interface names it."""

    target_class = "farmops.core.api.same_origin.SameOriginSession"
    name = "ownPageAuth"
