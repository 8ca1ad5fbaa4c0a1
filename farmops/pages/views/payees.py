"""Payees: the year's total against the threshold of form 1099, W-9 on file or not, and the farm's entities."""

import datetime as dt
from functools import partial
from http import HTTPStatus
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.farms.models import Farm, Membership, Role
from farmops.pages.access import for_roles
from farmops.pages.asked_days import is_near
from farmops.pages.boxes import Boxes, plain
from farmops.pages.kept_forms import body_with_forms
from farmops.pages.kept_parts import KeptParts
from farmops.pages.payee_page import payees_facts, seen_in, seen_of
from ledger.models import Payee
from ledger.selectors.office_marks import payees_mark
from ledger.services.entities import add_entity
from ledger.services.payees import PayeeChanged, set_payee


@for_roles(Role.BOOKKEEPER, Role.MANAGER)
def payees(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show what each payee was paid in a year."""
    year = _year(farm, request.GET.get("year", ""))
    return _shown(request, farm, year)


@require_POST
@for_roles(Role.BOOKKEEPER, Role.MANAGER)
def keep(request: HttpRequest, farm: Farm, membership: Membership, payee_id: int) -> HttpResponse:
    """Keep whether form W-9 is on file, and whether a form 1099 is due at all; not over what was not seen."""
    boxes, payee = Boxes(request.POST), get_object_or_404(Payee, farm=farm, pk=payee_id)
    year, w9, gets_no_1099 = (
        _year(farm, boxes.text("year")),
        boxes.text("w9"),
        bool(boxes.text("gets_no_1099")),
    )
    has_w9 = seen_of(w9, gets_no_1099=gets_no_1099)[0]
    seen = seen_in(boxes.text("seen")) or seen_of("", gets_no_1099=False)
    try:
        set_payee(farm=farm, name=payee.name, has_w9=has_w9, gets_no_1099=gets_no_1099, seen=seen)
    except PayeeChanged as error:
        kept = {"pk": payee.pk, "name": payee.name, "w9": w9, "gets_no_1099": gets_no_1099}
        changed = {**kept, "says": plain(error.says)}
        return _shown(request, farm, year, {"changed": changed}, status=HTTPStatus.CONFLICT)
    messages.success(request, _("Kept: {name}.").format(name=payee.name))
    return redirect(f"{reverse('pages:payees', args=[farm.code])}?year={year}")


@require_POST
@for_roles(Role.BOOKKEEPER, Role.MANAGER)
def entity(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Add a company or person in whose name bills are."""
    boxes = Boxes(request.POST)
    try:
        row, _is_new = add_entity(farm=farm, code=boxes.text("code"), name=boxes.text("name"))
    except DomainError as error:
        boxes.refused(error, otherwise="code")
        refused = {"typed": boxes.typed, "wrong": boxes.wrong}
        return _shown(request, farm, _year(farm, ""), refused, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    messages.success(request, _("Bills may be in the name of {name} now.").format(name=row.name))
    return redirect("pages:payees", farm_code=farm.code)


def _shown(
    request: HttpRequest,
    farm: Farm,
    year: int,
    refused: dict[str, Any] | None = None,
    *,
    status: int = HTTPStatus.OK,
) -> HttpResponse:
    body = body_with_forms(
        request,
        "pages/payees_body.html",
        kept=KeptParts(partial(payees_mark, farm=farm), of=("payees", farm.pk)),
        asked=year,
        keep=is_near(year, farm),
        facts=lambda: {"farm": farm, **payees_facts(farm=farm, year=year)},
        fresh={},
        refused=refused,
    )
    context = {"farm": farm, "place": "costs", "body": body}
    return render(request, "pages/payees.html", context, status=status)


def _year(farm: Farm, asked: str) -> int:
    """Return the year that was asked for, else that of the farm's day."""
    if asked.isascii() and asked.isdecimal() and len(asked) == 4 and int(asked) > 0:
        return int(asked)
    today: dt.date = clock.local_date(clock.now(), farm.zone)
    return today.year
