"""Costs by field, down to the line and what it came from."""

import datetime as dt
import tempfile
from pathlib import Path

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from farmops.core import clock
from farmops.farms.models import Farm, Field, Membership, Role, Season
from farmops.pages import cost_lines_page, cost_page, source_page
from farmops.pages.access import for_roles
from ledger.exports import field_costs as exports
from ledger.selectors.chain import chain_head
from ledger.selectors.cost_cells import CostWhere, NoSuchCell, where_from
from ledger.selectors.pool_lines import Side

KINDS = {
    "csv": ("text/csv; charset=utf-8", exports.write_csv),
    "xlsx": ("application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", exports.write_xlsx),
}
BOOKS: tuple[tuple[str, str], ...] = ()
"""The pages of the books, by the word and the name of the address."""
OFFICE = (Role.BOOKKEEPER, Role.MANAGER)


@for_roles(*OFFICE)
def costs(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show what each field cost in a crop year, or each crop, operation, machine, month or category."""
    cut = request.GET.get("by", "field")
    if cut not in cost_page.CUTS:
        raise Http404
    facts = cost_page.cost_facts(farm=farm, crop_year=_year(request, farm), cut=cut, where=_where(request))
    books = [(word, reverse(f"pages:{name}", args=[farm.code])) for word, name in BOOKS]
    return render(request, "pages/costs.html", {"farm": farm, "place": "costs", "books": books, **facts})


@for_roles(*OFFICE)
def lines(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show the lines behind one number of the table of costs."""
    year, where = _year(request, farm), _where(request)
    facts = cost_lines_page.cell_facts(farm=farm, crop_year=year, where=where, page=_page(request))
    query = cost_page.query_of(year, where)
    return _shown(request, farm, "pages/cost_lines.html", {"query": query, **facts})


@for_roles(*OFFICE)
def pool_lines(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show the lines behind one number of a pool."""
    code, side = request.GET.get("pool", ""), request.GET.get("side", "")
    if side not in set(Side):
        raise Http404
    facts = cost_lines_page.pool_facts(farm=farm, code=code, side=Side(side), page=_page(request))
    if not (facts["lines"] or cost_lines_page.is_pool(farm=farm, code=code)):
        raise Http404
    return _shown(request, farm, "pages/cost_lines.html", facts)


@for_roles(*OFFICE)
def field_costs(request: HttpRequest, farm: Farm, membership: Membership, code: str) -> HttpResponse:
    """Show every line of one field, with its source and rate."""
    field = get_object_or_404(Field, farm=farm, code=code)
    facts = cost_lines_page.field_facts(farm=farm, field=field, crop_year=_year(request, farm))
    return _shown(request, farm, "pages/field_costs.html", facts)


@for_roles(*OFFICE)
def source(request: HttpRequest, farm: Farm, membership: Membership, number: int) -> HttpResponse:
    """Show what an entry came from."""
    facts = source_page.source_page(farm=farm, number=number)
    if facts is None:
        raise Http404
    return _shown(request, farm, "pages/cost_source.html", facts)


@for_roles(*OFFICE)
def download(request: HttpRequest, farm: Farm, membership: Membership, kind: str) -> HttpResponse:
    """Give the export as a file."""
    if kind not in KINDS:
        raise Http404
    year = _year(request, farm)
    content_type, write = KINDS[kind]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"field-costs.{kind}"
        write(farm=farm, crop_year=year, path=path)
        body = path.read_bytes()
    name = f"{farm.code}-{year}-field-costs.{kind}"
    return HttpResponse(
        body, content_type=content_type, headers={"Content-Disposition": f'attachment; filename="{name}"'}
    )


def _shown(request: HttpRequest, farm: Farm, template: str, facts: dict[str, object]) -> HttpResponse:
    return render(request, template, {"farm": farm, "place": "costs", "head": chain_head(farm=farm), **facts})


def _where(request: HttpRequest) -> CostWhere:
    try:
        return where_from(request.GET)
    except NoSuchCell as error:
        raise Http404(error.says) from error


def _page(request: HttpRequest) -> int:
    asked = request.GET.get("page", "1")
    if not (asked.isdecimal() and 1 <= len(asked) <= 6 and int(asked) > 0):
        raise Http404
    return int(asked)


def _year(request: HttpRequest, farm: Farm) -> int:
    asked = request.GET.get("year", "")
    if asked.isdecimal() and len(asked) == 4:
        return int(asked)
    newest = (
        Season.objects.filter(farm=farm).order_by("-crop_year").values_list("crop_year", flat=True).first()
    )
    today: dt.date = clock.local_date(clock.now(), farm.zone)
    return newest or today.year
