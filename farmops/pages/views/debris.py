"""Punctures and debris by field, the numbers of a walk, and a walk proposed on one button."""

from decimal import Decimal
from functools import cache, partial
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.middleware.csrf import get_token
from django.shortcuts import get_object_or_404, redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.desk.days import working_day
from farmops.desk.debris_marks import debris_mark
from farmops.desk.debris_worth import propose
from farmops.farms.models import Farm, Field, Membership, Role
from farmops.pages import debris_page
from farmops.pages.access import for_roles
from farmops.pages.asked_days import asked_page
from farmops.pages.boxes import Boxes
from farmops.pages.kept_parts import KeptParts
from farmops.pages.views.planning import planned_again
from ledger.costing.money import MoneyError, cents_from
from ledger.selectors.said import money_said
from scheduling.models import FieldPass
from scheduling.selectors.debris import walk_before
from scheduling.services.debris import call_walk_off, set_debris_numbers


@for_roles(Role.MANAGER)
def debris(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show every field's punctures per 1,000 acres, and where a walk is worth it."""
    return _farm_page(request, farm)


@for_roles(Role.MANAGER)
def field_debris(request: HttpRequest, farm: Farm, membership: Membership, code: str) -> HttpResponse:
    """Show one field's punctures on its map, and the reckoning of a walk."""
    return _field_page(request, farm, get_object_or_404(Field, farm=farm, code=code))


@require_POST
@for_roles(Role.MANAGER)
def numbers(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Keep the farm's numbers of a walk; an empty box takes it from rates, bills and reports."""
    boxes = Boxes(request.POST)
    code = boxes.text("field")
    field = get_object_or_404(Field, farm=farm, code=code) if code else None
    asked: dict[str, Any] = {
        name: boxes.number(name, says=_("Give a number."))
        for name in ("found_share_pct", "swath_ft", "walk_mph")
    }
    asked["lost_h"] = boxes.number_if_any("lost_h")
    for box, fact in debris_page.FACT_OF_BOX.items():
        asked[fact] = _cents(boxes, box)
    if not boxes.wrong:
        try:
            set_debris_numbers(farm=farm, **asked)
        except DomainError as error:
            names = {fact: box for box, fact in debris_page.FACT_OF_BOX.items()}
            boxes.refused(error, otherwise="found_share_pct", names=names)
    if boxes.wrong:
        return (
            _field_page(request, farm, field, boxes)
            if field is not None
            else _farm_page(request, farm, boxes)
        )
    messages.success(request, _("Kept: the numbers of a walk."))
    if field is not None:
        return redirect("pages:field_debris", farm_code=farm.code, code=field.code)
    return redirect("pages:debris", farm_code=farm.code)


@require_POST
@for_roles(Role.MANAGER)
def walk(request: HttpRequest, farm: Farm, membership: Membership, code: str) -> HttpResponse:
    """Put a debris walk before the pass that the page showed and, where asked, plan again at once."""
    field = get_object_or_404(Field, farm=farm, code=code)
    boxes = Boxes(request.POST)
    before = _before(farm, field, boxes)
    back = reverse("pages:field_debris", args=[farm.code, field.code])
    try:
        _walk, is_new = propose(farm=farm, field=field, field_pass=before, now=clock.now())
    except DomainError as error:
        messages.error(request, error.says)
        return redirect(back)
    kept = (
        _("A debris walk on {field} waits.").format(field=field.name)
        if is_new
        else _("That walk waits already.")
    )
    if boxes.text("then") == "plan":
        return planned_again(request, farm, kept=kept, back=back)
    messages.success(request, " ".join((kept, _("Plan again, and the week holds it where it pays."))))
    return redirect(back)


@require_POST
@for_roles(Role.MANAGER)
def call_off(request: HttpRequest, farm: Farm, membership: Membership, code: str) -> HttpResponse:
    """Call off the debris walk that comes before a pass."""
    field = get_object_or_404(Field, farm=farm, code=code)
    boxes = Boxes(request.POST)
    row = walk_before(field_pass=_before(farm, field, boxes))
    if row is None:
        messages.success(request, _("No walk waits there any more."))
    else:
        try:
            call_walk_off(walk=row, now=clock.now())
            messages.success(
                request,
                _(
                    "Kept: {field} is not walked after all. Plan again, and the week goes on without it."
                ).format(field=field.name),
            )
        except DomainError as error:
            messages.error(request, error.says)
    if boxes.text("back") == "week":
        return redirect("pages:week", farm_code=farm.code)
    came_from = "pages:field" if boxes.text("back") == "field" else "pages:field_debris"
    return redirect(came_from, farm_code=farm.code, code=field.code)


def _before(farm: Farm, field: Field, boxes: Boxes) -> FieldPass:
    """Return the pass that a form's walk comes before."""
    pass_id = boxes.row_id("before")
    if pass_id is None:
        raise Http404
    return get_object_or_404(FieldPass, farm=farm, season__field=field, pk=pass_id)


def _cents(boxes: Boxes, name: str) -> int | None:
    dollars: Decimal | None = boxes.number_if_any(name)
    if dollars is None:
        return None
    try:
        return cents_from(dollars)
    except MoneyError as error:
        boxes.wrong[name] = money_said(error)
        return None


def _farm_page(request: HttpRequest, farm: Farm, boxes: Boxes | None = None) -> HttpResponse:
    now, page = clock.now(), asked_page(request.GET)
    day = working_day(farm=farm, today=clock.local_date(now, farm.zone))
    facts = cache(partial(debris_page.farm_facts, farm=farm, now=now, page=page))
    kept = KeptParts(partial(debris_mark, farm=farm), of=farm.pk)
    body = kept.part("pages/debris_body.html", asked=(day, page), facts=lambda: {"farm": farm, **facts()})
    numbers = kept.values("numbers", asked=day, make=lambda: facts()["numbers"])
    shown = {"body": body, "numbers": numbers if boxes is None else _as_typed(numbers, boxes)}
    return _shown(request, farm, "pages/debris.html", shown, boxes)


def _field_page(request: HttpRequest, farm: Farm, field: Field, boxes: Boxes | None = None) -> HttpResponse:
    now = clock.now()
    day = working_day(farm=farm, today=clock.local_date(now, farm.zone))
    template = "pages/field_debris_body.html"

    def facts() -> dict[str, Any]:
        told = debris_page.field_facts(farm=farm, field=field, now=now)
        return {"farm": farm, "is_refused": boxes is not None, **told}

    if boxes is None:
        kept = KeptParts(partial(debris_mark, farm=farm), of=farm.pk)
        own = {"csrf_token": partial(get_token, request)}
        body = kept.part(template, asked=(field.pk, day), facts=facts, own=own)
    else:
        told = facts()
        told["numbers"] = _as_typed(told["numbers"], boxes)
        body = mark_safe(render_to_string(template, told, request))
    return _shown(request, farm, "pages/field_debris.html", {"field": field, "body": body}, boxes)


def _as_typed(numbers: list[dict[str, Any]], boxes: Boxes) -> list[dict[str, Any]]:
    """Return the boxes of the numbers as they were typed, each with what is wrong with it."""
    return [
        box | {"value": boxes.typed.get(box["name"], ""), "wrong": boxes.wrong.get(box["name"], "")}
        for box in numbers
    ]


def _shown(
    request: HttpRequest, farm: Farm, template: str, facts: dict[str, Any], boxes: Boxes | None
) -> HttpResponse:
    context = {"farm": farm, "place": "incidents", "is_refused": boxes is not None, **facts}
    return render(request, template, context, status=422 if boxes is not None else 200)
