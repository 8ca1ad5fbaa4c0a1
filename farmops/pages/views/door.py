"""The sheets for the shop door."""

import datetime as dt

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.api.fields import day_from
from farmops.farms.models import Farm, Membership, Role
from farmops.pages.access import for_roles
from farmops.pages.door_page import door_facts, make_codes, makes_codes


@never_cache
@for_roles(Role.MANAGER)
def door(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show the sheets of a day, each on a page of its own when it is printed, and as text to copy."""
    now = clock.now()
    day = _day(request.GET.get("day", ""), farm, now)
    return render(
        request, "pages/door.html", {"farm": farm, "place": "mail", **door_facts(farm=farm, day=day, now=now)}
    )


@require_POST
@for_roles(Role.MANAGER)
def make(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Make the codes of a day's sheets."""
    now = clock.now()
    day = _day(request.POST.get("day", ""), farm, now)
    if makes_codes(farm=farm) and day >= clock.local_date(now, farm.zone):
        make_codes(farm=farm, day=day, now=now)
    return redirect(f"{reverse('pages:door_sheets', args=[farm.code])}?day={day.isoformat()}")


def _day(asked: str, farm: Farm, now: dt.datetime) -> dt.date:
    try:
        return day_from(asked) if asked else clock.local_date(now, farm.zone)
    except ValueError as error:
        raise Http404 from error
