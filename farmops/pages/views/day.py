"""The hand's day and the form to report by."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import translation
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.api.fields import day_from
from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm, Hand, Membership, Role, SoilZone
from farmops.pages import day_page, phrases
from farmops.pages.access import for_roles
from farmops.pages.boxes import MOST_DIGITS, read_number
from scheduling.models import FieldPass, PlannedCare
from scheduling.services import reporting
from scheduling.services.care import record_care

STOPS = uuid.UUID("8f0d2f5e-6c1b-4a57-9d0e-5b1f0b6c7a31")
"""Names the service stops among the ids of what is sent: pressing again, on any page, is the same service."""


class NotANumber(DomainError):
    """A box of a report holds something else than a number."""

    code = "not_a_number"
    kind = Kind.INVALID


@for_roles(Role.HAND)
def day(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show the signed-in hand's day."""
    hand = _hand(membership)
    asked = request.GET.get("day", "")
    try:
        on = day_from(asked) if asked else None
    except ValueError as error:
        raise Http404 from error
    today = clock.local_date(clock.now(), farm.zone)
    on = on or day_page.day_of(farm=farm, hand=hand, today=today)
    return _page(request, farm, hand, on)


@require_POST
@for_roles(Role.HAND)
def report(request: HttpRequest, farm: Farm, membership: Membership, pass_id: int) -> HttpResponse:
    """Keep one report; sent twice it is the same report."""
    hand = _hand(membership)
    said = phrases.phrases(hand.language)
    try:
        on = day_from(request.POST.get("day", ""))
        client_id = uuid.UUID(request.POST.get("client_id", ""))
    except ValueError as error:
        raise Http404 from error
    field_pass = get_object_or_404(FieldPass.objects.select_related("season__field"), farm=farm, pk=pass_id)
    typed = {name: request.POST.get(name, "").strip() for name in TYPED}
    try:
        created = reporting.report_day(
            farm=farm,
            hand=hand,
            field_pass=field_pass,
            client_id=client_id,
            work_on=on,
            hand_h=_number(typed["hours"], said, "hours") or Decimal(0),
            machine_h=_number(typed["machine_hours"], said, "machine_hours"),
            meter_h=_number(typed["meter"], said, "meter"),
            done_ac=_number(typed["done_ac"], said, "done_ac") or Decimal(0),
            is_finished=bool(request.POST.get("finished")),
            not_done_why=typed["not_done"][:200],
            note=typed["note"][:500],
            puncture=reporting.Puncture(met=typed["met"][:80], wheel=typed["wheel"][:40])
            if request.POST.get("puncture")
            else None,
            is_too_wet=bool(typed["too_wet"]),
            wet_zone=_wet_zone(field_pass, typed["too_wet"]),
            recorded_by=request.user,  # type: ignore[arg-type]
            now=clock.now(),
        )
    except DomainError as error:
        messages.error(request, phrases.refused(error, hand.language))
        return _page(
            request, farm, hand, on, typed={**typed, "pass_id": pass_id, "client_id": client_id}, status=422
        )
    messages.success(request, said["sent"] if created else said["again"])
    return redirect(f"{reverse('pages:day', args=[farm.code])}?day={on.isoformat()}")


@require_POST
@for_roles(Role.HAND)
def serve_stop(request: HttpRequest, farm: Farm, membership: Membership, stop_id: int) -> HttpResponse:
    """Keep that a planned service is done; sent twice it is the same."""
    hand = _hand(membership)
    said = phrases.phrases(hand.language)
    try:
        on = day_from(request.POST.get("day", ""))
    except ValueError as error:
        raise Http404 from error
    stop = get_object_or_404(PlannedCare.objects.select_related("rule"), farm=farm, pk=stop_id, hand=hand)
    typed = {name: request.POST.get(name, "").strip() for name in ("minutes", "service_meter", "note")}
    now = clock.now()
    try:
        _row, created = record_care(
            farm=farm,
            client_id=uuid.uuid5(STOPS, f"{farm.code}/{stop.pk}"),
            rule=stop.rule,
            done_at=min(stop.ends_at, now),
            meter_h=_number(typed["service_meter"], said, "meter"),
            hand=hand,
            hand_min=int(_number(typed["minutes"], said, "minutes") or 0),
            note=typed["note"][:500],
            recorded_by=request.user,  # type: ignore[arg-type]
            now=now,
        )
    except DomainError as error:
        messages.error(request, phrases.refused(error, hand.language))
        return _page(request, farm, hand, on, typed={**typed, "stop_id": stop_id}, status=422)
    messages.success(request, said["service_kept"] if created else said["again"])
    return redirect(f"{reverse('pages:day', args=[farm.code])}?day={on.isoformat()}")


def _wet_zone(field_pass: FieldPass, text: str) -> SoilZone | None:
    """Return the zone that was too wet; None where it was all of the field, or nothing was said."""
    if text in ("", day_page.ALL_OF_IT):
        return None
    if not text.isdecimal() or len(text) > MOST_DIGITS:
        raise Http404
    return get_object_or_404(field_pass.season.field.zones, pk=int(text))


TYPED = (
    "hours",
    "machine_hours",
    "meter",
    "done_ac",
    "not_done",
    "note",
    "met",
    "wheel",
    "finished",
    "puncture",
    "too_wet",
)


def _page(
    request: HttpRequest,
    farm: Farm,
    hand: Hand,
    on: dt.date,
    typed: dict[str, Any] | None = None,
    status: int = 200,
) -> HttpResponse:
    with translation.override(hand.language):
        facts = day_page.day_facts(farm=farm, hand=hand, day=on)
        context = {"farm": farm, "place": "day", "typed": typed, **facts}
        return render(request, "pages/day.html", context, status=status)


def _hand(membership: Membership) -> Hand:
    if membership.hand is None:
        raise Http404
    return membership.hand


def _number(text: str, said: dict[str, str], name: str) -> Decimal | None:
    if not text:
        return None
    value = read_number(text)
    if value is None:
        raise NotANumber(f"{said[name]}: “{text[:20]}” {said['what_number']}.")
    if value < 0:
        raise NotANumber(f"{said[name]}: “{text[:20]}” {said['below_zero']}.")
    return value
