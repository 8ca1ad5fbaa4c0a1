"""The fields of a farm on one map from their boundaries, north up, each filled by how wet its ground is."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from shapely.geometry import LinearRing, Polygon

WIDTH_PX, EDGE_PX = 360, 8
LEAST_HIGH_PX, MOST_HIGH_PX = 120, 420
FINEST_PX = 0.5
"""A corner that lies closer than this to the line past it is left out."""
ROOM_WIDE_PX, ROOM_HIGH_PX = 26, 26
"""A field that is drawn smaller than this has its number only; its wetness stands in the table."""
BESIDE_BELOW_PX = 14
"""The number of a field that is drawn smaller than this stands to the right of it."""
FEET_PER_DEGREE = 364_000.0
"""Feet in a degree of latitude within 0.6 % anywhere: for the length of the bar only."""
FEET_PER_MILE = 5280
ROUND_FT = (500, 1000, 2000, *(miles * FEET_PER_MILE for miles in (1, 2, 5, 10, 20)))
LONGEST_BAR_SHARE = 0.3


@dataclass(frozen=True)
class MapField:
    """A field to be drawn: its number in the table, its boundary, its wetness (no step: not known) and its words."""

    number: int
    code: str
    boundary: Mapping[str, Any]
    step: int | None
    topsoil: str
    says: str


@dataclass(frozen=True)
class DrawnField:
    """A field on the drawing: its outline, where its number stands, and its wetness below where there is room for it."""

    number: int
    code: str
    path: str
    step: int | None
    x: str
    y: str
    is_beside: bool
    topsoil_y: str
    topsoil: str
    says: str


@dataclass(frozen=True)
class FarmMap:
    """The drawing, in units of its own page."""

    width: int
    height: int
    fields: tuple[DrawnField, ...]
    bar_end_px: str
    bar_said: str
    foot_px: int


def farm_map(fields: Sequence[MapField]) -> FarmMap | None:
    """Return the map of fields; a step east is as long as the same step north in the middle latitude. None without fields."""
    if not fields:
        return None
    rings = [_rings(one.boundary) for one in fields]
    points = [point for of_field in rings for ring in of_field for point in ring]
    west, east = min(x for x, _y in points), max(x for x, _y in points)
    south, north = min(y for _x, y in points), max(y for _x, y in points)
    narrowing = math.cos(math.radians((south + north) / 2))
    wide, high = (east - west) * narrowing, north - south
    per_north = min((WIDTH_PX - 2 * EDGE_PX) / wide, (MOST_HIGH_PX - 2 * EDGE_PX) / high)
    height = max(math.ceil(high * per_north) + 2 * EDGE_PX, LEAST_HIGH_PX)
    left, top = (WIDTH_PX - wide * per_north) / 2, (height - high * per_north) / 2

    def placed(point: tuple[float, float]) -> tuple[float, float]:
        return left + (point[0] - west) * narrowing * per_north, top + (north - point[1]) * per_north

    px_per_ft = per_north / FEET_PER_DEGREE
    longest_ft = WIDTH_PX * LONGEST_BAR_SHARE / px_per_ft
    bar_ft = max([one for one in ROUND_FT if one <= longest_ft], default=ROUND_FT[0])
    return FarmMap(
        width=WIDTH_PX,
        height=height + 24,
        fields=tuple(
            _drawn(one, [[placed(point) for point in ring] for ring in of_field])
            for one, of_field in zip(fields, rings, strict=True)
        ),
        bar_end_px=f"{EDGE_PX + bar_ft * px_per_ft:.1f}",
        bar_said=length_said(bar_ft),
        foot_px=height + 14,
    )


def length_said(length_ft: int) -> str:
    """Return a length of the scale as people of the country say it: in feet, from a mile on in miles."""
    miles = length_ft // FEET_PER_MILE
    if not miles:
        return _("{length} ft").format(length=f"{length_ft:,}")
    return ngettext("{count} mile", "{count} miles", miles).format(count=miles)


def _rings(boundary: Mapping[str, Any]) -> list[list[tuple[float, float]]]:
    coordinates = boundary["coordinates"]
    polygons = coordinates if boundary["type"] == "MultiPolygon" else [coordinates]
    return [
        [(float(point[0]), float(point[1])) for point in ring] for polygon in polygons for ring in polygon
    ]


def _drawn(field: MapField, rings: Sequence[Sequence[tuple[float, float]]]) -> DrawnField:
    kept = [LinearRing(ring).simplify(FINEST_PX, preserve_topology=True).coords[:-1] for ring in rings]
    largest = max((Polygon(ring) for ring in rings), key=lambda one: one.area)
    inside = largest.representative_point()
    west, north, east, south = largest.bounds
    has_room = east - west >= ROOM_WIDE_PX and south - north >= ROOM_HIGH_PX
    is_beside = min(east - west, south - north) < BESIDE_BELOW_PX
    return DrawnField(
        number=field.number,
        code=field.code,
        path="".join("M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in ring) + "Z" for ring in kept),
        step=field.step,
        x=f"{east + 2 if is_beside else inside.x:.1f}",
        is_beside=is_beside,
        y=f"{inside.y + (-1 if has_room else 3):.1f}",
        topsoil_y=f"{inside.y + 9:.1f}",
        topsoil=field.topsoil if has_room else "",
        says=field.says,
    )
