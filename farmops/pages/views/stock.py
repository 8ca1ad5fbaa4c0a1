"""Stock: what is there of each item, and what was there when the books began."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.farms.models import Farm, Membership, Role
from farmops.pages.access import for_roles
from farmops.pages.bill_form import read_day
from farmops.pages.boxes import Boxes
from farmops.pages.fleet_page import Refused
from farmops.pages.stock_page import stock_facts
from ledger.models import OpeningStock
from ledger.services.books import choose_year
from ledger.services.opening import enter_opening_stock


@for_roles(Role.BOOKKEEPER, Role.MANAGER)
def stock(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show what is in stock and what was at the start."""
    return _shown(request, farm)


@require_POST
@for_roles(Role.BOOKKEEPER, Role.MANAGER)
def enter(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Keep what was in stock when the books began; `corrects` names a row whose place it takes."""
    boxes, now = Boxes(request.POST), clock.now()
    corrected = boxes.row_id("corrects")
    told: dict[str, Any] = {
        "supersedes": get_object_or_404(OpeningStock, farm=farm, pk=corrected) if corrected else None,
        "quantity": boxes.number("quantity", says=_("Say how much was there.")),
        "amount_usd": boxes.number("amount_usd", says=_("Give the dollars that it had cost, or 0.")),
        "on": read_day(boxes.text("on"), today=clock.local_date(now, farm.zone), ahead_days=0),
        **{name: boxes.text(name) for name in ("item", "category", "unit", "lot")},
    }
    if told["on"] is None:
        boxes.wrong["on"] = _("Give a day such as 1/1/2026.")
    if not boxes.wrong:
        try:
            row, _is_new = enter_opening_stock(
                farm=farm, client_id=boxes.client_id(), entered_by=request.user, now=now, **told
            )
        except DomainError as error:
            boxes.refused(error, otherwise="item", names={"day": "on"})
        else:
            messages.success(request, _("Kept: {name}.").format(name=row.item))
            return redirect("pages:stock", farm_code=farm.code)
    return _shown(request, farm, Refused("stock", boxes.typed, boxes.wrong))


@require_POST
@for_roles(Role.BOOKKEEPER, Role.MANAGER)
def choose(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Keep how a year counts what is used of stocks and fuel."""
    boxes = Boxes(request.POST)
    year = boxes.text("year")
    if not (year.isascii() and year.isdigit() and len(year) == 4):
        boxes.wrong["year"] = _("Give a year such as 2026.")
    else:
        try:
            row, _is_new = choose_year(
                farm=farm,
                year=int(year),
                stock_cost=boxes.text("stock_cost"),
                fuel_by=boxes.text("fuel_by"),
                chosen_by=request.user,
                now=clock.now(),
            )
        except DomainError as error:
            boxes.refused(error, otherwise="year")
        else:
            messages.success(request, _("Chosen for {year}.").format(year=row.calendar_year))
            return redirect("pages:stock", farm_code=farm.code)
    return _shown(request, farm, Refused("stock", boxes.typed, boxes.wrong))


def _shown(request: HttpRequest, farm: Farm, refused: Refused | None = None) -> HttpResponse:
    facts = stock_facts(farm=farm, now=clock.now(), refused=refused)
    context = {"farm": farm, "place": "costs", **facts}
    return render(request, "pages/stock.html", context, status=422 if refused else 200)
