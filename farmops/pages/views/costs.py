"""Costs by field, down to the line and what it came from."""

import datetime as dt
import tempfile
from pathlib import Path

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from farmops.core import clock
from farmops.farms.models import Farm, Field, Membership, Role, Season
from farmops.pages import cost_page
from farmops.pages.access import for_roles
from ledger.exports import field_costs as exports

KINDS = {
    "csv": ("text/csv; charset=utf-8", exports.write_csv),
    "xlsx": ("application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", exports.write_xlsx),
}


@for_roles(Role.BOOKKEEPER, Role.MANAGER)
def costs(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show what each field cost in a crop year."""
    year = _year(request, farm)
    context = {"farm": farm, "place": "costs", **cost_page.cost_facts(farm=farm, crop_year=year)}
    return render(request, "pages/costs.html", context)


@for_roles(Role.BOOKKEEPER, Role.MANAGER)
def field_costs(request: HttpRequest, farm: Farm, membership: Membership, code: str) -> HttpResponse:
    """Show every line of one field, with its source and rate."""
    field = get_object_or_404(Field, farm=farm, code=code)
    facts = cost_page.line_facts(farm=farm, field=field, crop_year=_year(request, farm))
    return render(request, "pages/field_costs.html", {"farm": farm, "place": "costs", **facts})


@for_roles(Role.BOOKKEEPER, Role.MANAGER)
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


def _year(request: HttpRequest, farm: Farm) -> int:
    asked = request.GET.get("year", "")
    if asked.isdecimal() and len(asked) == 4:
        return int(asked)
    newest = (
        Season.objects.filter(farm=farm).order_by("-crop_year").values_list("crop_year", flat=True).first()
    )
    today: dt.date = clock.local_date(clock.now(), farm.zone)
    return newest or today.year
