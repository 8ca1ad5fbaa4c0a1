"""Landlords: what each bears, what was agreed, and charging it."""

from functools import partial
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.farms.models import Farm, Membership, Role, Season
from farmops.pages import words
from farmops.pages.access import for_roles
from farmops.pages.boxes import Boxes
from farmops.pages.kept_forms import body_with_forms
from farmops.pages.kept_parts import KeptParts
from farmops.pages.landlord_page import landlord_facts, terms_seen
from ledger.selectors.categories import category_book
from ledger.selectors.costs import crop_years
from ledger.selectors.landlords import landlords_mark
from ledger.selectors.said import season_said
from ledger.services.landlords import charge_landlord, set_landlord_term

OFFICE = (Role.BOOKKEEPER, Role.MANAGER)
YEAR_DIGITS = 4


@for_roles(*OFFICE)
def landlords(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show what landlords bear of a crop year, one of them down to season and category."""
    years = crop_years(farm=farm)
    year = _year(farm, request.GET.get("year", ""), years)
    return _shown(request, farm, year, request.GET.get("landlord", ""), years)


@require_POST
@for_roles(*OFFICE)
def term(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Keep what was agreed with a landlord; what was agreed before is corrected only by who saw it and says so."""
    boxes = Boxes(request.POST)
    season = Season.objects.filter(farm=farm, pk=boxes.row_id("season") or 0).first()
    if season is None:
        boxes.wrong["season"] = _("Choose the season.")
    category = boxes.one_of("category", ["", *category_book(farm=farm)], says=_("Choose the category."))
    share_pct = boxes.number("share_pct", says=_("Give the percent."))
    landlord = boxes.note("landlord")
    if season is not None and share_pct is not None and not boxes.wrong:
        try:
            kept, _is_new = set_landlord_term(
                farm=farm,
                season=season,
                landlord=landlord,
                category=category,
                share_pct=share_pct,
                corrects=boxes.text("corrects") == "yes"
                and boxes.text("seen") == terms_seen(farm=farm, crop_year=season.crop_year),
                entered_by=request.user,
                now=clock.now(),
            )
        except DomainError as error:
            boxes.refused(error, otherwise="share_pct")
        else:
            says = _("What {landlord} bears of {season} was kept.")
            messages.success(request, says.format(landlord=kept.landlord.name, season=season_said(season)))
            return _to(farm, season.crop_year, kept.landlord.name)
    years = crop_years(farm=farm)
    year = _year(farm, "" if season is None else str(season.crop_year), years)
    return _shown(request, farm, year, landlord, years, boxes)


@require_POST
@for_roles(*OFFICE)
def charge(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Charge a landlord with what was not charged before; sent twice it is one."""
    boxes = Boxes(request.POST)
    client_id, landlord = boxes.client_id(), boxes.text("landlord")
    years = crop_years(farm=farm)
    year = _year(farm, boxes.text("crop_year"), years)
    last_on, why = boxes.day("last_on"), boxes.note("why")
    if last_on is not None and not boxes.wrong:
        try:
            done = charge_landlord(
                farm=farm,
                client_id=client_id,
                landlord=landlord,
                crop_year=year,
                last_on=last_on,
                why=why,
                made_by=request.user,
                now=clock.now(),
            )
        except DomainError as error:
            boxes.refused(error, otherwise="last_on", names={"day": "last_on"})
        else:
            messages.success(request, _charged(landlord, done.total_cents))
            return _to(farm, year, landlord)
    return _shown(request, farm, year, landlord, years, boxes)


def _charged(landlord: str, cents: int) -> str:
    says = _("{landlord} owes the farm {amount} more.")
    if cents < 0:
        says = _("{landlord} owes the farm {amount} less: more had been charged than {landlord} bears.")
    return says.format(landlord=landlord, amount=words.dollars(abs(cents)))


def _to(farm: Farm, year: int, landlord: str) -> HttpResponse:
    query = urlencode([("year", str(year)), ("landlord", landlord)])
    return redirect(f"{reverse('pages:landlords', args=[farm.code])}?{query}")


def _shown(
    request: HttpRequest,
    farm: Farm,
    year: int,
    landlord: str,
    years: list[int],
    boxes: Boxes | None = None,
) -> HttpResponse:
    kept = KeptParts(partial(landlords_mark, farm=farm), of=("landlords", farm.pk))
    today = clock.local_date(clock.now(), farm.zone).isoformat()

    def facts() -> dict[str, Any]:
        return {
            "farm": farm,
            **landlord_facts(farm=farm, crop_year=year, landlord=landlord, kept=kept, years=years),
        }

    body = body_with_forms(
        request,
        "pages/landlords_body.html",
        kept=kept,
        asked=(year, landlord, years),
        facts=facts,
        fresh={"last_on": lambda: today},
        refused=None if boxes is None else {"typed": boxes.typed, "wrong": boxes.wrong},
        keep=year in years,
    )
    context = {"farm": farm, "place": "costs", "body": body}
    return render(request, "pages/landlords.html", context, status=422 if boxes is not None else 200)


def _year(farm: Farm, asked: str, known: list[int]) -> int:
    if asked.isascii() and asked.isdecimal() and len(asked) == YEAR_DIGITS:
        return int(asked)
    today: int = clock.local_date(clock.now(), farm.zone).year
    return known[0] if known else today
