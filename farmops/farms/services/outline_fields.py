"""Fields from a file of outlines: looked at beside each other and the fields that are there, then kept, all or none."""

import datetime as dt
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop
from shapely import STRtree
from shapely.geometry import MultiPolygon, Polygon, shape
from shapely.geometry.base import BaseGeometry

from farmops.core.models import User
from farmops.core.problems import DomainError
from farmops.farms.boundaries import Boundary, BoundaryError, geodesic_area_m2, read_boundary
from farmops.farms.models import Farm, Field, SoilZone, StartFile, StartKind
from farmops.farms.outlines.files import read_outlines
from farmops.farms.outlines.found import Told, UnreadableOutlines
from farmops.farms.services.code_names import code_of
from farmops.farms.services.farm_files import read_field
from farmops.farms.services.json_facts import BadFarmFile, Node
from farmops.science.textures import TEXTURES
from farmops.science.units import acres_from_m2

Progress = Callable[[int, int], None]
MOST_AC = Decimal(5000)
"""Farm judgement: what is larger is the outline of a farm or a county and no field."""
LEAST_AC = Decimal("0.1")
SAME_SHARE = 0.95
"""Of the ground of both together: from there on two outlines are taken for one."""
OVERLAP_AC, OVERLAP_SHARE = 0.1, 0.01
"""Farm judgement: neighbors drawn by hand lie over each other by a strip; more is told."""
TOO_BIG = gettext_noop("it encloses {acres} acres; at most {most} are taken for one field")
NO_GROUND = gettext_noop("it encloses {acres} acres, less than a yard")
SAME_GROUND = gettext_noop("it is the same ground as {other}")
OVERLAP = gettext_noop("it lies over {other} by {acres} acres")
KEPT_ALREADY = gettext_noop(
    "There is no file of boundaries any more: it was kept or put away. Look at the fields."
)
NAME_HINTS = ("name", "field_name", "fieldname", "field", "label", "title")


class OutlinesRefused(DomainError):
    """Outlines that cannot be read or kept as fields; the sentence says why, and nothing of them was kept."""

    code = "outlines_refused"


@dataclass
class Candidate:
    """One outline of a file: its name, its boundary where it is one, and what is wrong or odd about it."""

    number: int
    name: str
    attributes: Mapping[str, str]
    geometry: Mapping[str, Any] | None
    boundary: Boundary | None = None
    error: BoundaryError | Told | None = None
    doubts: list[Told] = field(default_factory=list)


def hand_in_outlines(*, farm: Farm, content: bytes, name: str, made_by: User, now: dt.datetime) -> StartFile:
    """Read a file of outlines and let it wait to be looked at; the one before it goes. Raises OutlinesRefused."""
    try:
        found = read_outlines(content)
    except UnreadableOutlines as error:
        raise OutlinesRefused(_(error.told.form).format(**error.told.facts)) from error
    outlines = [
        {
            "geometry": one.geometry,
            "attributes": one.attributes,
            "trouble": [one.trouble.form, dict(one.trouble.facts)] if one.trouble else None,
        }
        for one in found.outlines
    ]
    kept = {
        "outlines": outlines,
        "notes": [[one.form, dict(one.facts)] for one in found.notes],
        "is_swapped": False,
    }
    return put_start_file(
        farm=farm, kind=StartKind.BOUNDARIES, name=name, content=kept, made_by=made_by, now=now
    )


def put_start_file(
    *, farm: Farm, kind: StartKind, name: str, content: dict[str, Any], made_by: User, now: dt.datetime
) -> StartFile:
    """Let a file wait in the place of the one of its kind before it."""
    row, _is_new = StartFile.objects.update_or_create(
        farm=farm,
        kind=kind,
        defaults={"name": name[:80], "content": content, "made_at": now, "made_by": made_by},
    )
    return row


def middle_of(content: bytes) -> tuple[float, float]:
    """Return latitude and longitude of the middle of all outlines of a file. Raises OutlinesRefused."""
    try:
        found = read_outlines(content)
    except UnreadableOutlines as error:
        raise OutlinesRefused(_(error.told.form).format(**error.told.facts)) from error
    places = []
    for one in found.outlines:
        if one.geometry is not None:
            try:
                boundary = read_boundary(one.geometry)
            except BoundaryError:
                continue
            places.append((float(boundary.latitude_deg), float(boundary.longitude_deg)))
    if not places:
        raise OutlinesRefused(_("None of the outlines in the file is a boundary, so they tell no place."))
    return sorted(one[0] for one in places)[len(places) // 2], sorted(one[1] for one in places)[
        len(places) // 2
    ]


def naming_attributes(outlines: Sequence[Mapping[str, Any]]) -> list[str]:
    """Return the attributes that can name the outlines, the likeliest first."""
    counts: dict[str, set[str]] = {}
    for one in outlines:
        for key, value in one["attributes"].items():
            counts.setdefault(key, set()).add(value)

    def unlikely(key: str) -> tuple[bool, bool, int]:
        is_text = any(not value.replace(".", "").isdecimal() for value in counts[key])
        return (key.lower() not in NAME_HINTS, not is_text, -len(counts[key]))

    return sorted(counts, key=unlikely)


def candidates(
    *, farm: Farm, content: Mapping[str, Any], named_by: str, progress: Progress | None = None
) -> list[Candidate]:
    """Return the outlines as fields to be, each with what is wrong about it by itself and beside the others."""
    outlines = content["outlines"]
    found = []
    for number, one in enumerate(outlines, start=1):
        if progress is not None:
            progress(number, len(outlines))
        name = " ".join(one["attributes"].get(named_by, "").split())[:60]
        candidate = Candidate(
            number, name or _("Field {number}").format(number=number), one["attributes"], one["geometry"]
        )
        _measure(candidate, farm, is_swapped=content["is_swapped"], trouble=one["trouble"])
        found.append(candidate)
    _hold_side_by_side(found, list(Field.objects.filter(farm=farm).order_by("id")))
    return found


def keep_outlines(
    *,
    farm: Farm,
    names: Mapping[int, str],
    texture: str,
    named_by: str = "",
    progress: Progress | None = None,
) -> int:
    """Store the outlines that have a name here as fields with one kind of soil; all of them or none. Returns how many."""
    waiting = StartFile.objects.filter(farm=farm, kind=StartKind.BOUNDARIES).first()
    if waiting is None:
        raise OutlinesRefused(_(KEPT_ALREADY))
    if texture not in TEXTURES:
        raise OutlinesRefused(_("Choose the texture of the topsoil."), fields={"texture": texture})
    every = candidates(farm=farm, content=waiting.content, named_by=named_by, progress=progress)
    chosen = [one for one in every if one.number in names]
    if not chosen:
        raise OutlinesRefused(_("Tick at least one field to keep."))
    wrong = name_troubles(farm=farm, names={one.number: names[one.number] for one in chosen})
    if wrong:
        number, says = next(iter(wrong.items()))
        raise OutlinesRefused(
            _("Nothing was kept. Field {number}: {says}.").format(number=number, says=says),
            fields={f"name-{one}": why for one, why in wrong.items()},
        )
    taken = set(Field.objects.filter(farm=farm).values_list("code", flat=True))
    fields = []
    for one in chosen:
        if one.error is not None or one.boundary is None:
            raise OutlinesRefused(
                _("Nothing was kept. Field {number} has no boundary that can be used; leave it out.").format(
                    number=one.number
                )
            )
        name = names[one.number].strip()
        code = code_of(name, taken=taken, otherwise="field")
        taken.add(code)
        node = Node({"code": code, "name": name, "planted_ac": one.boundary.area_ac}, path=Path())
        row = read_field(node, one.boundary)
        fields.append(Field(farm=farm, **row.key, **row.values))
    with transaction.atomic():
        if not StartFile.objects.filter(pk=waiting.pk).delete()[0]:  # somebody else kept it at this moment
            raise OutlinesRefused(_(KEPT_ALREADY))
        zone = {"farm": farm, "name": "all", "texture": texture, "share_pct": Decimal(100)}
        SoilZone.objects.bulk_create(
            [SoilZone(field=field, **zone) for field in Field.objects.bulk_create(fields)]
        )
    return len(chosen)


def name_troubles(*, farm: Farm, names: Mapping[int, str]) -> dict[int, str]:
    """Return what is wrong with the names of fields to be, by their numbers."""
    known = {one.casefold() for one in Field.objects.filter(farm=farm).values_list("name", flat=True)}
    seen: dict[str, int] = {}
    wrong: dict[int, str] = {}
    for number, name in names.items():
        key = name.strip().casefold()
        try:
            Node({"name": name}, path=Path()).text("name", most=60)
        except BadFarmFile:
            wrong[number] = _("give it a name of at most 60 letters")
            continue
        if key in known:
            wrong[number] = _("the farm has a field of this name already")
        elif key in seen:
            wrong[number] = _("field {other} has the same name").format(other=seen[key])
        seen.setdefault(key, number)
    return wrong


def _measure(one: Candidate, farm: Farm, *, is_swapped: bool, trouble: Any) -> None:
    if trouble is not None or one.geometry is None:
        one.error = Told(*trouble) if trouble is not None else Told("It has no shape.")
        return
    try:
        one.boundary = read_boundary(
            _swapped(one.geometry) if is_swapped else one.geometry,
            near_latitude_deg=float(farm.latitude_deg),
            near_longitude_deg=float(farm.longitude_deg),
        )
    except BoundaryError as error:
        one.error = error
        return
    area_ac = one.boundary.area_ac
    if area_ac > MOST_AC:
        one.error = Told(TOO_BIG, {"acres": f"{area_ac:,.0f}", "most": f"{MOST_AC:,.0f}"})
    elif area_ac < LEAST_AC:
        one.doubts.append(Told(NO_GROUND, {"acres": f"{area_ac:.2f}"}))


def _swapped(geometry: Mapping[str, Any]) -> dict[str, Any]:
    def turn(value: Any) -> Any:
        if isinstance(value, list) and len(value) >= 2 and not isinstance(value[0], list):
            return [value[1], value[0], *value[2:]]
        return [turn(item) for item in value] if isinstance(value, list) else value

    return {"type": geometry.get("type"), "coordinates": turn(geometry.get("coordinates"))}


def _hold_side_by_side(found: Sequence[Candidate], fields: Sequence[Field]) -> None:
    """Tell which outlines are one and the same ground, and which lie over each other."""
    named: list[tuple[str, BaseGeometry, Candidate | None]] = [
        (one.name, shape(one.boundary), None) for one in fields
    ]
    named += [
        (one.name, shape(one.boundary.geometry), one)
        for one in found
        if one.boundary is not None and one.error is None
    ]
    tree = STRtree([one[1] for one in named])
    for here, (_name, mine, candidate) in enumerate(named):
        if candidate is None:
            continue
        for there in sorted(tree.query(mine, predicate="intersects")):
            if there >= here or candidate.error is not None:
                continue
            other, theirs, rival = named[there]
            if rival is not None and rival.error is not None:
                continue
            _compare(candidate, mine, other, theirs)


def _compare(candidate: Candidate, mine: BaseGeometry, other: str, theirs: BaseGeometry) -> None:
    common = mine.intersection(theirs)
    shared_ac = _acres(common)
    least_ac = min(_acres(mine), _acres(theirs))
    if not shared_ac or not least_ac:
        return
    if common.area / (mine.area + theirs.area - common.area) >= SAME_SHARE:
        candidate.error = Told(SAME_GROUND, {"other": other})
    elif shared_ac >= OVERLAP_AC and shared_ac / least_ac >= OVERLAP_SHARE:
        candidate.doubts.append(Told(OVERLAP, {"other": other, "acres": f"{shared_ac:.1f}"}))


def _acres(whole: BaseGeometry) -> float:
    parts: Collection[Any] = getattr(whole, "geoms", [whole])
    return sum(
        acres_from_m2(geodesic_area_m2(part))
        for part in parts
        if isinstance(part, (Polygon, MultiPolygon)) and part.area
    )
