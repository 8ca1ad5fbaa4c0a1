"""Costs by field, down to the line and what it came from."""

import datetime as dt
import io
import tempfile
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import translation
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from farmops.desk.long_exports import LINES
from farmops.farms.models import Farm, Field, Membership, Role
from farmops.pages import cost_lines_page, cost_page, source_page
from farmops.pages.access import for_roles
from farmops.pages.asked_days import asked_page, asked_year
from farmops.pages.kept_parts import KeptParts
from farmops.pages.views.exports import too_long
from farmops.pages.views.ledgers import CSV_TYPE, MANIFEST, MANIFEST_TYPE, written
from ledger.exports import field_costs as exports
from ledger.exports.about import About, write_manifest
from ledger.exports.csv_forms import SEMICOLON, SPREADSHEET
from ledger.exports.ledger_files import write_year_lines
from ledger.exports.statement import write_statement
from ledger.exports.whole import ExportRefused
from ledger.selectors.chain import chain_head
from ledger.selectors.cost_cells import CostWhere, NoSuchCell, where_from
from ledger.selectors.cost_marks import costs_mark, lines_mark
from ledger.selectors.costs import crop_years
from ledger.selectors.pool_lines import Side

KINDS: dict[str, tuple[str, str, Callable[..., object]]] = {
    "csv": ("field-costs.csv", CSV_TYPE, exports.write_told_csv),
    "spreadsheet": (
        "field-costs-spreadsheet.csv",
        CSV_TYPE,
        partial(exports.write_told_csv, form=SPREADSHEET),
    ),
    "semicolon": ("field-costs-semicolon.csv", CSV_TYPE, partial(exports.write_told_csv, form=SEMICOLON)),
    "xlsx": (
        "field-costs.xlsx",
        "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
        exports.write_xlsx,
    ),
    LINES: ("lines.csv", CSV_TYPE, write_year_lines),
}
TELLS_ITSELF = ("xlsx",)
"""Files that have no manifest beside them: what they are of stands in them."""
BOOKS = (
    (gettext_noop("Bills"), "bills"),
    (gettext_noop("Payees"), "payees"),
    (gettext_noop("Stock"), "stock"),
    (gettext_noop("Budgets"), "budgets"),
    (gettext_noop("Share-outs"), "share_outs"),
    (gettext_noop("Owning machines"), "machine_years"),
    (gettext_noop("Landlords"), "landlords"),
    (gettext_noop("Periods"), "periods"),
    (gettext_noop("Trial balance"), "trial_balance"),
    (gettext_noop("Schedule F"), "schedule_f"),
)
"""The pages of the books, by the word and the name of the address."""
OFFICE = (Role.BOOKKEEPER, Role.MANAGER)


@for_roles(*OFFICE)
def costs(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show what each field cost in a crop year, or each crop, operation, machine, month or category."""
    cut = request.GET.get("by", "field")
    if cut not in cost_page.CUTS:
        raise Http404
    year, where, page = asked_year(request.GET, farm), _where(request), asked_page(request.GET)
    years = crop_years(farm=farm)

    def facts() -> dict[str, Any]:
        books = [(_(word), reverse(f"pages:{name}", args=[farm.code])) for word, name in BOOKS]
        told = cost_page.cost_facts(farm=farm, crop_year=year, cut=cut, where=where, page=page)
        return {"farm": farm, "books": books, "years": years, **told}

    kept, asked = KeptParts(partial(costs_mark, farm=farm, crop_year=year)), (year, cut, where, page, years)
    body = kept.part("pages/costs_body.html", asked=asked, facts=facts, keep=year in years)
    return render(request, "pages/costs.html", {"farm": farm, "place": "costs", "body": body})


@for_roles(*OFFICE)
def lines(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show the lines behind one number of the table of costs."""
    year, where, page = asked_year(request.GET, farm), _where(request), asked_page(request.GET)

    def facts() -> dict[str, Any]:
        told = cost_lines_page.cell_facts(farm=farm, crop_year=year, where=where, page=page)
        return _beside(farm, {"query": cost_page.query_of(year, where), **told})

    kept = KeptParts(partial(lines_mark, farm=farm, crop_year=year))
    body = kept.part("pages/cost_lines_body.html", asked=(year, where, page), facts=facts)
    return _lines(request, farm, body)


@for_roles(*OFFICE)
def pool_lines(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show the lines behind one number of a pool."""
    code, side = request.GET.get("pool", ""), request.GET.get("side", "")
    if side not in set(Side):
        raise Http404
    facts = cost_lines_page.pool_facts(farm=farm, code=code, side=Side(side), page=asked_page(request.GET))
    if not (facts["lines"] or cost_lines_page.is_pool(farm=farm, code=code)):
        raise Http404
    return _lines(request, farm, render_to_string("pages/cost_lines_body.html", _beside(farm, facts)))


@for_roles(*OFFICE)
def field_costs(request: HttpRequest, farm: Farm, membership: Membership, code: str) -> HttpResponse:
    """Show every line of one field, with its source and rate."""
    field = get_object_or_404(Field, farm=farm, code=code)
    facts = cost_lines_page.field_facts(farm=farm, field=field, crop_year=asked_year(request.GET, farm))
    return _shown(request, farm, "pages/field_costs.html", facts)


@for_roles(*OFFICE)
def source(request: HttpRequest, farm: Farm, membership: Membership, number: int) -> HttpResponse:
    """Show what an entry came from."""
    facts = source_page.source_page(farm=farm, number=number)
    if facts is None:
        raise Http404
    return _shown(request, farm, "pages/cost_source.html", facts)


@for_roles(*OFFICE)
def download(request: HttpRequest, farm: Farm, membership: Membership, kind: str) -> HttpResponseBase:
    """Give the export as a file, or the manifest of it; for a large one, the page on which it is asked for."""
    wants_manifest = MANIFEST in request.GET
    if kind not in KINDS or (wants_manifest and kind in TELLS_ITSELF):
        raise Http404
    year = asked_year(request.GET, farm)
    name, content_type, write = KINDS[kind]
    days = dt.date(year, 1, 1), dt.date(year, 12, 31)
    instead = too_long(request, farm, LINES, *days) if kind == LINES else None
    return instead or _file(
        partial(write, farm=farm, crop_year=year),
        name=f"{farm.code}-{year}-{name}",
        content_type=content_type,
        wants_manifest=wants_manifest,
    )


@for_roles(*OFFICE)
def statement(request: HttpRequest, farm: Farm, membership: Membership, code: str) -> HttpResponseBase:
    """Give the statement of a field as a file."""
    field, year = get_object_or_404(Field, farm=farm, code=code), asked_year(request.GET, farm)
    write = partial(write_statement, farm=farm, field=field, crop_year=year)
    name, content_type = f"{farm.code}-{year}-{code}.pdf", "application/pdf"
    try:
        if MANIFEST in request.GET:
            return _file(write, name=name, content_type=content_type, wants_manifest=True)
        kept = KeptParts(partial(lines_mark, farm=farm, crop_year=year))
        with translation.override("en"):
            body = kept.values("statement", asked=field.pk, make=lambda: written(write, name))
    except ExportRefused as error:
        raise Http404(error.says) from error
    return FileResponse(io.BytesIO(body), as_attachment=True, filename=name, content_type=content_type)


def _file(
    write: Callable[..., object], *, name: str, content_type: str, wants_manifest: bool
) -> HttpResponseBase:
    """Answer with a file that is written now, in English whoever asks, or with the manifest of it.

    It is read on after its folder is gone.
    """
    with tempfile.TemporaryDirectory() as folder, translation.override("en"):
        path = Path(folder) / name
        facts = write(path=path)
        if wants_manifest:
            assert isinstance(facts, About)  # those that return something else tell it themselves
            path, content_type = write_manifest(path=path, facts=facts), MANIFEST_TYPE
        body = path.open("rb")
        name = path.name
    return FileResponse(body, as_attachment=True, filename=name, content_type=content_type)


def _shown(request: HttpRequest, farm: Farm, template: str, facts: dict[str, object]) -> HttpResponse:
    return render(request, template, _beside(farm, facts))


def _lines(request: HttpRequest, farm: Farm, body: str) -> HttpResponse:
    return render(request, "pages/cost_lines.html", {"farm": farm, "place": "costs", "body": body})


def _beside(farm: Farm, facts: dict[str, Any]) -> dict[str, Any]:
    return {"farm": farm, "place": "costs", "head": chain_head(farm=farm), **facts}


def _where(request: HttpRequest) -> CostWhere:
    try:
        return where_from(request.GET)
    except NoSuchCell as error:
        raise Http404(error.says) from error
