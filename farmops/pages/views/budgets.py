"""Budgets beside what was spent, and what seasons brought in."""

import datetime as dt
from functools import cache, partial
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.farms.models import Farm, Membership, Role, Season
from farmops.pages.access import for_roles
from farmops.pages.asked_days import asked_page
from farmops.pages.bill_doubts import ODD_USD_PER_AC, amount_asked
from farmops.pages.boxes import Boxes
from farmops.pages.budget_page import budget_facts, units_said
from farmops.pages.kept_parts import KeptParts
from ledger.selectors.chain import chain_head
from ledger.selectors.cost_cells import CostWhere, seasons_where
from ledger.selectors.cost_marks import costs_mark
from ledger.selectors.costs import crop_years
from ledger.services.budgets import set_budget
from ledger.services.yields import enter_yield

OFFICE = (Role.BOOKKEEPER, Role.MANAGER)


@for_roles(*OFFICE)
def budgets(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show budget beside actual, and break-even prices and yields."""
    page = asked_page(request.GET)
    return _shown(request, farm, _year(request.GET.get("year", ""), farm), page=page)


@require_POST
@for_roles(*OFFICE)
def budget(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Keep what a category of a crop is meant to cost an acre."""
    boxes, year = Boxes(request.POST), _year(request.POST.get("year", ""), farm)
    try:
        amount = boxes.number("usd_per_ac", says=_("Give the dollars an acre."))
        if amount is not None and amount > ODD_USD_PER_AC and not boxes.text("is_amount_right"):
            asked = _("{amount} an acre").format(amount=f"${amount:,.2f}")
            boxes.wrong |= dict.fromkeys(("usd_per_ac", "is_amount_right"), amount_asked(asked))
        if amount is not None and not boxes.wrong:
            set_budget(
                farm=farm,
                crop_year=year,
                crop=boxes.text("crop"),
                category=boxes.text("category"),
                usd_per_ac=amount,
                corrects=boxes.text("corrects") == "yes",
                entered_by=request.user,
                now=clock.now(),
            )
    except DomainError as error:
        boxes.refused(error, otherwise="usd_per_ac")
    return _answer(request, farm, year, boxes, "budget", _("The budget was kept."))


@require_POST
@for_roles(*OFFICE)
def harvest(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Keep what a season brought in."""
    boxes, year = Boxes(request.POST), _year(request.POST.get("year", ""), farm)
    season = _season(farm, year, boxes.text("ground"))
    try:
        amount = boxes.number("quantity", says=_("Give all that was harvested so far."))
        if amount is not None and not boxes.wrong:
            enter_yield(
                season=season,
                quantity=amount,
                unit=boxes.text("unit"),
                corrects=boxes.text("corrects") == "yes",
                entered_by=request.user,
                now=clock.now(),
            )
    except DomainError as error:
        boxes.refused(error, otherwise="quantity")
    return _answer(request, farm, year, boxes, "harvest", _("The yield was kept."))


def _answer(request: HttpRequest, farm: Farm, year: int, boxes: Boxes, form: str, kept: str) -> HttpResponse:
    if boxes.wrong:
        return _shown(request, farm, year, wrong={form: boxes.wrong}, typed={form: boxes.typed}, status=422)
    messages.success(request, kept)
    return redirect(f"{reverse('pages:budgets', args=[farm.code])}?year={year}")


def _shown(
    request: HttpRequest, farm: Farm, year: int, *, status: int = 200, page: int = 1, **more: Any
) -> HttpResponse:
    years = crop_years(farm=farm)
    of_year = {"farm": farm, "crop_year": year, "years": years}

    @cache
    def facts() -> dict[str, Any]:
        return of_year | budget_facts(farm=farm, crop_year=year, page=page)

    kept = KeptParts(partial(costs_mark, farm=farm, crop_year=year))
    typed = more.get("typed", {})

    def options(name: str, form: str, box: str) -> str:
        chosen = typed.get(form, {}).get(box, "")
        return kept.part(
            "pages/options.html",
            asked=(year, name, chosen),
            keep=year in years and not chosen,
            facts=lambda: {"options": facts()[name], "chosen": chosen},
        )

    context = {
        "place": "costs",
        "head": chain_head(farm=farm),
        "units": units_said(),
        "has_seasons": Season.objects.filter(farm=farm, crop_year=year).exists(),
        "tables": kept.part(
            "pages/budget_tables.html", asked=(year, page, years), facts=facts, keep=year in years
        ),
        "crops": options("crops", "budget", "crop"),
        "categories": options("categories", "budget", "category"),
        "grounds": options("grounds", "harvest", "ground"),
        **of_year,
        **more,
    }
    return render(request, "pages/budgets.html", context, status=status)


def _season(farm: Farm, year: int, ground: str) -> Season:
    field, _bar, crop = ground.rpartition("|")
    found = seasons_where(farm=farm, crop_year=year, where=CostWhere(field=field, crop=crop))
    if len(found) != 1:
        raise Http404
    return Season.objects.select_related("field").get(pk=next(iter(found)))


def _year(asked: str, farm: Farm) -> int:
    if asked.isdecimal() and len(asked) == 4:
        return int(asked)
    today: dt.date = clock.local_date(clock.now(), farm.zone)
    return next(iter(crop_years(farm=farm)), today.year)
