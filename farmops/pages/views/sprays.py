"""Spray records: what they hold and lack, writing one down, correcting it, and the year on paper."""

import datetime as dt
from collections.abc import Mapping
from functools import partial
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.middleware.csrf import get_token
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from farmops.core import clock
from farmops.core.api.fields import day_from
from farmops.core.problems import DomainError
from farmops.farms.models import Farm, Membership, Role
from farmops.pages.access import for_roles
from farmops.pages.asked_days import asked_page, is_near
from farmops.pages.boxes import Boxes, plain
from farmops.pages.kept_forms import new_id
from farmops.pages.kept_parts import KeptParts
from farmops.pages.spray_form import NAMES, ask_of_twin, form_facts, read_form, typed_of_pass, typed_of_record
from farmops.pages.spray_page import print_facts, spray_facts
from scheduling.models import FieldPass, Spraying
from scheduling.selectors.spray_marks import records_mark, sprays_mark
from scheduling.selectors.sprays import standing_sprayings
from scheduling.services.sprayings import record_spraying, take_back_spraying


@for_roles(Role.MANAGER, Role.BOOKKEEPER)
def sprays(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show the spray records, what they lack and what is not written down."""
    writes = Role.MANAGER in request.farm_roles  # type: ignore[attr-defined]
    write_at = reverse("pages:write_spray", args=[farm.code]) if writes else ""
    now, page, records_page = clock.now(), asked_page(request.GET), asked_page(request.GET, "records")

    def facts() -> dict[str, Any]:
        told = spray_facts(farm=farm, now=now, page=page, records_page=records_page, write_at=write_at)
        return {"farm": farm, "writes": writes, **told}

    body = KeptParts(partial(sprays_mark, farm=farm), of=("sprays", farm.pk)).part(
        "pages/sprays_body.html",
        asked=(clock.local_date(now, farm.zone), page, records_page, write_at),
        facts=facts,
        own={"csrf_token": partial(get_token, request), "take_back_id": new_id},
    )
    return render(request, "pages/sprays.html", {"farm": farm, "place": "fields", "body": body})


@for_roles(Role.MANAGER, Role.BOOKKEEPER)
def on_paper(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show the records of a year as they are printed for who may ask to see them."""
    now = clock.now()
    asked = request.GET.get("year", "")
    is_year = asked.isascii() and asked.isdecimal() and len(asked) == 4
    today = clock.local_date(now, farm.zone)
    year = int(asked) if is_year else today.year
    body = KeptParts(partial(records_mark, farm=farm), of=("sprays-on-paper", farm.pk)).part(
        "pages/sprays_on_paper_body.html",
        asked=(year, today),
        facts=lambda: {"farm": farm, **print_facts(farm=farm, year=year, now=now)},
        keep=is_near(year, farm),
    )
    context = {"farm": farm, "place": "fields", "year": year, "body": body}
    return render(request, "pages/sprays_on_paper.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@for_roles(Role.MANAGER)
def write_down(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Offer the form of a record, filled with what is known of a pass, and keep it; sent twice it is one."""
    if request.method == "POST":
        return _kept(request, farm, None)
    return _form(request, farm, typed=_of_pass(request, farm))


@require_http_methods(["GET", "HEAD", "POST"])
@for_roles(Role.MANAGER)
def correct(request: HttpRequest, farm: Farm, membership: Membership, row_id: int) -> HttpResponse:
    """Offer a record to be corrected, and keep the correction in its place."""
    rows = Spraying.objects.filter(farm=farm).select_related("detail", "sprayed_by")
    row = get_object_or_404(rows, pk=row_id)
    if request.method == "POST":
        return _kept(request, farm, row)
    if Spraying.objects.filter(supersedes=row, is_taken_back=True).exists():
        messages.error(request, _("This row was taken back; write a new one instead."))
        return redirect("pages:sprays", farm_code=farm.code)
    if not standing_sprayings(farm=farm).filter(pk=row.pk).exists():
        raise Http404
    return _form(request, farm, corrected=row, typed=typed_of_record(row, farm.zone))


@require_POST
@for_roles(Role.MANAGER)
def take_back(request: HttpRequest, farm: Farm, membership: Membership, row_id: int) -> HttpResponse:
    """Keep that a spraying never was; pressed twice it is the same."""
    row = get_object_or_404(Spraying, farm=farm, pk=row_id)
    try:
        take_back_spraying(
            spraying=row,
            client_id=Boxes(request.POST).client_id(),
            recorded_by=request.user,  # type: ignore[arg-type]
            now=clock.now(),
        )
    except DomainError as error:
        messages.error(request, plain(error.says))
    else:
        messages.success(request, _("That was taken back. The row itself is kept for the two years."))
    return redirect("pages:sprays", farm_code=farm.code)


def _kept(request: HttpRequest, farm: Farm, corrected: Spraying | None) -> HttpResponse:
    boxes = Boxes(request.POST)
    typed = read_form(boxes, farm)
    if typed is not None and corrected is None:
        ask_of_twin(boxes, farm=farm, typed=typed)
    if typed is not None and not boxes.wrong:
        try:
            record_spraying(
                farm=farm,
                client_id=boxes.client_id(),
                supersedes=corrected,
                recorded_by=request.user,  # type: ignore[arg-type]
                now=clock.now(),
                **vars(typed),
            )
        except DomainError as error:
            boxes.refused(error, otherwise="field", names=NAMES)
        else:
            messages.success(
                request, _("The spraying of {field} is written down.").format(field=typed.field.name)
            )
            return redirect("pages:sprays", farm_code=farm.code)
    return _form(request, farm, corrected=corrected, typed=boxes.typed, wrong=boxes.wrong)


def _form(
    request: HttpRequest,
    farm: Farm,
    *,
    corrected: Spraying | None = None,
    typed: Mapping[str, Any] | None = None,
    wrong: Mapping[str, str] | None = None,
) -> HttpResponse:
    today = clock.local_date(clock.now(), farm.zone)
    context = {
        "farm": farm,
        "place": "fields",
        "corrected": corrected,
        **form_facts(farm=farm, today=today, typed=typed, wrong=wrong),
    }
    return render(request, "pages/spray_form.html", context, status=422 if wrong else 200)


def _of_pass(request: HttpRequest, farm: Farm) -> dict[str, Any] | None:
    asked = request.GET.get("pass", "")
    if not (asked.isascii() and asked.isdecimal() and len(asked) <= 15):
        return None
    passes = FieldPass.objects.filter(farm=farm).select_related("season__field")
    field_pass = get_object_or_404(passes, pk=int(asked))
    work = field_pass.work_records.filter(superseded_by__isnull=True).select_related("hand")
    last = work.order_by("work_on", "pk").last()
    day: dt.date = clock.local_date(clock.now(), farm.zone)
    try:
        day = day_from(request.GET.get("day", ""))
    except ValueError:
        day = last.work_on if last is not None else day
    return typed_of_pass(field_pass, day=day, hand=last.hand if last is not None else None)
