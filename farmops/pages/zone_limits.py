"""Each soil zone's wet and dry limit, and what fitting them to the remarks would make of them, as plain data."""

import datetime as dt
from collections.abc import Sequence
from html import escape
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Exists, OuterRef
from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext, pgettext

from farmops.core.clock import local_date
from farmops.core.problems import DomainError
from farmops.farms.models import Farm, Field, SoilZone
from farmops.pages import words
from farmops.pages.ground import texture_said
from farmops.pages.parts import part_of
from scheduling.models import ZoneLimitChange
from scheduling.selectors.ground import zone_soils
from scheduling.services.calibration import ZoneCalibration, calibrate
from scheduling.windows import Limit
from scheduling.windows.calibration import LEAST_REMARKS, Fitted

WHOLE_FIELD = "all"
"""The name of the zone of a field that has one alone; not said."""
FIT_NAMES = (gettext_noop("wet"), gettext_noop("dry"))


def zone_facts(
    *, farm: Farm, field: Field | None, now: dt.datetime, limits: Sequence[Limit], page: int = 1
) -> dict[str, Any]:
    """Return the zones of a farm or a field with their limits, m³/m³, and the fit to the remarks. Raises NoSoil.

    A large farm's zones come by parts of so many fields.
    """
    changes = {}
    for change in ZoneLimitChange.objects.filter(farm=farm).order_by("set_at", "id"):
        changes[change.zone_id] = change
    rows, textures = [], {}
    described = Field.objects.filter(Exists(SoilZone.objects.filter(field=OuterRef("pk"))), farm=farm)
    part = part_of(described.count() if field is None else 1, page=page, query={}, at="zones")
    fields = None if field is None else [field]
    if part.pages > 1:
        fields = list(part.of(described.order_by("code").only("pk")))
    for zone, soil in zone_soils(farm=farm, fields=fields, limits=limits):
        has_own = zone.workable_m3_m3 is not None or zone.dry_m3_m3 is not None
        if zone.texture not in textures:
            textures[zone.texture] = texture_said(zone.texture)
        rows.append(
            (
                zone.field,
                zone.name,
                textures[zone.texture],
                f"{soil.workable_below_m3_m3:.3f}",
                f"{soil.dry_below_m3_m3:.3f}",
                _whose(changes.get(zone.pk), farm.zone) if has_own else _("its texture"),
            )
        )
    drawn = _drawn(rows, here="" if field is not None else reverse("pages:limits", args=[farm.code]))
    try:
        found = calibrate(farm=farm, field=field, as_of=local_date(now, farm.zone))
    except DomainError as error:
        said = words.dates_said(error.says)
        return {"trouble": "", "rows": drawn, "part": part, "fits": [], "nothing_said": said}
    return {
        "trouble": "",
        "part": part,
        "rows": drawn,
        "fits": [_fit(one, name) for one in found for name in FIT_NAMES],
        "moves": is_moved(found),
        "mark": fit_mark(found),
    }


def _drawn(rows: Sequence[tuple[Field, str, str, str, str, str]], *, here: str) -> SafeString:
    """Return the rows of the table of zones, each field with a link to its own limits, on a page of all fields.

    They are written without a template, since a farm of a thousand fields shows a hundred of them at a time.
    """
    labels = [escape(one) for one in (_("Soil"), _("Wet"), _("Dry"), pgettext("a source", "From"))]
    soil, wet, dry, source = labels
    told = []
    for field, zone, texture, wet_below, dry_below, whose in rows:
        name = escape(field.name)
        if here:
            name = f'<a href="{here}?field={escape(field.code)}#zones">{name}</a>'  # not said
        part = f", {escape(zone)}" if zone != WHOLE_FIELD else ""
        told.append(
            f'<tr><td>{name}{part}</td><td data-label="{soil}">{escape(texture)}</td>'  # not said
            f'<td class="n fig" data-label="{wet}">{wet_below}</td>'  # not said
            f'<td class="n fig" data-label="{dry}">{dry_below}</td>'  # not said
            f'<td data-label="{source}">{escape(whose)}</td></tr>'  # not said
        )
    return mark_safe("".join(told))  # each part of it is escaped


def is_moved(found: Sequence[ZoneCalibration]) -> bool:
    """Return whether any zone's limits would change."""
    return any(one.fit.wet.is_moved or one.fit.dry.is_moved for one in found)


def fit_mark(found: Sequence[ZoneCalibration]) -> str:
    """Return what a fit would make of the zones as one text, to see whether it is still what the page showed."""
    return " ".join(
        f"{one.zone.pk}:{one.fit.wet.after_m3_m3:.4f}:{one.fit.dry.after_m3_m3:.4f}:{one.fit.wet.remarks}"
        for one in found
    )


def _fit(one: ZoneCalibration, name: str) -> dict[str, Any]:
    fitted = one.fit.wet if name == "wet" else one.fit.dry
    return {
        "field": one.zone.field.name,
        "zone": one.zone.name,
        "limit": _(name),
        "before": f"{fitted.before_m3_m3:.3f}",
        "agrees_before": fitted.agrees_before,
        "after": f"{fitted.after_m3_m3:.3f}",
        "agrees_after": fitted.agrees_after,
        "remarks": fitted.remarks,
        "is_moved": fitted.is_moved,
        "says": _says(one, fitted),
    }


def _says(one: ZoneCalibration, fitted: Fitted) -> str:
    told = []
    if fitted.remarks < LEAST_REMARKS:
        told.append(_("fewer than {count} remarks: stays").format(count=words.count_word(LEAST_REMARKS)))
    else:
        told.append(pgettext("a limit", "moves") if fitted.is_moved else pgettext("a limit", "stays"))
    if one.unplaced:
        told.append(
            ngettext(
                "{count} on the whole field do not say which zone",
                "{count} on the whole field do not say which zone",
                one.unplaced,
            ).format(count=one.unplaced)
        )
    return "; ".join(told)


def _whose(change: ZoneLimitChange | None, zone: str) -> str:
    if change is None:
        return _("the zone's own, from the farm's files")
    told = ngettext(
        "fitted to {count} remark, {name}, {day}",
        "fitted to {count} remarks, {name}, {day}",
        change.remark_count,
    )
    day = words.full_date(change.set_at.astimezone(ZoneInfo(zone)).date())
    return told.format(count=change.remark_count, name=change.set_by_name, day=day)
