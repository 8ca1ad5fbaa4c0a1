"""Machines and hands: what is down and back about when, who is away, and planning again from it."""

import datetime as dt
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.desk import days
from farmops.desk.anew import newest_number
from farmops.desk.days import first_instant
from farmops.farms.models import Farm, Hand, HandAway, Implement, Machine, Membership, Role
from farmops.farms.services import out_of_work
from farmops.pages import words
from farmops.pages.access import for_roles
from farmops.pages.boxes import Boxes
from farmops.pages.fleet_page import Refused, fleet_facts
from farmops.pages.fleet_rows import drawn_people, drawn_tools
from farmops.pages.trade_words import tool
from farmops.pages.views.planning import planned_again


@for_roles(Role.MANAGER)
def fleet(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show what works and what does not, who is there and who is away."""
    return _shown(request, farm)


@require_POST
@for_roles(Role.MANAGER)
def down(request: HttpRequest, farm: Farm, membership: Membership, kind: str, row_id: int) -> HttpResponse:
    """Keep that a machine or an implement is down, and back about an hour."""
    row = _tool(farm, kind, row_id)
    boxes = Boxes(request.POST)
    day, hour = boxes.day("day"), boxes.hour("hour")
    if day is None or hour is None:
        return _shown(request, farm, Refused(f"{kind}-{row.pk}", boxes.typed, boxes.wrong))
    back_at = dt.datetime.combine(day, hour, ZoneInfo(farm.zone))
    try:
        out_of_work.set_down(row=row, back_at=back_at, now=first_instant(farm=farm, now=clock.now()))
    except DomainError as error:
        boxes.refused(error, otherwise="hour", names={"back_at": "hour"})
        return _shown(request, farm, Refused(f"{kind}-{row.pk}", boxes.typed, boxes.wrong))
    kept = _("{tool} is down until about {day}, {clock}.").format(
        tool=words.capital(tool(row)), day=words.long_date(day), clock=words.clock(back_at)
    )
    return _then(request, farm, kept)


@require_POST
@for_roles(Role.MANAGER)
def works(request: HttpRequest, farm: Farm, membership: Membership, kind: str, row_id: int) -> HttpResponse:
    """Keep that a machine or an implement works again."""
    row = out_of_work.set_working(row=_tool(farm, kind, row_id))
    return _then(request, farm, _("{tool} works again.").format(tool=words.capital(tool(row))))


@require_POST
@for_roles(Role.MANAGER)
def away(request: HttpRequest, farm: Farm, membership: Membership, hand_id: int) -> HttpResponse:
    """Keep that a hand is away for some days."""
    hand = get_object_or_404(Hand.objects.select_related("farm"), farm=farm, pk=hand_id)
    boxes = Boxes(request.POST)
    first_on, last_on, why = boxes.day("first"), boxes.day("last"), boxes.note("why")
    if first_on is None or last_on is None or boxes.wrong:
        return _shown(request, farm, Refused(f"hand-{hand.pk}", boxes.typed, boxes.wrong))
    today = clock.local_date(first_instant(farm=farm, now=clock.now()), farm.zone)
    try:
        out_of_work.set_away(hand=hand, first_on=first_on, last_on=last_on, why=why, today=today)
    except DomainError as error:
        boxes.refused(error, otherwise="first", names={"first_on": "first", "last_on": "last"})
        return _shown(request, farm, Refused(f"hand-{hand.pk}", boxes.typed, boxes.wrong))
    if last_on == first_on:
        kept = _("{hand} is away on {day}.").format(hand=hand.name, day=words.long_date(first_on))
    else:
        kept = _("{hand} is away from {first} to {last}.").format(
            hand=hand.name, first=words.long_date(first_on), last=words.long_date(last_on)
        )
    return _then(request, farm, kept)


@require_POST
@for_roles(Role.MANAGER)
def back(request: HttpRequest, farm: Farm, membership: Membership, away_id: int) -> HttpResponse:
    """Keep that a hand is there after all; pressed twice it is the same."""
    row = HandAway.objects.filter(farm=farm, pk=away_id).select_related("hand").first()
    if row is None:
        messages.success(request, _("That was taken back already."))
        return redirect("pages:fleet", farm_code=farm.code)
    out_of_work.take_back_away(away=row)
    return _then(request, farm, _("{hand} is there after all.").format(hand=row.hand.name))


def _tool(farm: Farm, kind: str, row_id: int) -> Machine | Implement:
    if kind == "machine":
        return get_object_or_404(Machine, farm=farm, pk=row_id)
    if kind == "implement":
        return get_object_or_404(Implement, farm=farm, pk=row_id)
    raise Http404


def _then(request: HttpRequest, farm: Farm, kept: str) -> HttpResponse:
    address = reverse("pages:fleet", args=[farm.code])
    if request.POST.get("then") == "plan":
        return planned_again(request, farm, kept=kept, back=address)
    rest = _("Plan again, and the week reckons with it.")
    messages.success(request, f"{kept} {rest}")
    return redirect(address)


def _shown(request: HttpRequest, farm: Farm, refused: Refused | None = None) -> HttpResponse:
    now = clock.now()
    facts = fleet_facts(farm=farm, now=now, refused=refused)
    context = {
        "farm": farm,
        "place": "fleet",
        "is_again": True,
        "newest_number": newest_number(farm=farm),
        "plan_from": days.suggested_day(farm=farm, today=clock.local_date(now, farm.zone)).isoformat(),
        **facts,
        "tools": drawn_tools(facts["tools"]),
        "people": drawn_people(facts["people"], farm_code=farm.code),
    }
    return render(request, "pages/fleet.html", context, status=422 if refused else 200)
