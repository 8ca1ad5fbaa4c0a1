"""Holding a pass to an outfit or an hour, and letting it go."""

import datetime as dt
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.desk.holding import hold_pass
from farmops.farms.models import Farm, Membership, Role
from farmops.pages import words
from farmops.pages.access import for_roles
from farmops.pages.boxes import Boxes
from farmops.pages.hold_page import hold_facts
from farmops.pages.views.planning import planned_again
from scheduling.models import FieldPass
from scheduling.selectors.holding import spoken
from scheduling.services.fixing import let_go as let_go_of

MOST_OUTFIT = 200


@for_roles(Role.MANAGER)
def hold(request: HttpRequest, farm: Farm, membership: Membership, pass_id: int) -> HttpResponse:
    """Show what a pass is held to on GET; on POST hold it, or give the form back with what is wrong."""
    row = _row(farm, pass_id)
    if request.method != "POST":
        return _shown(request, farm, row)
    boxes = Boxes(request.POST)
    outfit = boxes.text("outfit", most=MOST_OUTFIT)
    starts_at = _instant(boxes, farm)
    if boxes.wrong:
        return _shown(request, farm, row, boxes)
    try:
        hold_pass(farm=farm, field_pass=row, outfit=outfit, starts_at=starts_at, now=clock.now())
    except DomainError as error:
        boxes.refused(error, otherwise="outfit", names={"starts_at": "hour"})
        return _shown(request, farm, row, boxes)
    return _then(request, farm, row, _("{what} is held.").format(what=words.capital(spoken(row))))


@require_POST
@for_roles(Role.MANAGER)
def let_go(request: HttpRequest, farm: Farm, membership: Membership, pass_id: int) -> HttpResponse:
    """Let the plan choose again."""
    row = _row(farm, pass_id)
    let_go_of(field_pass=row)
    return _then(request, farm, row, _("{what} is let go.").format(what=words.capital(spoken(row))))


def _row(farm: Farm, pass_id: int) -> FieldPass:
    rows = FieldPass.objects.select_related("season__field__pivot__pump")
    row = get_object_or_404(rows, farm=farm, pk=pass_id)
    row.farm = farm  # at hand: it is not read again
    return row


def _instant(boxes: Boxes, farm: Farm) -> dt.datetime | None:
    """Return the day and hour on the farm's clock; an empty hour leaves it to the plan, whatever the day says."""
    if not boxes.text("hour"):
        return None
    day, hour = boxes.day("day"), boxes.hour("hour")
    return None if day is None or hour is None else dt.datetime.combine(day, hour, ZoneInfo(farm.zone))


def _then(request: HttpRequest, farm: Farm, row: FieldPass, kept: str) -> HttpResponse:
    back = reverse("pages:hold", args=[farm.code, row.pk])
    if request.POST.get("then") == "plan":
        return planned_again(request, farm, kept=kept, back=back)
    again = _("Plan again, and the week reckons with it.")
    messages.success(request, f"{kept} {again}")
    return redirect(back)


def _shown(request: HttpRequest, farm: Farm, row: FieldPass, boxes: Boxes | None = None) -> HttpResponse:
    facts = hold_facts(farm=farm, field_pass=row, now=clock.now())
    context: dict[str, Any] = {
        "farm": farm,
        "place": "week",
        **facts,
        "typed": boxes.typed if boxes else facts["blank"],
        "wrong": boxes.wrong if boxes else {},
    }
    return render(request, "pages/hold.html", context, status=422 if boxes else 200)
