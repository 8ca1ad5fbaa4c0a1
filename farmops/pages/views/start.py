"""Setting a farm up: the farm itself, the steps, crops and soil, and the people who sign in."""

from typing import Any

from django.contrib import messages
from django.contrib.auth.views import PasswordResetConfirmView
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse, reverse_lazy
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.models import Language, User
from farmops.core.problems import DomainError
from farmops.farms.models import Crop, Farm, Field, Membership, Role
from farmops.farms.services.facts import change_fact
from farmops.farms.services.outline_fields import hand_in_outlines, middle_of
from farmops.farms.services.starting import (
    FieldFacts,
    add_person,
    begin_farm,
    place_of,
    set_field_facts,
    welcome_of,
)
from farmops.pages import words
from farmops.pages.access import for_roles, signed_in
from farmops.pages.boxes import Boxes
from farmops.pages.start_choices import clock_choices, texture_choices
from farmops.pages.start_fields_page import fields_facts
from farmops.pages.start_page import start_facts
from farmops.pages.start_people_page import people_facts
from farmops.pages.views.start_uploads import content_of

PLACE_BOXES = ("name", "zone", "place", "elevation_ft", "road_address", "boss_name", "boss_phone")

NEXT_CROP_FROM_MONTH = 11
"""Farm judgement: from November on the crop that one enters is that of next year."""


@signed_in
def begin(request: HttpRequest) -> HttpResponse:
    """Begin a farm: its name, clock and place; who runs the service becomes its manager."""
    assert isinstance(request.user, User), "only who is signed in comes here"
    if not request.user.is_superuser:
        raise PermissionDenied
    boxes = Boxes(request.POST)
    if request.method == "POST":
        content = content_of(request, boxes, "file", is_needed=False)
        values = _place_values(boxes, content)
        if not boxes.wrong:
            try:
                farm = begin_farm(values=values, begun_by=request.user, now=clock.now())
            except DomainError as error:
                _refused(boxes, error)
            else:
                messages.success(request, _("{farm} is begun.").format(farm=farm.name))
                if content is None:
                    return redirect("pages:start", farm_code=farm.code)
                name = request.FILES["file"].name or ""  # type: ignore[union-attr]
                hand_in_outlines(farm=farm, content=content, name=name, made_by=request.user, now=clock.now())
                return redirect("pages:start_boundaries", farm_code=farm.code)
    near, others = clock_choices()
    context = {"typed": boxes.typed, "wrong": boxes.wrong, "near": near, "others": others, "is_new": True}
    return render(request, "pages/start_place.html", context, status=422 if boxes.wrong else 200)


@for_roles(Role.MANAGER)
def place(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Change the name, the clock and the place of the farm."""
    boxes = Boxes(request.POST)
    typed = {name: getattr(farm, name, "") for name in PLACE_BOXES}
    typed["place"] = f"{farm.latitude_deg.normalize():f}, {farm.longitude_deg.normalize():f}"
    typed["elevation_ft"] = f"{farm.elevation_ft.normalize():f}"
    if request.method == "POST":
        typed = boxes.typed
        values = _place_values(boxes, None)
        if not boxes.wrong:
            try:
                change_fact(row=farm, values=values)
            except DomainError as error:
                _refused(boxes, error)
            else:
                messages.success(request, _("Kept."))
                return redirect("pages:start", farm_code=farm.code)
    near, others = clock_choices()
    context = {
        "farm": farm,
        "place": "start",
        "typed": typed,
        "wrong": boxes.wrong,
        "near": near,
        "others": others,
    }
    return render(request, "pages/start_place.html", context, status=422 if boxes.wrong else 200)


@for_roles(Role.MANAGER)
def start(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show what of the farm is there and what comes next."""
    return render(request, "pages/start.html", {"farm": farm, "place": "start", **start_facts(farm=farm)})


@for_roles(Role.MANAGER)
def fields(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show crop, soil and acres of each field, and keep what is changed."""
    today = clock.local_date(clock.now(), farm.zone)
    boxes = Boxes(request.POST)
    page = request.GET.get("page", "1")
    next_crop = today.year + (today.month >= NEXT_CROP_FROM_MONTH)
    year_said = request.POST.get("crop_year") or request.GET.get("year") or str(next_crop)
    crop_year = (
        int(year_said) if year_said.isascii() and year_said.isdecimal() and len(year_said) == 4 else next_crop
    )
    if request.method == "POST":
        facts = _field_facts(boxes, farm)
        if not boxes.wrong:
            try:
                changed = set_field_facts(farm=farm, crop_year=crop_year, facts=facts)
            except DomainError as error:
                at = next(iter(error.fields), "crop")
                boxes.wrong[at] = words.ended(words.capital(error.says))
            else:
                said = ngettext("{count} field is changed.", "{count} fields are changed.", changed)
                messages.success(request, said.format(count=changed))
                back = "pages:start_fields" if request.POST.get("then") == "stay" else "pages:start"
                return redirect(back, farm_code=farm.code)
    context = {
        "farm": farm,
        "place": "start",
        "textures": texture_choices(),
        "crops": [(value, words.named(label)) for value, label in Crop.choices],
        "crop_year": crop_year,
        "wrong": boxes.wrong,
        **fields_facts(
            farm=farm,
            crop_year=crop_year,
            page=int(page) if page.isascii() and page.isdecimal() and len(page) < 5 else 1,
            typed=boxes.typed if request.method == "POST" else None,
            wrong=boxes.wrong,
        ),
    }
    return render(request, "pages/start_fields.html", context, status=422 if boxes.wrong else 200)


@for_roles(Role.MANAGER)
def people(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show who signs in, and take somebody on."""
    boxes = Boxes(request.POST)
    if request.method == "POST":
        values: dict[str, Any] = {
            name: boxes.note(name) for name in ("name", "username", "email", "language")
        }
        values["roles"] = [
            role for role in (Role.MANAGER, Role.BOOKKEEPER) if role in request.POST.getlist("roles")
        ]
        if not values["name"]:
            boxes.wrong["name"] = _("Give the name.")
        if not values["roles"]:
            boxes.wrong["roles"] = _("Choose what he or she does here.")
        if not boxes.wrong:
            try:
                person = add_person(farm=farm, values=values)
            except DomainError as error:
                _refused(boxes, error)
            else:
                messages.success(
                    request,
                    _(
                        "{person} is taken on. Make the link for choosing a password, and hand it over."
                    ).format(person=person.get_full_name() or person.username),
                )
                return redirect("pages:start_people", farm_code=farm.code)
    context = {
        "farm": farm,
        "place": "start",
        "typed": {
            "language": words.speaking(),
            **boxes.typed,
            "roles": request.POST.getlist("roles"),
        },
        "wrong": boxes.wrong,
        "languages": Language.choices,
        **people_facts(farm=farm),
    }
    return render(request, "pages/start_people.html", context, status=422 if boxes.wrong else 200)


@require_POST
@for_roles(Role.MANAGER)
def welcome_link(request: HttpRequest, farm: Farm, membership: Membership, user_id: int) -> HttpResponse:
    """Make the address at which somebody who was taken on chooses a password; shown once, to be handed over."""
    try:
        person, uid, token = welcome_of(farm=farm, user_id=user_id)
    except DomainError as error:
        messages.error(request, error.says)
        return redirect("pages:start_people", farm_code=farm.code)
    address = request.build_absolute_uri(reverse("pages:welcome", args=[uid, token]))
    context = {
        "farm": farm,
        "place": "start",
        "typed": {},
        "wrong": {},
        "languages": Language.choices,
        "address": address,
        "address_of": person.get_full_name() or person.username,
        **people_facts(farm=farm),
    }
    answer = render(request, "pages/start_people.html", context)
    answer["Cache-Control"] = "no-store"
    return answer


class Welcome(PasswordResetConfirmView):
    """Where somebody who was taken on chooses a password; the address works once, and some days long."""

    template_name = "pages/welcome.html"
    success_url = reverse_lazy("pages:sign_in")


def _place_values(boxes: Boxes, content: bytes | None) -> dict[str, Any]:
    values: dict[str, Any] = {
        name: boxes.note(name) for name in ("name", "zone", "road_address", "boss_name", "boss_phone")
    }
    if not values["name"]:
        boxes.wrong["name"] = _("Give the farm a name.")
    if not values["zone"]:
        boxes.wrong["zone"] = _("Choose the clock.")
    values["elevation_ft"] = boxes.number(
        "elevation_ft", says=_("Give the feet above the sea; within 100 is near enough.")
    )
    said = boxes.text("place")
    found = place_of(said)
    if found is None and said:
        boxes.wrong["place"] = _(
            "Write latitude and longitude as a map copies them, such as 31.4123, -83.8674."
        )
    elif found is None and content is not None:
        try:
            latitude, longitude = middle_of(content)
            found = place_of(f"{latitude:.6f}, {longitude:.6f}")
        except DomainError as error:
            boxes.wrong["file"] = error.says
    elif found is None:
        boxes.wrong["place"] = _("Give the place, or the file of the boundaries that tells it.")
    if found is not None:
        values["latitude_deg"], values["longitude_deg"] = found
    return values


def _refused(boxes: Boxes, error: DomainError) -> None:
    at = {"latitude_deg": "place", "longitude_deg": "place", "code": "name"}
    for name, says in (error.fields or {"name": error.says}).items():
        boxes.wrong[at.get(name, name)] = words.ended(words.capital(says))


def _field_facts(boxes: Boxes, farm: Farm) -> list[FieldFacts]:
    shown = [one for one in boxes.typed if one.startswith("acres-")]
    known = set(Field.objects.filter(farm=farm).values_list("id", flat=True))
    found = []
    for name in shown:
        number = name.removeprefix("acres-")
        if not number.isdecimal() or len(number) > 15 or int(number) not in known:
            raise Http404
        found.append(
            FieldFacts(
                field_id=int(number),
                texture=boxes.text(f"texture-{number}") or boxes.text("texture"),
                crop=boxes.text(f"crop-{number}") or boxes.text("crop"),
                planted_ac=boxes.number_if_any(name),
            )
        )
    return found
