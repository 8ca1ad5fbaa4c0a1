"""Fuel: tanks, deliveries, readings by the stick, and fill-ups with the passes that burned them."""

import datetime as dt
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.farms.models import Farm, Fuel, FuelTank, Machine, Membership, Role
from farmops.farms.services.tanks import keep_tank
from farmops.pages.access import for_roles
from farmops.pages.boxes import Boxes, plain
from farmops.pages.fleet_page import Refused
from farmops.pages.fuel_page import fuel_facts, tank_form
from scheduling.models import FuelDelivery, FuelFill
from scheduling.services import fuel as services

NAMES = {
    "filled_at": "hour",
    "delivered_at": "hour",
    "read_at": "hour",
    "reading_h": "meter",
    "meter_h": "meter",
    "ticket_no": "ticket",
}


@for_roles(Role.MANAGER, Role.BOOKKEEPER)
def fuel(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show what is in the tanks and what is not accounted for, and who burned what."""
    return _shown(request, farm)


@require_POST
@for_roles(Role.MANAGER, Role.BOOKKEEPER)
def fill(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Keep a fill-up of a machine; sent twice it is one."""
    boxes = Boxes(request.POST)
    machine_id = boxes.row_id("machine")
    machine = get_object_or_404(Machine, farm=farm, pk=machine_id) if machine_id is not None else None
    if machine is None:
        boxes.wrong["machine"] = _("Say which machine.")
    fuel_word = boxes.text("fuel")
    if fuel_word and fuel_word not in Fuel.values:
        boxes.wrong["fuel"] = _("Choose one of the fuels.")
    facts = {
        "machine": machine,
        "tank": _tank(farm, boxes),
        "fuel": fuel_word or None,
        "filled_at": _instant(boxes, farm),
        "gallons": boxes.number("gallons", says=_("Give the gallons.")),
        "meter_h": boxes.number_if_any("meter"),
        "note": boxes.note("note"),
    }
    return _kept(request, farm, "fill", boxes, services.fill_up, facts, _("The fill-up is kept."))


@require_POST
@for_roles(Role.MANAGER, Role.BOOKKEEPER)
def delivery(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Keep what was delivered into a tank; sent twice it is one."""
    boxes = Boxes(request.POST)
    facts = {
        "tank": _needed_tank(farm, boxes),
        "delivered_at": _instant(boxes, farm),
        "gallons": boxes.number("gallons", says=_("Give the gallons of the ticket.")),
        "ticket_no": boxes.note("ticket"),
        "note": boxes.note("note"),
    }
    return _kept(
        request, farm, "delivery", boxes, services.record_fuel_delivery, facts, _("The delivery is kept.")
    )


@require_POST
@for_roles(Role.MANAGER, Role.BOOKKEEPER)
def reading(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Keep what the stick found in a tank; sent twice it is one."""
    boxes = Boxes(request.POST)
    facts = {
        "tank": _needed_tank(farm, boxes),
        "read_at": _instant(boxes, farm),
        "gallons": boxes.number("gallons", says=_("Give the gallons that the stick shows.")),
        "note": boxes.note("note"),
    }
    return _kept(
        request, farm, "reading", boxes, services.record_tank_reading, facts, _("The reading is kept.")
    )


@require_POST
@for_roles(Role.MANAGER)
def add_tank(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Keep a new tank; sent twice it is one."""
    return _tank_kept(request, farm, None)


@require_POST
@for_roles(Role.MANAGER)
def change_tank(request: HttpRequest, farm: Farm, membership: Membership, code: str) -> HttpResponse:
    """Put right what a tank is called, holds and is for."""
    return _tank_kept(request, farm, get_object_or_404(FuelTank, farm=farm, code=code))


@require_POST
@for_roles(Role.MANAGER, Role.BOOKKEEPER)
def take_back(
    request: HttpRequest, farm: Farm, membership: Membership, kind: str, row_id: int
) -> HttpResponse:
    """Keep that a fill-up or a delivery never was; pressed twice it is the same."""
    boxes, now = Boxes(request.POST), clock.now()
    by: dict[str, Any] = {"client_id": boxes.client_id(), "recorded_by": request.user, "now": now}
    try:
        if kind == "fills":
            services.take_back_fill(fill=get_object_or_404(FuelFill, farm=farm, pk=row_id), **by)
        elif kind == "deliveries":
            services.take_back_delivery(delivery=get_object_or_404(FuelDelivery, farm=farm, pk=row_id), **by)
        else:
            raise Http404
    except DomainError as error:
        messages.error(request, plain(error.says))
    else:
        messages.success(request, _("That was taken back."))
    return redirect("pages:fuel", farm_code=farm.code)


def _kept(
    request: HttpRequest, farm: Farm, form: str, boxes: Boxes, keep: Any, facts: dict[str, Any], says: str
) -> HttpResponse:
    if not boxes.wrong:
        try:
            keep(farm=farm, client_id=boxes.client_id(), recorded_by=request.user, now=clock.now(), **facts)
        except DomainError as error:
            boxes.refused(error, otherwise="gallons", names=NAMES)
        else:
            messages.success(request, says)
            return redirect("pages:fuel", farm_code=farm.code)
    return _shown(request, farm, Refused(form, boxes.typed, boxes.wrong))


def _tank_kept(request: HttpRequest, farm: Farm, tank: FuelTank | None) -> HttpResponse:
    boxes, form = Boxes(request.POST), tank_form(tank)
    name = boxes.note("name")
    if not name:
        boxes.wrong["name"] = _("Say what the tank is called.")
    fuel_word = boxes.one_of("fuel", Fuel.values, says=_("Choose one of the fuels."))
    holds_gal = boxes.number("holds_gal", says=_("Give the gallons that it holds."))
    if holds_gal is not None and not boxes.wrong:
        try:
            kept = keep_tank(farm=farm, tank=tank, name=name, fuel=fuel_word, holds_gal=holds_gal)
        except DomainError as error:
            boxes.refused(error, otherwise="name")
        else:
            messages.success(request, _("Kept: {name}.").format(name=kept.name))
            return redirect("pages:fuel", farm_code=farm.code)
    return _shown(request, farm, Refused(form, boxes.typed, boxes.wrong))


def _tank(farm: Farm, boxes: Boxes) -> FuelTank | None:
    tank_id = boxes.row_id("tank")
    return get_object_or_404(FuelTank, farm=farm, pk=tank_id) if tank_id is not None else None


def _needed_tank(farm: Farm, boxes: Boxes) -> FuelTank | None:
    tank = _tank(farm, boxes)
    if tank is None:
        boxes.wrong["tank"] = _("Say which tank.")
    return tank


def _instant(boxes: Boxes, farm: Farm) -> dt.datetime | None:
    day, hour = boxes.day("day"), boxes.hour("hour")
    return None if day is None or hour is None else dt.datetime.combine(day, hour, ZoneInfo(farm.zone))


def _shown(request: HttpRequest, farm: Farm, refused: Refused | None = None) -> HttpResponse:
    context = {"farm": farm, "place": "fleet", **fuel_facts(farm=farm, now=clock.now(), refused=refused)}
    return render(request, "pages/fuel.html", context, status=422 if refused else 200)
