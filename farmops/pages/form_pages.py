"""The page that a form stands on: where who asks for the address of a form alone, or was signed out before it came, is led."""

from collections.abc import Callable
from http import HTTPStatus
from urllib.parse import urlsplit

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import Resolver404, ResolverMatch, resolve, reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _

STANDS_ON = {
    "away": ("fleet",),
    "back": ("fleet",),
    "change_tank": ("fuel",),
    "debris_numbers": ("debris",),
    "fit_zones": ("limits",),
    "let_go": ("hold", "pass_id"),
    "make_calendar": ("my_mail",),
    "read_meter": ("care",),
    "replace_meter": ("care",),
    "revoke_calendar": ("my_mail",),
    "set_aside": ("care",),
    "take_back": ("field", "code"),
    "take_back_note": ("field", "code"),
}
"""The page of a form, by their names, and what its address holds beside the farm, where it is not the next one above."""


def page_of(address: str) -> str:
    """Return the address of the page on which the form that is sent to an address stands."""
    found = _found(address)
    if found is not None and found.url_name in STANDS_ON:
        page, *names = STANDS_ON[found.url_name]
        return reverse(f"pages:{page}", kwargs={name: found.kwargs[name] for name in ("farm_code", *names)})
    home = reverse("pages:home")
    while address.startswith(home) and address != home:
        address = address.rstrip("/").rpartition("/")[0] + "/"
        if _found(address) is not None:
            return address
    return home


def came_from(request: HttpRequest) -> str:
    """Return the page of ours from which a form was sent, else the address to which it was sent."""
    told = request.headers.get("Referer", "")
    there = urlsplit(told)
    is_ours = url_has_allowed_host_and_scheme(told, {request.get_host()}, require_https=request.is_secure())
    found = _found(there.path) if is_ours else None
    if found is None or found.url_name == "sign_in":
        return request.get_full_path()
    return there.path + (f"?{there.query}" if there.query else "")


def _found(address: str) -> ResolverMatch | None:
    try:
        found = resolve(address)
    except Resolver404:
        return None
    return found if found.app_name == "pages" else None


class FormsLeadToTheirPage:
    """Lead who asks for an address that only takes forms to the page on which its form stands."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if response.status_code != HTTPStatus.METHOD_NOT_ALLOWED or request.method not in ("GET", "HEAD"):
            return response
        if _found(request.path) is None or "POST" not in response.headers.get("Allow", ""):
            return response
        if not len(messages.get_messages(request)):  # who just signed in is told something better
            messages.info(
                request, _("That address only takes what its form sends; here is the page of the form.")
            )
        return redirect(page_of(request.path))
