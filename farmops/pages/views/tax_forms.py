"""What was paid by the lines of a tax form: looked at, and taken along as a file for the preparer."""

from django.http import Http404, HttpRequest, HttpResponse, StreamingHttpResponse
from django.shortcuts import render

from farmops.core import clock
from farmops.farms.models import Farm, Membership, Role
from farmops.pages.access import for_roles
from farmops.pages.schedule_f_page import schedule_f_facts
from farmops.pages.views.ledgers import MANIFEST, csv_file
from ledger.exports.csv_forms import csv_form
from ledger.exports.schedule_f import FIRST_YEAR, LAST_YEAR, write_form
from ledger.selectors.form_maps import SCHEDULE_F, NoSuchMap, form_map

OFFICE = (Role.BOOKKEEPER, Role.MANAGER)
YEAR_DIGITS = 4


@for_roles(*OFFICE)
def schedule_f(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show what was paid in a calendar year by the lines of a form."""
    today = clock.local_date(clock.now(), farm.zone)
    year, code = _year(request, today.year), request.GET.get("map", SCHEDULE_F)
    try:
        facts = schedule_f_facts(farm=farm, year=year, code=code, today=today)
    except NoSuchMap as error:
        raise Http404(error.says) from error
    return render(request, "pages/schedule_f.html", {"farm": farm, "place": "costs", **facts})


@for_roles(*OFFICE)
def schedule_f_file(request: HttpRequest, farm: Farm, membership: Membership) -> StreamingHttpResponse:
    """Give the same as a file."""
    today = clock.local_date(clock.now(), farm.zone)
    year, code = _year(request, today.year), request.GET.get("map", SCHEDULE_F)
    try:
        form_map(farm=farm, code=code, form_year=year)
    except NoSuchMap as error:
        raise Http404(error.says) from error
    form = csv_form(for_spreadsheet=request.GET.get("for") == "spreadsheet", semicolon=False)
    return csv_file(
        f"{farm.code}-{code}-{year}.csv",
        lambda path: write_form(farm=farm, tax_year=year, path=path, map_code=code, form=form),
        wants_manifest=MANIFEST in request.GET,
    )


def _year(request: HttpRequest, otherwise: int) -> int:
    asked = request.GET.get("year", "")
    if not asked:
        return otherwise
    if not (asked.isascii() and asked.isdecimal() and len(asked) == YEAR_DIGITS):
        raise Http404
    if not FIRST_YEAR <= int(asked) <= LAST_YEAR:
        raise Http404
    return int(asked)
