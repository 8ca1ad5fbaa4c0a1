"""Files to take away: the bookkeeper sees what each will hold, then fetches it or has it written beside the pages."""

import datetime as dt
from http import HTTPStatus
from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.desk.long_exports import JOURNAL, WHAT, begin_export, holds, is_long
from farmops.farms.models import Farm, Membership, Role
from farmops.pages.access import for_roles
from farmops.pages.asked_days import DaysTurned, asked_days, asked_year
from farmops.pages.exports_page import exports_facts, lines_said

OFFICE = (Role.BOOKKEEPER, Role.MANAGER)


@for_roles(*OFFICE)
def exports(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show each file with what it will hold."""
    year = asked_year(request.GET, farm)
    first, last = dt.date(year, 1, 1), dt.date(year, 12, 31)
    refused: dict[str, Any] = {}
    try:
        if "from" in request.GET:
            first, last = asked_days(request.GET, farm)
    except DaysTurned as error:
        refused = {"from": error.first, "to": error.last, "wrong": error.says}
    facts = exports_facts(farm=farm, year=year, first=first, last=last)
    context = {"farm": farm, "place": "costs", "refused": refused, **facts}
    status = HTTPStatus.UNPROCESSABLE_ENTITY if refused else HTTPStatus.OK
    return render(request, "pages/exports.html", context, status=status)


@require_POST
@for_roles(*OFFICE)
def write_export(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Have a file written; pressed twice it is written once."""
    what = request.POST.get("what", "")
    if what not in WHAT:
        raise Http404
    first, last = asked_days(request.POST, farm)
    if what == JOURNAL:
        first = last = clock.local_date(clock.now(), farm.zone)
    work = begin_export(
        farm=farm,
        what=what,
        first=first,
        last=last,
        asked_by=request.user,  # type: ignore[arg-type]
        now=clock.now(),
    )
    return redirect("pages:one_long_work", farm_code=farm.code, work_id=work.pk)


def too_long(
    request: HttpRequest, farm: Farm, what: str, first: dt.date, last: dt.date
) -> HttpResponse | None:
    """Return the way to the page on which a large file is asked for; None for one that is given at once."""
    size = holds(farm=farm, what=what, first=first, last=last)
    if not is_long(size):
        return None
    says = _("This file holds {lines}: have it written here, and fetch it when it is ready.")
    messages.success(request, says.format(lines=lines_said(size.rows)))
    query = urlencode({"year": first.year, "from": first.isoformat(), "to": last.isoformat()})
    return redirect(f"{reverse('pages:exports', args=[farm.code])}?{query}")
