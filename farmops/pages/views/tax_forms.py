"""What was paid by the lines of a tax form: looked at, and taken along as a file for the preparer."""

import io
from functools import partial

from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.utils import translation

from farmops.core import clock
from farmops.farms.models import Farm, Membership, Role
from farmops.pages import words
from farmops.pages.access import for_roles
from farmops.pages.asked_days import is_near
from farmops.pages.kept_parts import KeptParts
from farmops.pages.schedule_f_page import schedule_f_facts
from farmops.pages.views.ledgers import CSV_TYPE, FILES_SPEAK, MANIFEST, csv_file, written
from ledger.exports.csv_forms import csv_form
from ledger.exports.schedule_f import FIRST_YEAR, LAST_YEAR, write_form
from ledger.selectors.form_maps import SCHEDULE_F, NoSuchMap, form_map
from ledger.selectors.form_marks import form_mark

OFFICE = (Role.BOOKKEEPER, Role.MANAGER)
YEAR_DIGITS = 4


@for_roles(*OFFICE)
def schedule_f(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show what was paid in a calendar year by the lines of a form."""
    today = clock.local_date(clock.now(), farm.zone)
    year, code = _year(request, today.year), request.GET.get("map", SCHEDULE_F)
    try:
        form = words.named(form_map(farm=farm, code=code, form_year=year).name)
    except NoSuchMap as error:
        raise Http404(error.says) from error
    body = _kept(farm).part(
        "pages/schedule_f_body.html",
        asked=(year, code, today.year),
        facts=lambda: {"farm": farm, **schedule_f_facts(farm=farm, year=year, code=code, today=today)},
        keep=is_near(year, farm),
    )
    return render(
        request, "pages/schedule_f.html", {"farm": farm, "place": "costs", "form": form, "body": body}
    )


@for_roles(*OFFICE)
def schedule_f_file(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponseBase:
    """Give the same as a file."""
    today = clock.local_date(clock.now(), farm.zone)
    year, code = _year(request, today.year), request.GET.get("map", SCHEDULE_F)
    try:
        form_map(farm=farm, code=code, form_year=year)
    except NoSuchMap as error:
        raise Http404(error.says) from error
    for_spreadsheet = request.GET.get("for") == "spreadsheet"
    form = csv_form(for_spreadsheet=for_spreadsheet, semicolon=False)
    name = f"{farm.code}-{code}-{year}{'-spreadsheet' if for_spreadsheet else ''}.csv"
    write = partial(write_form, farm=farm, tax_year=year, map_code=code, form=form)
    if MANIFEST in request.GET:
        return csv_file(name, lambda path: write(path=path), wants_manifest=True)
    with translation.override(FILES_SPEAK):
        body = _kept(farm).values(
            "schedule-f",
            asked=(year, code, form),
            make=partial(written, write, name),
            is_worth=lambda _made: is_near(year, farm),
        )
    return FileResponse(io.BytesIO(body), as_attachment=True, filename=name, content_type=CSV_TYPE)


def _kept(farm: Farm) -> KeptParts:
    return KeptParts(partial(form_mark, farm=farm), of=("tax-forms", farm.pk))


def _year(request: HttpRequest, otherwise: int) -> int:
    asked = request.GET.get("year", "")
    if not asked:
        return otherwise
    if not (asked.isascii() and asked.isdecimal() and len(asked) == YEAR_DIGITS):
        raise Http404
    if not FIRST_YEAR <= int(asked) <= LAST_YEAR:
        raise Http404
    return int(asked)
