"""Laying an order of work out on fields: choosing them, looking at the passes, laying all or none, taking it back."""

import datetime as dt
import uuid
from collections.abc import Mapping
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.http.request import QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.problems import STATUS, DomainError
from farmops.desk.long_orders import MANY_FIELDS, begin_laying
from farmops.farms.models import Farm, Membership, Role, Season
from farmops.pages import order_lay_page as page
from farmops.pages import order_page, words
from farmops.pages.access import for_roles
from farmops.pages.boxes import Boxes
from scheduling.models import OrderLaying, OrderOfWork
from scheduling.selectors.order_words import crop_said
from scheduling.selectors.orders import KeptOrder, kept
from scheduling.services.order_laying import lay_order, take_back
from scheduling.services.order_preview import Window, preview_order

PLACE = "orders"
MOST_FIELDS = 2000


@for_roles(Role.MANAGER)
def lay(request: HttpRequest, farm: Farm, membership: Membership, code: str) -> HttpResponse:
    """Show the fields to choose and what would be laid out on those chosen; a POST lays it out."""
    row = get_object_or_404(OrderOfWork, farm=farm, code=code)
    asked = kept(row)
    now = clock.now()
    today = clock.local_date(now, farm.zone)
    boxes = Boxes(request.POST if request.method == "POST" else request.GET)
    year = _year(boxes, asked, today)
    windows = _windows(farm, asked, year, request.POST if request.method == "POST" else request.GET, boxes)
    if request.method != "POST" or boxes.wrong:
        status = 422 if request.method == "POST" else 200
        return _shown(request, farm, asked, year, windows, boxes, today, status=status)
    form: dict[str, Any] = {
        "row": row,
        "windows": windows,
        "seen": boxes.text("seen"),
        "client_id": boxes.client_id(),
    }
    if len(windows) >= MANY_FIELDS:
        work = begin_laying(**form, asked_by=request.user, now=now)  # type: ignore[arg-type]
        return redirect("pages:one_long_work", farm.code, work.pk)
    try:
        laid = lay_order(**form, laid_by=request.user, now=now, today=today)  # type: ignore[arg-type]
    except DomainError as error:
        boxes.wrong["all"] = error.says
        return _shown(request, farm, kept(row), year, windows, boxes, today, status=int(STATUS[error.kind]))
    messages.success(request, _("Laid out. The passes wait for the next plan."))
    return redirect("pages:order_laid", farm.code, laid.laying.pk)


@for_roles(Role.MANAGER)
def laid(request: HttpRequest, farm: Farm, membership: Membership, laying_id: int) -> HttpResponse:
    """Show what one laying did."""
    laying = _laying(farm, laying_id)
    return render(
        request,
        "pages/order_laid.html",
        {"farm": farm, "place": PLACE, **page.laid_facts(farm=farm, laying=laying)},
    )


@require_POST
@for_roles(Role.MANAGER)
def back(request: HttpRequest, farm: Farm, membership: Membership, laying_id: int) -> HttpResponse:
    """Take a laying back while nothing of it is done."""
    laying = _laying(farm, laying_id)
    try:
        take_back(laying=laying, taken_back_by=request.user, now=clock.now())  # type: ignore[arg-type]
    except DomainError as error:
        context = {
            "farm": farm,
            "place": PLACE,
            "wrong": error.says,
            **page.laid_facts(farm=farm, laying=laying),
        }
        return render(request, "pages/order_laid.html", context, status=int(STATUS[error.kind]))
    messages.success(request, _("Taken back: the fields are as they were before."))
    return redirect("pages:order_laid", farm.code, laying.pk)


def _laying(farm: Farm, laying_id: int) -> OrderLaying:
    rows = OrderLaying.objects.select_related("version__order", "laid_by", "taken_back")
    return get_object_or_404(rows, farm=farm, pk=laying_id)


def _year(boxes: Boxes, asked: KeptOrder, today: dt.date) -> int:
    text = boxes.text("year", most=4)
    if not text:
        return order_page.crop_year_ahead(asked.order, today)
    if not text.isdecimal() or not 1990 <= int(text) <= 2100:
        raise Http404
    return int(text)


def _windows(farm: Farm, asked: KeptOrder, year: int, given: QueryDict, boxes: Boxes) -> dict[Season, Window]:
    """Return the seasons chosen, each with its own days if it has any, else those for all, else the order's."""
    ids = given.getlist("season")
    if len(ids) > MOST_FIELDS or not all(one.isdecimal() and len(one) < 10 for one in ids):
        raise Http404
    seasons = list(Season.objects.filter(farm=farm, pk__in=ids).select_related("field", "farm"))
    if len(seasons) != len({int(one) for one in ids}):
        raise Http404
    usual = page.usual_window(asked.order, year)
    for_all = Window(_day(boxes, "from", usual.first_on), _day(boxes, "to", usual.last_on))
    return {
        one: Window(
            _day(boxes, f"from-{one.pk}", for_all.first_on), _day(boxes, f"to-{one.pk}", for_all.last_on)
        )
        for one in seasons
    }


def _day(boxes: Boxes, name: str, otherwise: dt.date) -> dt.date:
    if not boxes.text(name):
        return otherwise
    return boxes.day(name) or otherwise


def _shown(
    request: HttpRequest,
    farm: Farm,
    asked: KeptOrder,
    year: int,
    windows: Mapping[Season, Window],
    boxes: Boxes,
    today: dt.date,
    *,
    status: int,
) -> HttpResponse:
    chosen = [one.pk for one in windows]
    usual = page.usual_window(asked.order, year)
    if boxes.text("all") == "yes" and not chosen:
        chosen = list(
            Season.objects.filter(farm=farm, crop=asked.order.crop, crop_year=year).values_list(
                "pk", flat=True
            )
        )
    context: dict[str, Any] = {
        "farm": farm,
        "place": PLACE,
        "code": asked.code,
        "name": words.named(asked.order.name),
        "crop": crop_said(asked.order.crop),
        "year": year,
        "year_says": page.year_says(asked.order, year, today),
        "years": page.crop_years(farm=farm, order=asked.order),
        "seasons": page.season_choices(farm=farm, order=asked.order, crop_year=year, chosen=chosen),
        "first_on": boxes.text("from", most=10) or usual.first_on.isoformat(),
        "last_on": boxes.text("to", most=10) or usual.last_on.isoformat(),
        "wrong": boxes.wrong,
        "client_id": uuid.uuid4(),
    }
    if windows:
        preview = preview_order(farm=farm, kept=asked, windows=windows, today=today)
        context |= page.preview_facts(preview, year)
    return render(request, "pages/order_lay.html", context, status=status)
