"""Incidents: the list, one of them, and what is said of it: where it was, what was done, which bill is its own."""

import datetime as dt
import uuid
from decimal import ROUND_HALF_UP, Decimal
from functools import partial
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.desk.incident_marks import incidents_mark
from farmops.farms.models import Farm, Field, Hand, Implement, Machine, Membership, Role
from farmops.pages import field_shape, incidents_page, words
from farmops.pages.access import for_roles
from farmops.pages.bill_doubts import ask, ask_of_bill, is_said
from farmops.pages.boxes import Boxes, plain
from farmops.pages.kept_forms import body_with_forms
from farmops.pages.kept_parts import KeptParts
from ledger.models import Bill
from ledger.services.bills import BillDiffers, enter_bill
from ledger.services.incident_bills import join_bill
from scheduling.models import IncidentKind, Mending, PlacedBy
from scheduling.selectors.incidents import IncidentFacts, incident_facts
from scheduling.services.incidents import mend_incident, place_incident
from scheduling.services.record_rules import DAY_MIN
from scheduling.services.refusals import SupersededAlready
from scheduling.services.work import record_incident

NO_TAP = gettext_noop("Nothing was tapped: tap on the field, or give the degrees below.")


@for_roles(Role.MANAGER, Role.BOOKKEEPER)
def incidents(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show what went wrong, the newest first."""
    return _list(request, farm)


@require_POST
@for_roles(Role.MANAGER)
def add(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Keep an incident entered by hand; sent twice it is one."""
    boxes, now = Boxes(request.POST), clock.now()
    kind = boxes.one_of("kind", IncidentKind.values, says=_("Say what went wrong."))
    day, hour = boxes.day("day"), boxes.hour("hour")
    lost_h = boxes.number_if_any("lost_h")
    note = boxes.note("note")
    if day is None or hour is None or boxes.wrong:
        return _list(request, farm, boxes)
    try:
        incident, _is_new = record_incident(
            farm=farm,
            client_id=boxes.client_id(),
            kind=kind,
            happened_at=dt.datetime.combine(day, hour, ZoneInfo(farm.zone)),
            field=_named(farm, Field, boxes, "field"),
            machine=_named(farm, Machine, boxes, "machine"),
            implement=_named(farm, Implement, boxes, "implement"),
            hand=_named(farm, Hand, boxes, "hand"),
            wheel=boxes.note("wheel"),
            met=boxes.note("met"),
            lost_min=_minutes(lost_h),
            note=note,
            now=now,
        )
    except DomainError as error:
        boxes.refused(error, otherwise="kind", names={"happened_at": "day", "lost_min": "lost_h"})
        return _list(request, farm, boxes)
    messages.success(request, _("Kept. Say where it was by a tap on the field."))
    return redirect("pages:incident", farm_code=farm.code, incident_id=incident.pk)


@for_roles(Role.MANAGER, Role.BOOKKEEPER)
def incident(request: HttpRequest, farm: Farm, membership: Membership, incident_id: int) -> HttpResponse:
    """Show one incident."""
    return _one(request, farm, _facts(farm, incident_id))


@for_roles(Role.MANAGER)
def outline(request: HttpRequest, farm: Farm, membership: Membership, code: str) -> HttpResponse:
    """Give a field's outline as a picture to tap on."""
    field = get_object_or_404(Field, farm=farm, code=code)
    return HttpResponse(field_shape.picture(field), content_type="image/svg+xml")


@require_POST
@for_roles(Role.MANAGER)
def place(request: HttpRequest, farm: Farm, membership: Membership, incident_id: int) -> HttpResponse:
    """Keep where an incident was, tapped on the field's outline or typed in degrees."""
    facts, boxes = _facts(farm, incident_id), Boxes(request.POST)
    tapped = _tap(farm, facts, boxes)
    if "tap.x" in request.POST and tapped is None:
        boxes.wrong["tap"] = _(NO_TAP)
        return _one(request, farm, facts, "place", boxes)
    if tapped is not None:
        latitude, longitude, placed_by = Decimal(str(tapped[0])), Decimal(str(tapped[1])), PlacedBy.TAPPED
    else:
        typed = [
            boxes.number(name, says=_("Give the degrees.")) for name in ("latitude_deg", "longitude_deg")
        ]
        if typed[0] is None or typed[1] is None:
            return _one(request, farm, facts, "place", boxes)
        latitude, longitude, placed_by = typed[0], typed[1], PlacedBy.TYPED
    try:
        place_incident(
            farm=farm,
            client_id=boxes.client_id(),
            incident=facts.incident,
            latitude_deg=latitude,
            longitude_deg=longitude,
            placed_by=placed_by,
            now=clock.now(),
        )
    except DomainError as error:
        boxes.refused(error, otherwise="latitude_deg")
        return _one(request, farm, facts, "place", boxes)
    return _back(request, farm, incident_id, _("Kept: where it was."))


@require_POST
@for_roles(Role.MANAGER)
def mend(request: HttpRequest, farm: Farm, membership: Membership, incident_id: int) -> HttpResponse:
    """Keep what was done about an incident and the hours that it cost."""
    facts, boxes = _facts(farm, incident_id), Boxes(request.POST)
    mending = boxes.one_of("mending", Mending.values, says=_("Say what was done."))
    lost_h = boxes.number_if_any("lost_h")
    note = boxes.note("note")
    if boxes.wrong:
        return _one(request, farm, facts, "mend", boxes)
    try:
        mend_incident(
            farm=farm,
            client_id=boxes.client_id(),
            incident=facts.incident,
            mending=mending,
            lost_min=_minutes(lost_h),
            note=note,
            seen=boxes.row_id("seen"),
            now=clock.now(),
        )
    except SupersededAlready as error:
        boxes.refused(error, otherwise="mending")
        return _one(request, farm, _facts(farm, incident_id), "mend", boxes)
    except DomainError as error:
        boxes.refused(error, otherwise="mending", names={"lost_min": "lost_h"})
        return _one(request, farm, facts, "mend", boxes)
    return _back(request, farm, incident_id, _("Kept: what was done, and the hours lost."))


@require_POST
@for_roles(Role.MANAGER, Role.BOOKKEEPER)
def bill(request: HttpRequest, farm: Farm, membership: Membership, incident_id: int) -> HttpResponse:
    """Enter the bill of an incident."""
    facts, boxes = _facts(farm, incident_id), Boxes(request.POST)
    told: dict[str, Any] = {
        "payee": boxes.note("payee"),
        "number": boxes.note("number"),
        "bill_on": boxes.day("bill_on"),
        "amount_usd": boxes.number("amount_usd", says=_("Give the dollars.")),
        "note": boxes.note("note"),
    }
    if not boxes.wrong:
        ask_of_bill(boxes, farm=farm, told=told, supersedes=None)
    if boxes.wrong:
        return _one(request, farm, facts, "bill", boxes)
    try:
        entered, _is_new = enter_bill(
            farm=farm,
            client_id=boxes.client_id(),
            category=boxes.text("category"),
            incident=facts.incident,
            is_another=is_said(boxes, "number"),
            entered_by=request.user,
            now=clock.now(),
            **told,
        )
    except DomainError as error:
        boxes.refused(error, otherwise="payee")
        if isinstance(error, BillDiffers) and "number" in error.fields:
            ask(boxes, "number", plain(error.says))
        return _one(request, farm, facts, "bill", boxes)
    says = _("Kept: {amount} of {payee}.").format(amount=words.dollars(entered.cents), payee=entered.payee)
    return _back(request, farm, incident_id, says)


@require_POST
@for_roles(Role.MANAGER, Role.BOOKKEEPER)
def join(
    request: HttpRequest, farm: Farm, membership: Membership, incident_id: int, bill_id: int
) -> HttpResponse:
    """Say of a bill that it is the one of this incident."""
    facts, boxes = _facts(farm, incident_id), Boxes(request.POST)
    row = get_object_or_404(Bill.objects.select_related("payee"), farm=farm, pk=bill_id)
    try:
        joined, _is_new = join_bill(
            farm=farm,
            client_id=boxes.client_id(),
            bill=row,
            incident=facts.incident,
            entered_by=request.user,
            now=clock.now(),
        )
    except DomainError as error:
        messages.error(request, error.says)
        return redirect("pages:incident", farm_code=farm.code, incident_id=incident_id)
    told = _("Kept: the {bill} bill is this one's.").format(bill=joined)
    return _back(request, farm, incident_id, told)


def _facts(farm: Farm, incident_id: int) -> IncidentFacts:
    found = incident_facts(farm=farm, incident_id=incident_id)
    if not found:
        raise Http404
    return found[0]


def _tap(farm: Farm, facts: IncidentFacts, boxes: Boxes) -> tuple[float, float] | None:
    field = facts.incident.field
    x_px, y_px = boxes.text("tap.x"), boxes.text("tap.y")
    if field is None or not (x_px.isdecimal() and y_px.isdecimal() and len(x_px + y_px) <= 8):
        return None
    return field_shape.taps_on(farm)(field.code, int(x_px), int(y_px))


def _named(farm: Farm, model: Any, boxes: Boxes, name: str) -> Any:
    row_id = boxes.row_id(name)
    return None if row_id is None else get_object_or_404(model, farm=farm, pk=row_id)


def _minutes(hours: Decimal | None) -> int:
    """Return hours as minutes; what passes a month stays as much too large as it is, for the service to refuse."""
    if hours is None:
        return 0
    return int((min(hours, Decimal(31 * DAY_MIN)) * 60).to_integral_value(ROUND_HALF_UP))


def _back(request: HttpRequest, farm: Farm, incident_id: int, says: str) -> HttpResponse:
    messages.success(request, says)
    return redirect("pages:incident", farm_code=farm.code, incident_id=incident_id)


def _list(request: HttpRequest, farm: Farm, boxes: Boxes | None = None) -> HttpResponse:
    asked = request.GET.get("kind", "")
    kind = asked if asked in IncidentKind.values else ""
    writes = Role.MANAGER in request.farm_roles  # type: ignore[attr-defined]
    blank = incidents_page.blank_form(farm=farm, now=clock.now())

    def facts() -> dict[str, Any]:
        told = incidents_page.list_facts(farm=farm, kind=kind)
        return {"farm": farm, "writes": writes, "typed": blank, "wrong": {}, **told}

    body = body_with_forms(
        request,
        "pages/incidents_body.html",
        kept=KeptParts(partial(incidents_mark, farm=farm), of=("incidents", farm.pk)),
        asked=(kind, writes),
        facts=facts,
        fresh={name: partial(blank.__getitem__, name) for name in ("day", "hour")},
        refused=None if boxes is None else {"typed": boxes.typed, "wrong": boxes.wrong},
    )
    context = {"farm": farm, "place": "incidents", "body": body}
    return render(request, "pages/incidents.html", context, status=422 if boxes else 200)


def _one(
    request: HttpRequest, farm: Farm, facts: IncidentFacts, form: str = "", boxes: Boxes | None = None
) -> HttpResponse:
    shown = incidents_page.one_facts(farm=farm, facts=facts)
    blank = shown.pop("blank")
    context = {
        "farm": farm,
        **shown,
        "where": shown["place"],
        "place": "incidents",
        "ids": {name: uuid.uuid4() for name in ("place", "mend", "bill", "join")},
        "typed": blank | ({form: boxes.typed} if boxes else {}),
        "wrong": {form: boxes.wrong} if boxes else {},
        "form": form,
    }
    return render(request, "pages/incident.html", context, status=422 if boxes else 200)
