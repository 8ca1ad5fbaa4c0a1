"""What planting late costs: read, and changed crop by crop."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop
from django.views.decorators.http import require_POST

from farmops.core.problems import DomainError
from farmops.farms.models import Crop, Farm, Membership, Role
from farmops.farms.services.late_planting import set_late_planting
from farmops.pages import words
from farmops.pages.access import for_roles
from farmops.pages.boxes import Boxes
from farmops.pages.late_page import OWN, late_facts, rows_typed
from farmops.pages.views.planning import planned_again
from scheduling.selectors.kept_words import kept_said

CALLED = {
    "yield_per_ac": gettext_noop("The yield an acre"),
    "yield_unit": gettext_noop("What it is counted in"),
    "price_usd": gettext_noop("The price"),
    "source": gettext_noop("The source"),
}


@for_roles(Role.MANAGER)
def late(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show what each crop loses when it is planted late."""
    context = {"farm": farm, "place": "limits", **late_facts(farm=farm)}
    return render(request, "pages/late.html", context)


@require_POST
@for_roles(Role.MANAGER)
def set_late(request: HttpRequest, farm: Farm, membership: Membership, crop: str) -> HttpResponse:
    """Keep a crop's yield, price and curve, and plan again where asked."""
    if crop not in Crop.values:
        raise Http404
    boxes = Boxes(request.POST)
    values = _values(boxes)
    if not boxes.wrong:
        try:
            set_late_planting(farm=farm, crop=crop, values=values)
        except DomainError as error:
            _refused(boxes, error, otherwise="losses" if values["losses"] else "curve")
    if boxes.wrong:
        context = {
            "farm": farm,
            "place": "limits",
            "is_refused": True,
            **late_facts(farm=farm, crop=crop, typed=boxes.typed, wrong=boxes.wrong),
        }
        return render(request, "pages/late.html", context, status=422)
    kept = _("What {crop} loses when it is planted late is kept.").format(crop=words.named(Crop(crop).label))
    back = reverse("pages:late", args=[farm.code])
    if boxes.text("then") == "plan":
        return planned_again(request, farm, kept=kept, back=back)
    again = _("Plan again, and the week reckons with it.")
    messages.success(request, f"{kept} {again}")
    return redirect(back)


def _refused(boxes: Boxes, error: DomainError, *, otherwise: str) -> None:
    """Put a refusal at the box it is about, each box by what the page calls it."""
    at = next((name for name in CALLED if name in error.fields), None)
    if at is not None:
        boxes.wrong[at] = f"{words.named(CALLED[at])}: {kept_said(error.fields[at])}"
        return
    boxes.refused(error, otherwise=otherwise)
    if "curve" not in boxes.wrong:
        boxes.wrong = {"losses": next(iter(boxes.wrong.values()))}


def _values(boxes: Boxes) -> dict[str, Any]:
    unit = boxes.note("yield_unit")
    if not unit and "yield_unit" not in boxes.wrong:
        boxes.wrong["yield_unit"] = _("Say what the yield is counted in, such as lb or bu.")
    curve = boxes.text("curve")
    return {
        "yield_per_ac": boxes.number("yield_per_ac", says=_("Give the yield an acre.")),
        "yield_unit": unit,
        "price_usd": boxes.number("price_usd", says=_("Give the dollars for one unit of it.")),
        "curve": "" if curve == OWN else curve,
        "losses": _losses(boxes) if curve == OWN else None,
        "is_in_pct": boxes.text("is_in_pct") != "no",
        "source": boxes.note("source"),
    }


def _losses(boxes: Boxes) -> list[dict[str, Any]]:
    """Return the rows of the own curve; a decimal comma is understood."""
    rows = [
        {
            "after": row["after"],
            "per_day": row["per_day"].replace(",", ".") or "0",
            "at_once": row["at_once"].replace(",", ".") or "0",
        }
        for row in rows_typed(boxes.typed)
    ]
    if not rows:
        boxes.wrong["losses"] = _("An own curve needs a row: after which day how much is lost.")
    return rows
