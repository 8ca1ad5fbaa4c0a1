"""A machine, an implement or a pivot: its meter, its services, what was done, and the rules that ask for it."""

import datetime as dt
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.farms.models import CareRule, Farm, Hand, Implement, Machine, Membership, Pivot, Role
from farmops.farms.services.care_rules import add_care_rule, change_care_rule
from farmops.pages import care_words, words
from farmops.pages.access import for_roles
from farmops.pages.boxes import Boxes, plain
from farmops.pages.care_page import care_facts
from farmops.pages.fleet_page import Refused
from farmops.pages.machine_boxes import RULE_NAMES, rule_values
from farmops.pages.machine_page import Thing, machine_facts
from scheduling.models import CareDone, HourReading
from scheduling.services.care import record_service, take_back_care
from scheduling.services.meters import record_meter_replaced, set_reading_aside
from scheduling.services.work import record_hour_reading

KINDS: dict[str, type[Machine] | type[Implement] | type[Pivot]] = {
    "machine": Machine,
    "implement": Implement,
    "pivot": Pivot,
}
CENTS = 100


@for_roles(Role.MANAGER)
def care(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show every service of the farm, the soonest first."""
    context = {"farm": farm, "place": "fleet", **care_facts(farm=farm, now=clock.now())}
    return render(request, "pages/care.html", context)


@for_roles(Role.MANAGER)
def machine(request: HttpRequest, farm: Farm, membership: Membership, kind: str, row_id: int) -> HttpResponse:
    """Show one machine, implement or pivot."""
    return _shown(request, farm, _thing(farm, kind, row_id))


@require_POST
@for_roles(Role.MANAGER)
def read_meter(request: HttpRequest, farm: Farm, membership: Membership, row_id: int) -> HttpResponse:
    """Keep what an hour meter shows."""
    row = get_object_or_404(Machine.objects.select_related("farm"), farm=farm, pk=row_id)
    boxes = Boxes(request.POST)
    reading_h = boxes.number("reading_h", says=_("Say what the meter shows."))
    read_at = _instant(boxes, farm)
    if reading_h is None or read_at is None:
        return _shown(request, farm, row, Refused("reading", boxes.typed, boxes.wrong))
    try:
        record_hour_reading(
            farm=farm,
            client_id=boxes.client_id(),
            machine=row,
            reading_h=reading_h,
            read_at=read_at,
            now=clock.now(),
        )
    except DomainError as error:
        boxes.refused(error, otherwise="reading_h", names={"read_at": "day"})
        return _shown(request, farm, row, Refused("reading", boxes.typed, boxes.wrong))
    kept = _("The meter of {machine} is kept at {hours} h.").format(
        machine=care_words.name_of(row), hours=reading_h
    )
    return _then(request, farm, row, kept, at="meter")


@require_POST
@for_roles(Role.MANAGER)
def replace_meter(request: HttpRequest, farm: Farm, membership: Membership, row_id: int) -> HttpResponse:
    """Keep that an hour meter was replaced."""
    row = get_object_or_404(Machine.objects.select_related("farm"), farm=farm, pk=row_id)
    boxes = Boxes(request.POST)
    old_h = boxes.number("old_reading_h", says=_("Say what the old one showed last."))
    new_h = boxes.number_if_any("new_reading_h")
    replaced_at, note = _instant(boxes, farm), boxes.note("note")
    if old_h is None or replaced_at is None or boxes.wrong:
        return _shown(request, farm, row, Refused("replaced", boxes.typed, boxes.wrong))
    try:
        record_meter_replaced(
            farm=farm,
            client_id=boxes.client_id(),
            machine=row,
            replaced_at=replaced_at,
            old_reading_h=old_h,
            new_reading_h=new_h or Decimal(0),
            note=note,
            recorded_by=membership.user,
            now=clock.now(),
        )
    except DomainError as error:
        boxes.refused(error, otherwise="old_reading_h", names={"replaced_at": "day"})
        return _shown(request, farm, row, Refused("replaced", boxes.typed, boxes.wrong))
    kept = _("The new meter of {machine} counts on from the old one.").format(machine=care_words.name_of(row))
    return _then(request, farm, row, kept, at="meter")


@require_POST
@for_roles(Role.MANAGER)
def set_aside(request: HttpRequest, farm: Farm, membership: Membership, reading_id: int) -> HttpResponse:
    """Keep that a reading was wrong."""
    reading = get_object_or_404(
        HourReading.objects.select_related("farm", "machine__farm"), farm=farm, pk=reading_id
    )
    boxes = Boxes(request.POST)
    why = boxes.note("why")
    if not boxes.wrong:
        try:
            set_reading_aside(reading=reading, why=why, set_aside_by=membership.user, now=clock.now())
        except DomainError as error:
            boxes.refused(error, otherwise="why")
    if boxes.wrong:
        return _shown(
            request, farm, reading.machine, Refused(f"aside-{reading.pk}", boxes.typed, boxes.wrong)
        )
    kept = _("The {hours} h of {machine} count no more.").format(
        hours=reading.reading_h, machine=care_words.name_of(reading.machine)
    )
    return _then(request, farm, reading.machine, kept, at="meter")


@require_POST
@for_roles(Role.MANAGER)
def serve(request: HttpRequest, farm: Farm, membership: Membership, code: str) -> HttpResponse:
    """Keep that a service was done."""
    rule = get_object_or_404(_rules(farm), code=code)
    boxes = Boxes(request.POST)
    done_at = _instant(boxes, farm)
    minutes, dollars = (
        boxes.number("minutes", says=_("Say how many minutes.")),
        boxes.number_if_any("parts_usd"),
    )
    meter_h, parts, note = boxes.number_if_any("meter_h"), boxes.note("parts"), boxes.note("note")
    hand_code = boxes.text("hand")
    hand = Hand.objects.filter(farm=farm, code=hand_code).first() if hand_code else None
    _refuse_fractions(boxes, minutes=minutes, dollars=dollars)
    if done_at is None or minutes is None or boxes.wrong:
        return _shown(request, farm, rule.thing, Refused(f"served-{code}", boxes.typed, boxes.wrong))
    try:
        record_service(
            farm=farm,
            client_id=boxes.client_id(),
            rule=rule,
            done_at=done_at,
            meter_h=meter_h,
            hand=hand,
            hand_min=int(minutes),
            parts=parts,
            parts_cents=None if dollars is None else int(dollars * CENTS),
            note=note,
            recorded_by=membership.user,
            now=clock.now(),
        )
    except DomainError as error:
        names = {"done_at": "day", "hand_min": "minutes", "parts_cents": "parts_usd", "reading_h": "meter_h"}
        boxes.refused(error, otherwise="day", names=names)
        return _shown(request, farm, rule.thing, Refused(f"served-{code}", boxes.typed, boxes.wrong))
    return _then(
        request, farm, rule.thing, _("{service}: kept as done.").format(service=_rule(rule)), at="services"
    )


@require_POST
@for_roles(Role.MANAGER)
def unserve(request: HttpRequest, farm: Farm, membership: Membership, done_id: int) -> HttpResponse:
    """Keep that a service was not done after all; pressed twice it is the same."""
    done = get_object_or_404(
        CareDone.objects.select_related(
            "farm", "rule__farm", "rule__machine", "rule__implement", "rule__pivot__field"
        ),
        farm=farm,
        pk=done_id,
    )
    try:
        take_back_care(done=done, recorded_by=membership.user, now=clock.now())
    except DomainError as error:
        messages.error(request, plain(error.says))
        return redirect(_address(farm, done.rule.thing))
    return _then(
        request,
        farm,
        done.rule.thing,
        _("{service}: taken back.").format(service=_rule(done.rule)),
        at="done",
    )


@require_POST
@for_roles(Role.MANAGER)
def add_rule(
    request: HttpRequest, farm: Farm, membership: Membership, kind: str, row_id: int
) -> HttpResponse:
    """Keep a new service rule of a machine, implement or pivot."""
    row = _thing(farm, kind, row_id)
    boxes = Boxes(request.POST)
    values = rule_values(boxes, request.POST.getlist("hands"), farm=farm, thing=row)
    if not boxes.wrong:
        try:
            rule = add_care_rule(farm=farm, values={**values, kind: row})
            return _then(request, farm, row, _("{service}: kept.").format(service=_rule(rule)), at="services")
        except DomainError as error:
            boxes.refused(error, otherwise="what", names=RULE_NAMES)
    return _shown(request, farm, row, Refused("rule", _typed(request, boxes), boxes.wrong))


@require_POST
@for_roles(Role.MANAGER)
def change_rule(request: HttpRequest, farm: Farm, membership: Membership, code: str) -> HttpResponse:
    """Change a service rule, or take it out of use."""
    rule = get_object_or_404(_rules(farm), code=code)
    boxes = Boxes(request.POST)
    values = rule_values(boxes, request.POST.getlist("hands"), farm=farm, thing=rule.thing)
    if not boxes.wrong:
        try:
            change_care_rule(rule=rule, values=values)
            return _then(
                request, farm, rule.thing, _("{service}: changed.").format(service=_rule(rule)), at="services"
            )
        except DomainError as error:
            boxes.refused(error, otherwise="what", names=RULE_NAMES)
    rule.refresh_from_db()
    return _shown(request, farm, rule.thing, Refused(f"rule-{code}", _typed(request, boxes), boxes.wrong))


def _rule(rule: CareRule) -> str:
    return words.capital(care_words.rule_said(rule))


def _typed(request: HttpRequest, boxes: Boxes) -> dict[str, Any]:
    return {**boxes.typed, "hands": request.POST.getlist("hands")}


def _refuse_fractions(boxes: Boxes, *, minutes: Decimal | None, dollars: Decimal | None) -> None:
    if minutes is not None and (minutes % 1 or minutes < 0):
        boxes.wrong["minutes"] = _("Minutes are a whole number of 0 and more.")
    if dollars is not None and (dollars * CENTS) % 1:
        boxes.wrong["parts_usd"] = _("Dollars have two decimals at most.")


def _instant(boxes: Boxes, farm: Farm) -> dt.datetime | None:
    day, hour = boxes.day("day"), boxes.hour("hour")
    if day is None or hour is None:
        return None
    return dt.datetime.combine(day, hour, ZoneInfo(farm.zone))


def _rules(farm: Farm) -> Any:
    return CareRule.objects.filter(farm=farm).select_related(
        "farm", "machine__farm", "implement__farm", "pivot__farm", "pivot__field"
    )


def _thing(farm: Farm, kind: str, row_id: int) -> Thing:
    model = KINDS.get(kind)
    if model is None:
        raise Http404
    rows: Any = model._default_manager.filter(farm=farm)
    found: Thing = get_object_or_404(rows.select_related("field") if kind == "pivot" else rows, pk=row_id)
    found.farm = farm  # at hand: it is not read again
    return found


def _address(farm: Farm, thing: Thing) -> str:
    return reverse("pages:machine", args=[farm.code, type(thing).__name__.lower(), thing.pk])


def _then(request: HttpRequest, farm: Farm, thing: Thing, kept: str, *, at: str) -> HttpResponse:
    messages.success(request, kept)
    return redirect(f"{_address(farm, thing)}#{at}")


def _shown(request: HttpRequest, farm: Farm, thing: Thing, refused: Refused | None = None) -> HttpResponse:
    now = clock.now()
    local = now.astimezone(ZoneInfo(farm.zone))
    context = {
        "farm": farm,
        "place": "fleet",
        "today": local.date().isoformat(),
        "hour": f"{local:%H:%M}",
        **machine_facts(farm=farm, thing=thing, now=now, refused=refused),
    }
    return render(request, "pages/machine.html", context, status=422 if refused else 200)
