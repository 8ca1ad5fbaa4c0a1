"""Fields: their ground, their windows, and the grower's own word."""

import datetime as dt

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.farms.models import Farm, Field, Membership, Role
from farmops.pages import field_page, words
from farmops.pages.access import for_roles
from scheduling.services.say_so import say_so


@for_roles(Role.MANAGER)
def field_list(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show every field with what waits on it."""
    rows = field_page.field_rows(farm=farm)
    context = {
        "farm": farm,
        "place": "fields",
        "fields": rows,
        "headline": field_page.list_headline(rows),
    }
    return render(request, "pages/fields.html", context)


@for_roles(Role.MANAGER)
def field(request: HttpRequest, farm: Farm, membership: Membership, code: str) -> HttpResponse:
    """Show one field's ground and windows."""
    row = get_object_or_404(Field.objects.select_related("pivot__pump"), farm=farm, code=code)
    today = clock.local_date(clock.now(), farm.zone)
    context = {"farm": farm, "place": "fields", **field_page.field_facts(farm=farm, field=row, today=today)}
    return render(request, "pages/field.html", context)


@require_POST
@for_roles(Role.MANAGER)
def say(request: HttpRequest, farm: Farm, membership: Membership, code: str) -> HttpResponse:
    """Keep the grower's word on a field for a day."""
    row = get_object_or_404(Field, farm=farm, code=code)
    after = request.POST.get("after_at", "")
    zone = request.POST.get("zone", "")
    try:
        day = dt.date.fromisoformat(request.POST.get("day", ""))
        after_at = dt.time.fromisoformat(after) if after else None
    except ValueError:
        messages.error(request, "The day or the hour was not understood.")
        return redirect("pages:field", farm_code=farm.code, code=code)
    try:
        said = say_so(
            farm=farm,
            field=row,
            zone=get_object_or_404(row.zones, pk=int(zone)) if zone.isdecimal() else None,
            day=day,
            word=request.POST.get("word", ""),
            after_at=after_at if request.POST.get("word") == "after" else None,
            said_by=request.user,
            now=clock.now(),
        )
    except DomainError as error:
        messages.error(request, words.dates_said(error.says))
    else:
        hour = f"not before {words.clock(dt.datetime.combine(day, said.after_at))}" if said.after_at else ""
        messages.success(
            request,
            f"Kept for {words.long_date(day)}: {hour or said.get_word_display()}. Plan again to use it.",
        )
    return redirect("pages:field", farm_code=farm.code, code=code)
