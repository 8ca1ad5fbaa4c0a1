"""One form away on a field's page: what the gauge and the thermometer show, and a remark on the ground."""

import datetime as dt
import uuid
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.farms.models import Farm, Field, Membership, Role, SoilZone
from farmops.pages import words
from farmops.pages.access import for_roles
from farmops.pages.boxes import Boxes
from farmops.pages.field_notes import remark_choices
from farmops.pages.views.fields import field_shown
from farmops.weather.models import GaugeReading, SoilReading
from farmops.weather.services.field_readings import (
    record_gauge,
    record_soil_reading,
    take_back_gauge,
    take_back_soil_reading,
)
from scheduling.models import Remark, RemarkWord, SaySo
from scheduling.services.remarks import record_remark
from scheduling.services.say_so import take_back_word


@require_POST
@for_roles(Role.MANAGER)
def gauge(request: HttpRequest, farm: Farm, membership: Membership, code: str) -> HttpResponse:
    """Keep the inches in a field's gauge; sent twice it is one reading."""
    row, boxes = _asked(request, farm, code)
    day, rain_in = boxes.day("day"), boxes.number("rain_in", says=_("Give the inches; 0 where none fell."))
    if day is None or rain_in is None or boxes.wrong:
        return field_shown(request, farm, row, form="gauge", boxes=boxes)
    try:
        kept, _is_new = record_gauge(
            farm=farm,
            field=row,
            day=day,
            rain_in=rain_in,
            client_id=boxes.client_id(),
            recorded_by=request.user,  # type: ignore[arg-type]
            now=clock.now(),
        )
    except DomainError as error:
        boxes.refused(error, otherwise="rain_in")
        return field_shown(request, farm, row, form="gauge", boxes=boxes)
    if hasattr(kept, "superseded_by"):
        boxes.taken_back("rain_in")
        return field_shown(request, farm, row, form="gauge", boxes=boxes)
    told = _("Kept: {inches} in of rain on {day} at {field}.").format(
        inches=kept.rain_in, day=words.long_date(day), field=row.name
    )
    return _back(request, farm, row, told)


@require_POST
@for_roles(Role.MANAGER)
def thermometer(request: HttpRequest, farm: Farm, membership: Membership, code: str) -> HttpResponse:
    """Keep what a thermometer showed in the ground; sent twice it is one reading."""
    row, boxes = _asked(request, farm, code)
    read_at = _instant(boxes, farm)
    depth_in = boxes.number("depth_in", says=_("Give the depth in inches."))
    temp_f = boxes.number("temp_f", says=_("Give the degrees in °F."))
    if read_at is None or depth_in is None or temp_f is None or boxes.wrong:
        return field_shown(request, farm, row, form="thermometer", boxes=boxes)
    try:
        kept, _is_new = record_soil_reading(
            farm=farm,
            field=row,
            zone=_zone(boxes, row),
            read_at=read_at,
            depth_in=depth_in,
            temp_f=temp_f,
            client_id=boxes.client_id(),
            recorded_by=request.user,  # type: ignore[arg-type]
            now=clock.now(),
        )
    except DomainError as error:
        boxes.refused(error, otherwise="temp_f", names={"read_at": "hour"})
        return field_shown(request, farm, row, form="thermometer", boxes=boxes)
    if hasattr(kept, "superseded_by"):
        boxes.taken_back("temp_f")
        return field_shown(request, farm, row, form="thermometer", boxes=boxes)
    told = _("Kept: {degrees} °F at {depth} in, {field}.").format(
        degrees=f"{temp_f.normalize():f}", depth=f"{depth_in.normalize():f}", field=row.name
    )
    return _back(request, farm, row, told)


@require_POST
@for_roles(Role.MANAGER)
def remark(request: HttpRequest, farm: Farm, membership: Membership, code: str) -> HttpResponse:
    """Keep that the ground was too wet, too dry or fit for some work; sent twice it is one remark."""
    row, boxes = _asked(request, farm, code)
    what = boxes.one_of("what", RemarkWord.values, says=_("Say too wet, too dry or fits."))
    known = [value for value, _said in remark_choices()["operations"]]
    operation = boxes.one_of("operation", known, says=_("Say for which work."))
    said_at, note = _instant(boxes, farm), boxes.note("note")
    if said_at is None or boxes.wrong:
        return field_shown(request, farm, row, form="remark", boxes=boxes)
    try:
        kept, _is_new = record_remark(
            farm=farm,
            client_id=boxes.client_id(),
            field=row,
            zone=_zone(boxes, row),
            said_at=said_at,
            what=what,
            operation=operation,
            note=note,
            said_by=request.user,  # type: ignore[arg-type]
            now=clock.now(),
        )
    except DomainError as error:
        boxes.refused(error, otherwise="what", names={"said_at": "hour"})
        return field_shown(request, farm, row, form="remark", boxes=boxes)
    if hasattr(kept, "superseded_by"):
        boxes.taken_back("what")
        return field_shown(request, farm, row, form="remark", boxes=boxes)
    told = _("Kept what you say of {field}. The ground below reckons with it.")
    return _back(request, farm, row, told.format(field=row.name))


@require_POST
@for_roles(Role.MANAGER)
def take_back(
    request: HttpRequest, farm: Farm, membership: Membership, code: str, remark_id: int
) -> HttpResponse:
    """Take a remark back, as a row of its own; pressed twice it is taken back once."""
    row = get_object_or_404(Field, farm=farm, code=code)
    said = get_object_or_404(Remark, farm=farm, field=row, pk=remark_id)
    try:
        record_remark(
            farm=farm,
            client_id=uuid.uuid5(said.client_id, "taken back"),  # not said
            field=row,
            zone=said.zone,
            said_at=said.said_at,
            what=said.what,
            operation=said.operation,
            is_taken_back=True,
            supersedes=said,
            said_by=request.user,  # type: ignore[arg-type]
            now=clock.now(),
        )
    except DomainError as error:
        messages.error(request, words.dates_said(error.says))
        return redirect("pages:field", farm_code=farm.code, code=code)
    return _back(request, farm, row, _("The remark on {field} is taken back.").format(field=row.name))


@require_POST
@for_roles(Role.MANAGER)
def take_back_note(
    request: HttpRequest, farm: Farm, membership: Membership, code: str, kind: str, row_id: int
) -> HttpResponse:
    """Take a word or a reading back; pressed twice it is taken back once."""
    row, now = get_object_or_404(Field, farm=farm, code=code), clock.now()
    by: Any = request.user
    match kind:
        case "say":
            take_back_word(word=get_object_or_404(SaySo, farm=farm, field=row, pk=row_id))
            says = _("The word on {field} is taken back.")
        case "gauge":
            gauges = GaugeReading.objects.filter(is_taken_back=False)
            take_back_gauge(
                reading=get_object_or_404(gauges, farm=farm, field=row, pk=row_id), by=by, now=now
            )
            says = _("The gauge reading of {field} is taken back.")
        case "thermometer":
            soils = SoilReading.objects.filter(is_taken_back=False)
            found = get_object_or_404(soils, farm=farm, field=row, pk=row_id)
            take_back_soil_reading(reading=found, by=by, now=now)
            says = _("The thermometer's reading on {field} is taken back.")
        case _unknown:
            raise Http404
    return _back(request, farm, row, says.format(field=row.name))


def _asked(request: HttpRequest, farm: Farm, code: str) -> tuple[Field, Boxes]:
    row = get_object_or_404(Field.objects.select_related("pivot__pump"), farm=farm, code=code)
    return row, Boxes(request.POST)


def _instant(boxes: Boxes, farm: Farm) -> dt.datetime | None:
    """Return the day and hour of a form on the farm's clock."""
    day, hour = boxes.day("day"), boxes.hour("hour")
    return None if day is None or hour is None else dt.datetime.combine(day, hour, ZoneInfo(farm.zone))


def _zone(boxes: Boxes, row: Field) -> SoilZone | None:
    zone_id = boxes.row_id("zone")
    return get_object_or_404(row.zones, pk=zone_id) if zone_id is not None else None


def _back(request: HttpRequest, farm: Farm, row: Field, says: str) -> HttpResponse:
    messages.success(request, says)
    return redirect(reverse("pages:field", args=[farm.code, row.code]))
