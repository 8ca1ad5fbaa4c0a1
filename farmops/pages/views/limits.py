"""The limits of a farm: what holds, whose choice rules, a form to change one, and the fit of zones to remarks."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.models import User
from farmops.core.problems import DomainError
from farmops.farms.models import Farm, Field, Membership, Role
from farmops.pages import limits_page, words
from farmops.pages.access import for_roles
from farmops.pages.asked_days import asked_page
from farmops.pages.boxes import Boxes
from farmops.pages.zone_limits import fit_mark
from scheduling.services.calibration import apply_calibration, calibrate
from scheduling.services.limit_choices import choose_limit
from scheduling.windows.limits import Effect

BACK_TO_SHIPPED = "back to the shipped number"  # not said
"""What is kept as the source, in one language whoever presses."""


@for_roles(Role.MANAGER)
def limits(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show the limits of the farm or of one field; with `limit`, the form that changes it stands on top."""
    return _shown(request, farm, _field(farm, request.GET.get("field", "")), request.GET.get("limit", ""))


@require_POST
@for_roles(Role.MANAGER)
def choose(request: HttpRequest, farm: Farm, membership: Membership, key: str) -> HttpResponse:
    """Keep a choice about a limit, or go back to what holds without one."""
    boxes = Boxes(request.POST)
    field = _field(farm, boxes.text("field"))
    is_back = boxes.text("then") == "back"
    asked = _asked(boxes, farm, field, key) if not is_back else limits_page.Asked(None, None, "")
    if asked is None or boxes.wrong:
        return _shown(request, farm, field, key, boxes)
    try:
        choose_limit(
            farm=farm,
            field=field,
            key=key,
            number=asked.number,
            is_used=asked.is_used,
            effect=asked.effect,
            source=boxes.text("source", most=1000) or (BACK_TO_SHIPPED if is_back else ""),
            set_by=request.user,  # type: ignore[arg-type]
            now=clock.now(),
        )
    except DomainError as error:
        boxes.refused(error, otherwise="number")
        boxes.wrong = {name: _sentence(says, key, name) for name, says in boxes.wrong.items()}
        if "number" in boxes.wrong:
            boxes.wrong["number"] = asked.refused(key, boxes.wrong["number"])
        return _shown(request, farm, field, key, boxes)
    messages.success(request, _kept(field, is_back=is_back))
    return _back(farm, field)


@require_POST
@for_roles(Role.MANAGER)
def fit(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Give the zones the limits that fit their remarks, unless the fit is no longer what the page showed."""
    boxes = Boxes(request.POST)
    field, now = _field(farm, boxes.text("field")), clock.now()
    user: User = request.user  # type: ignore[assignment]
    try:
        found = calibrate(farm=farm, field=field, as_of=clock.local_date(now, farm.zone))
        if fit_mark(found) != boxes.text("mark", most=100_000):
            messages.error(
                request, _("Remarks or weather came in since: look at the new table, then press again.")
            )
            return _back(farm, field, "#zones")
        changes = apply_calibration(
            farm=farm,
            calibrations=found,
            set_by=user,
            set_by_name=user.get_full_name() or user.get_username(),
            now=now,
        )
    except DomainError as error:
        messages.error(request, words.dates_said(error.says))
        return _back(farm, field, "#zones")
    told = ngettext(
        "{count} zone has new limits. The next plan goes by them.",
        "{count} zones have new limits. The next plan goes by them.",
        len(changes),
    )
    messages.success(request, told.format(count=len(changes)))
    return _back(farm, field, "#zones")


def _kept(field: Field | None, *, is_back: bool) -> str:
    if field is None:
        if is_back:
            return _(
                "It is back as it was without a choice, on all fields without a choice of their own. "
                "The next plan goes by it."
            )
        return _("Kept, on all fields without a choice of their own. The next plan goes by it.")
    if is_back:
        told = _("It is back as it was without a choice, on {field}. The next plan goes by it.")
    else:
        told = _("Kept, on {field}. The next plan goes by it.")
    return told.format(field=field.name)


def _sentence(says: str, *names: str) -> str:
    """Return a refusal's sentence without the name of the limit or the box that it stands at."""
    for name in names:
        if says.lower().startswith(f"{name}: "):
            says = says[len(name) + 2 :]
    return says[:1].upper() + says[1:]


def _asked(boxes: Boxes, farm: Farm, field: Field | None, key: str) -> limits_page.Asked | None:
    number = boxes.number_if_any("number")
    use = boxes.one_of("is_used", ("on", "off"), says=_("Say on or off."))
    effect = boxes.one_of(
        "effect", [one.value for one in Effect], says=_("Say whether it shuts or only advises.")
    )
    asked = limits_page.asked_for(
        farm=farm, field=field, key=key, number=number, is_used=use == "on", effect=effect
    )
    if asked is None:
        raise Http404
    return asked


def _shown(
    request: HttpRequest, farm: Farm, field: Field | None, key: str, boxes: Boxes | None = None
) -> HttpResponse:
    context: dict[str, Any] = {
        "farm": farm,
        "place": "limits",
        "wrong": boxes.wrong if boxes else {},
        **limits_page.limits_facts(
            farm=farm,
            field=field,
            key=key,
            typed=boxes.typed if boxes else {},
            now=clock.now(),
            page=asked_page(request.GET),
        ),
    }
    return render(request, "pages/limits.html", context, status=422 if boxes else 200)


def _field(farm: Farm, code: str) -> Field | None:
    return get_object_or_404(Field, farm=farm, code=code) if code else None


def _back(farm: Farm, field: Field | None, at: str = "") -> HttpResponse:
    query = f"?{urlencode({'field': field.code})}" if field is not None else ""
    return redirect(f"{reverse('pages:limits', args=[farm.code])}{query}{at}")
