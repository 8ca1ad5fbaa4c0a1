"""Who may see what: a farm that is not yours is a page that does not exist."""

from collections.abc import Callable
from functools import wraps
from http import HTTPStatus
from typing import Any
from urllib.parse import urlencode
from zoneinfo import ZoneInfoNotFoundError

from django.conf import settings
from django.contrib.auth import logout
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse

from farmops.core.clock import is_zone
from farmops.farms.models import Role
from farmops.farms.selectors import is_session_of_link_open, parts_on_farm
from farmops.pages.form_pages import came_from

View = Callable[..., HttpResponseBase]
CAME_IN_BY = "sign_in_link"
"""Under this name a session keeps the link that it came in by."""
OF_ONE_READER = "private, no-cache"  # not said
"""How a page is kept by browsers, for Back alone: with `no-store` what was typed into a form would be gone on Back.

Whoever signs out has them forget it.
"""
UNSENT = "unsent"
"""Stands in the address of the page to sign in where somebody sent a form without being signed in."""


def signed_in(view: View) -> View:
    """Let a view be called by who is signed in; others sign in first, and come back to the page that they came from."""

    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if request.user.is_authenticated:
            return view(request, *args, **kwargs)
        asked = {"next": request.get_full_path()}
        if request.method == "POST":
            asked = {"next": came_from(request), UNSENT: "1"}
        return redirect(f"{reverse(settings.LOGIN_URL)}?{urlencode(asked, safe='/')}")

    return guarded


def for_roles(*roles: Role) -> Callable[[View], View]:
    """Let a view be called as `view(request, farm, membership, …)` by members of a farm with one of the roles."""

    def decorate(view: View) -> View:
        @signed_in
        @wraps(view)
        def guarded(request: HttpRequest, farm_code: str, *args: Any, **kwargs: Any) -> HttpResponseBase:
            memberships = parts_on_farm(request.user, farm_code=farm_code)
            if not memberships:
                raise Http404
            fitting = [one for one in memberships if one.role in roles]
            if not fitting:
                raise PermissionDenied
            fitting.sort(key=lambda one: roles.index(Role(one.role)))
            request.farm_roles = {one.role for one in memberships}  # type: ignore[attr-defined]
            farm = fitting[0].farm
            try:
                answer = view(request, farm, fitting[0], *args, **kwargs)
            except (ZoneInfoNotFoundError, ValueError, OSError):  # what a name that is no zone leads to
                if is_zone(farm.zone):
                    raise
                return render(request, "pages/no_clock.html", {"farm": farm}, status=HTTPStatus.CONFLICT)
            answer.headers.setdefault("Cache-Control", OF_ONE_READER)
            return answer

        return guarded

    return decorate


class SessionsEndWithTheirLink:
    """Sign out whoever came in by a link that was taken back, on the pages and on the API alike."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if settings.SESSION_COOKIE_NAME in request.COOKIES:
            link_id = request.session.get(CAME_IN_BY)
            if link_id is not None and not is_session_of_link_open(link_id):
                logout(request)
        return self.get_response(request)
