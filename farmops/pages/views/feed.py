"""Calendars by a link: reading one writes nothing and needs no signing in; making and taking back does."""

import hashlib

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.cache import get_conditional_response
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from farmops.core import clock
from farmops.core.models import User
from farmops.digests.models import Purpose
from farmops.digests.services.calendar import feed_of
from farmops.digests.services.person_links import link_of_token
from farmops.farms.models import Farm, Hand, Membership, Role
from farmops.pages.access import for_roles
from farmops.pages.calendar_page import (
    calendars_facts,
    make_calendar,
    person_of_box,
    take_calendar_back,
)

KEPT_BY_NOBODY = {
    "Cache-Control": "private, no-cache",  # not said
    "Referrer-Policy": "no-referrer",
    "X-Robots-Tag": "noindex",
}


@require_safe
def calendar_feed(request: HttpRequest, token: str) -> HttpResponse:
    """Give a person's calendar to whoever holds the link; a reader who has it already is told so by its hash."""
    link = link_of_token(token, purpose=Purpose.CALENDAR)
    if link is None:
        return HttpResponse("", status=404, content_type="text/plain", headers=KEPT_BY_NOBODY)
    content = feed_of(farm=link.farm, person=link.person, now=clock.now())
    kind = "text/calendar; charset=utf-8"  # not said
    answer = HttpResponse(content, content_type=kind, headers=KEPT_BY_NOBODY)
    etag = f'"{hashlib.sha256(content).hexdigest()[:32]}"'
    answer["ETag"] = etag
    told = get_conditional_response(request, etag=etag, response=answer) or answer
    for name, value in KEPT_BY_NOBODY.items():
        told[name] = value
    return told


@require_POST
@for_roles(Role.HAND)
def make_own(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Make the signed-in hand's link."""
    make_calendar(farm=farm, person=_own(membership), now=clock.now())
    return redirect("pages:my_mail", farm_code=farm.code)


@require_POST
@for_roles(Role.HAND)
def revoke_own(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Take the signed-in hand's link back."""
    _take_back(request, farm, _own(membership))
    return redirect("pages:my_mail", farm_code=farm.code)


@require_POST
@for_roles(Role.MANAGER, Role.BOOKKEEPER)
def office_calendar(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Make the link of the signed-in manager or bookkeeper, or take it back."""
    if request.POST.get("do") == "back":
        _take_back(request, farm, membership.user)
    else:
        make_calendar(farm=farm, person=membership.user, now=clock.now())
    return redirect("pages:office_mail", farm_code=farm.code)


@never_cache
@for_roles(Role.MANAGER)
def calendars(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show the calendar links; a POST makes one or takes it back, of users only their own is made."""
    viewer: User = request.user  # type: ignore[assignment]
    if request.method == "POST":
        person = person_of_box(farm=farm, box=request.POST.get("person", ""))
        if person is None:
            raise Http404
        if request.POST.get("do") == "back":
            take_calendar_back(farm=farm, person=person, by=viewer, now=clock.now())
        elif isinstance(person, Hand) or person.pk == viewer.pk:
            make_calendar(farm=farm, person=person, now=clock.now())
        return redirect("pages:calendars", farm_code=farm.code)
    context = {
        "farm": farm,
        "place": "mail",
        **calendars_facts(farm=farm, viewer=viewer, absolute=request.build_absolute_uri),
    }
    return render(request, "pages/calendars.html", context)


def _take_back(request: HttpRequest, farm: Farm, person: Hand | User) -> None:
    by: User = request.user  # type: ignore[assignment]
    if take_calendar_back(farm=farm, person=person, by=by, now=clock.now()):
        messages.success(request, _("Taken back: the old address opens nothing any more."))


def _own(membership: Membership) -> Hand:
    if membership.hand is None:
        raise Http404
    return membership.hand
