"""Fields: their ground, their windows, and the grower's own word."""

import uuid
from dataclasses import replace
from functools import partial
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.middleware.csrf import get_token
from django.shortcuts import get_object_or_404, redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.desk.days import known_day
from farmops.farms.models import Farm, Field, Membership, Role
from farmops.farms.services.facts import FactTaken
from farmops.farms.services.field_soil import describe_soil
from farmops.pages import field_page, words
from farmops.pages.access import for_roles
from farmops.pages.boxes import Boxes
from farmops.pages.field_kept import field_mark
from farmops.pages.field_list_page import Asked, list_facts, list_mark, listed, seasons_mark
from farmops.pages.field_notes import FORMS, say_so_said
from farmops.pages.field_soil import refused_rows, soils_told, stored_rows
from farmops.pages.kept_parts import KeptParts, hole
from farmops.pages.start_choices import texture_choices
from farmops.pages.views.planning import planned_again
from scheduling.models import SaySoWord
from scheduling.services.say_so import say_so

BODY = "pages/field_body.html"


@for_roles(Role.MANAGER)
def field_list(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show the fields that the address asks for, on a map and as lines."""
    now, asked = clock.now(), Asked.of(request.GET)
    today = clock.local_date(now, farm.zone)
    known = known_day(farm=farm, today=today)
    told = (asked, today, known)
    marked = KeptParts(partial(list_mark, farm=farm, known=known), of=farm.pk)
    of = marked.values(
        "fields",
        asked=told,
        make=partial(listed, farm=farm, known=known, now=now, asked=asked),
        is_worth=lambda made: made.page == asked.page,
    )
    asked = replace(asked, page=of.page)
    facts = partial(list_facts, farm=farm, today=today, known=known, now=now, asked=asked, of=of)
    body = marked.with_mark(partial(seasons_mark, of)).part(
        "pages/fields_body.html",
        asked=(farm.code, asked, today, known),
        facts=lambda: {"farm": farm, **facts()},
    )
    context = {"farm": farm, "place": "fields", "body": body}
    return render(request, "pages/fields.html", context)


@for_roles(Role.MANAGER)
def field(request: HttpRequest, farm: Farm, membership: Membership, code: str) -> HttpResponse:
    """Show one field's ground and windows."""
    row = get_object_or_404(Field.objects.select_related("pivot__pump"), farm=farm, code=code)
    return field_shown(request, farm, row)


def field_shown(
    request: HttpRequest, farm: Farm, row: Field, *, form: str = "", boxes: Boxes | None = None
) -> HttpResponse:
    """Return a field's page; with the boxes of a form that was refused, what was typed into it and what is wrong."""
    body = _kept_body(request, farm, row) if boxes is None else _refused_body(request, farm, row, form, boxes)
    context = {"farm": farm, "field": row, "place": "fields", "body": body}
    return render(request, "pages/field.html", context, status=422 if boxes else 200)


def _kept_body(request: HttpRequest, farm: Farm, row: Field) -> SafeString:
    """Return a field's page but for its head, kept while nothing of it changes."""
    now = clock.now()
    here = now.astimezone(ZoneInfo(farm.zone))
    known = known_day(farm=farm, today=here.date())

    def facts() -> dict[str, Any]:
        told = field_page.field_facts(farm=farm, field=row, now=now, hour=hole("hour"))
        ids = {name: hole(f"id_{name}") for name in FORMS}
        return {
            "farm": farm,
            **told,
            "ids": ids,
            "typed": told["blank"],
            "soils": stored_rows(told["zones"]),
            "textures": texture_choices(),
        }

    return KeptParts(
        partial(field_mark, farm=farm, field=row, first=known.day, as_of=known.as_of), of=farm.pk
    ).part(
        BODY,
        asked=(row.pk, here.date(), known),
        facts=facts,
        own={
            "csrf_token": partial(get_token, request),
            "hour": lambda: f"{here:%H:%M}",
            **{f"id_{name}": lambda: str(uuid.uuid4()) for name in FORMS},
        },
    )


def _refused_body(request: HttpRequest, farm: Farm, row: Field, form: str, boxes: Boxes) -> SafeString:
    facts = field_page.field_facts(farm=farm, field=row, now=clock.now())
    soils = stored_rows(facts["zones"])
    context: dict[str, Any] = {
        "farm": farm,
        **facts,
        "ids": {name: uuid.uuid4() for name in FORMS},
        "typed": facts["blank"] | {form: boxes.typed},
        "wrong": {form: boxes.wrong},
        "form": form,
        "soils": refused_rows(soils, boxes) if form == "soil" else soils,
        "textures": texture_choices(),
    }
    return render_to_string(BODY, context, request)


@require_POST
@for_roles(Role.MANAGER)
def say(request: HttpRequest, farm: Farm, membership: Membership, code: str) -> HttpResponse:
    """Keep the grower's word on a field for a day and, where asked, plan again from it at once."""
    row = get_object_or_404(Field, farm=farm, code=code)
    boxes = Boxes(request.POST)
    day = boxes.day("day")
    word = boxes.one_of("word", SaySoWord.values, says=_("Say fit, not before an hour, or not today."))
    after_at = boxes.hour("after_at") if word == SaySoWord.AFTER else None
    zone_id = boxes.row_id("zone")
    if boxes.wrong or day is None:
        return field_shown(request, farm, row, form="say", boxes=boxes)
    try:
        said = say_so(
            farm=farm,
            field=row,
            zone=get_object_or_404(row.zones, pk=zone_id) if zone_id is not None else None,
            day=day,
            word=word,
            after_at=after_at,
            said_by=request.user,
            client_id=boxes.client_id(),
            now=clock.now(),
        )
    except DomainError as error:
        boxes.refused(error, otherwise="word")
        return field_shown(request, farm, row, form="say", boxes=boxes)
    if said.is_taken_back:
        boxes.taken_back("word")
        return field_shown(request, farm, row, form="say", boxes=boxes)
    told = _("Kept for {day}: {word}.")
    kept = words.one_stop(told.format(day=words.long_date(day), word=say_so_said(said.word, said.after_at)))
    if boxes.text("then") == "plan":
        back = f"{reverse('pages:field', args=[farm.code, row.code])}#know"
        return planned_again(request, farm, kept=kept, back=back)
    messages.success(request, " ".join((kept, _("Plan again to use it."))))
    return redirect("pages:field", farm_code=farm.code, code=code)


@require_POST
@for_roles(Role.MANAGER)
def soil(request: HttpRequest, farm: Farm, membership: Membership, code: str) -> HttpResponse:
    """Keep of what soils a field is; sent twice it changes nothing more."""
    row = get_object_or_404(Field, farm=farm, code=code)
    boxes = Boxes(request.POST)
    told, row_of, emptied = soils_told(boxes, len(stored_rows(list(row.zones.all()))))
    if not boxes.wrong:
        try:
            describe_soil(field=row, soils=told)
        except DomainError as error:
            names = {
                f"{name}-{at}": f"{name}-{number}"
                for at, number in row_of.items()
                for name in ("name", "texture", "share_pct")
            }
            first = f"name-{emptied[0]}" if emptied and isinstance(error, FactTaken) else "share_pct-0"
            boxes.refused(error, otherwise=first, names={**names, "zones": first})
    if boxes.wrong:
        return field_shown(request, farm, row, form="soil", boxes=boxes)
    messages.success(request, _("The soil of {field} is kept.").format(field=row.name))
    return redirect("pages:field", farm_code=farm.code, code=code)
