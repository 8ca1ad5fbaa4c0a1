"""Crop, soil and acres of each field.

What it is for: to say once a year what grows where, and what the ground is made of. Its user decides there what each
field's plan and ground reckon with.
"""

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.farms.models import Farm, Field, Season
from farmops.pages.ground import texture_said

ON_A_PAGE = 60


def fields_facts(
    *, farm: Farm, crop_year: int, page: int, typed: Mapping[str, str] | None, wrong: Mapping[str, str]
) -> dict[str, Any]:
    """Return the fields of one page of the list with what is known of them, or what was typed."""
    count = Field.objects.filter(farm=farm).count()
    pages = max(1, -(-count // ON_A_PAGE))
    page = max(1, min(page, pages))
    first = (page - 1) * ON_A_PAGE
    rows = Field.objects.filter(farm=farm).prefetch_related("zones").order_by("name", "id")
    shown = list(rows[first : first + ON_A_PAGE])
    seasons = {
        season.field_id: season.crop
        for season in Season.objects.filter(farm=farm, crop_year=crop_year, part="", field__in=shown)
    }
    lacking = count - Season.objects.filter(farm=farm, crop_year=crop_year).values("field").distinct().count()
    return {
        "headline": _headline(count, lacking, crop_year),
        "rows": [_row(one, seasons.get(one.pk, ""), typed, wrong) for one in shown],
        "earlier": page - 1 if page > 1 else 0,
        "further": page + 1 if page < pages else 0,
        "page_said": _("{page} of {pages}").format(page=page, pages=pages) if pages > 1 else "",
        "other_years": [crop_year - 1, crop_year + 1],
    }


def _row(
    field: Field, crop: str, typed: Mapping[str, str] | None, wrong: Mapping[str, str]
) -> dict[str, Any]:
    zones = list(field.zones.all())
    told = typed or {}
    at = next(
        (name for name in (f"crop-{field.pk}", f"texture-{field.pk}", f"acres-{field.pk}") if name in wrong),
        "",
    )
    return {
        "id": field.pk,
        "code": field.code,
        "name": field.name,
        "area_ac": f"{field.area_ac:,.1f}",
        "acres": told.get(f"acres-{field.pk}", f"{field.planted_ac.normalize():f}"),
        "crop": told.get(f"crop-{field.pk}", crop),
        "texture": told.get(f"texture-{field.pk}", zones[0].texture if len(zones) == 1 else ""),
        "zones": ", ".join(texture_said(zone.texture) for zone in zones) if len(zones) != 1 else "",
        "wrong": wrong.get(at, ""),
    }


def _headline(count: int, lacking: int, crop_year: int) -> str:
    if not count:
        return _("No field is described yet.")
    if not lacking:
        return _("Every field has its crop of {year}.").format(year=crop_year)
    return ngettext(
        "{count} field has no crop of {year} yet.", "{count} fields have no crop of {year} yet.", lacking
    ).format(count=lacking, year=crop_year)
