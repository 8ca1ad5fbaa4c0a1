"""Months of the books: look at them, close the next one, open the last closed one again."""

import datetime as dt
from functools import partial

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.farms.models import Farm, Membership, Role
from farmops.pages import period_page, words
from farmops.pages.access import for_roles
from farmops.pages.boxes import Boxes, plain
from farmops.pages.kept_forms import body_with_forms
from farmops.pages.kept_parts import KeptParts
from ledger.selectors.office_marks import periods_mark
from ledger.selectors.periods import month_from
from ledger.selectors.stored_words import said_again
from ledger.services.periods import PeriodClosed, close_period, reopen_period


@for_roles(Role.BOOKKEEPER, Role.MANAGER)
def periods(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show every month of the books with who closed it and the head that they had."""
    return _shown(request, farm)


@require_POST
@for_roles(Role.BOOKKEEPER, Role.MANAGER)
def close(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Close a month."""
    month = _month(Boxes(request.POST))
    try:
        done = close_period(farm=farm, month=month, made_by=request.user, now=clock.now())
    except DomainError as error:
        messages.error(request, plain(error.says))
    else:
        messages.success(request, _closed_said(done, month))
    return redirect("pages:periods", farm_code=farm.code)


@require_POST
@for_roles(Role.BOOKKEEPER, Role.MANAGER)
def reopen(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Open the last closed month again, with a reason."""
    boxes = Boxes(request.POST)
    month, why = _month(boxes), boxes.note("why")
    try:
        if not boxes.wrong:
            reopen_period(farm=farm, month=month, why=why, made_by=request.user, now=clock.now())
            messages.success(request, _("{month} is open again.").format(month=_month_said(month)))
    except DomainError as error:
        if "why" not in error.fields:
            messages.error(request, plain(error.says))
            return redirect("pages:periods", farm_code=farm.code)
        boxes.refused(error, otherwise="why")
    if boxes.wrong:
        return _shown(request, farm, boxes)
    return redirect("pages:periods", farm_code=farm.code)


def _shown(request: HttpRequest, farm: Farm, refused: Boxes | None = None) -> HttpResponse:
    today = clock.local_date(clock.now(), farm.zone)
    body = body_with_forms(
        request,
        "pages/periods_body.html",
        kept=KeptParts(partial(periods_mark, farm=farm), of=("periods", farm.pk)),
        asked=today,
        facts=lambda: {"farm": farm, **period_page.period_facts(farm=farm, today=today)},
        fresh={},
        refused=None if refused is None else {"typed": refused.typed, "wrong": refused.wrong},
    )
    context = {"farm": farm, "place": "costs", "body": body}
    return render(request, "pages/periods.html", context, status=422 if refused else 200)


def _closed_said(done: PeriodClosed, month: dt.date) -> str:
    said = _("{month} is {closed}.").format(month=_month_said(month), closed=said_again(done.entry.why))
    if done.waiting:
        waits = ngettext(
            "{count} source waits for a price.", "{count} sources wait for a price.", done.waiting
        )
        said = f"{said} {waits.format(count=done.waiting)}"
    if done.machine_years:
        left = ngettext(
            "{count} machine year is not in it: to book it, open the month again.",
            "{count} machine years are not in it: to book them, open the month again.",
            done.machine_years,
        )
        said = f"{said} {words.capital(left.format(count=words.count_word(done.machine_years)))}"
    return said


def _month_said(month: dt.date) -> str:
    return words.capital(words.month_and_year(month))


def _month(boxes: Boxes) -> dt.date:
    """Return the month that a form offers; what is none was not offered here."""
    try:
        return month_from(boxes.text("month"))
    except ValueError as error:
        raise Http404 from error
