"""A field's shape as a small drawing: the boundary in fewer corners, on a page of fixed size, north up. Pure."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from shapely.geometry import LinearRing

WIDTH_PX, HEIGHT_PX, EDGE_PX = 320, 240, 12
"""The page of the drawing, and the empty edge around the field on it."""
FINEST_PX = 1.0
"""A corner that lies closer than this to the line past it is left out."""
MOST_POINTS = 400

Points = tuple[tuple[float, float], ...]
Outlines = tuple[Points, ...]


@dataclass(frozen=True)
class FieldShape:
    """The rings of a field on the drawing in pixels from its upper left corner, outer ones and holes alike.

    A step east is as long as the same step north on the ground: degrees east are shortened by the cosine of the middle
    latitude, which over a field is true within a pixel.
    """

    rings: tuple[Points, ...]
    west_deg: float
    north_deg: float
    px_per_deg_east: float
    px_per_deg_north: float
    left_px: float
    top_px: float

    @property
    def path(self) -> str:
        """Return the data of an SVG path, to a tenth of a pixel; with the even-odd rule holes stay empty."""
        return "".join("M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in ring) + "Z" for ring in self.rings)

    def point_of(self, *, latitude_deg: float, longitude_deg: float) -> tuple[float, float]:
        """Return where a place lies on the drawing."""
        return (
            self.left_px + (longitude_deg - self.west_deg) * self.px_per_deg_east,
            self.top_px + (self.north_deg - latitude_deg) * self.px_per_deg_north,
        )

    def place_of(self, *, x_px: float, y_px: float) -> tuple[float, float]:
        """Return latitude and longitude in degrees of a point of the drawing."""
        return (
            self.north_deg - (y_px - self.top_px) / self.px_per_deg_north,
            self.west_deg + (x_px - self.left_px) / self.px_per_deg_east,
        )


def shape_of(boundary: Mapping[str, Any]) -> FieldShape:
    """Return the drawing of an RFC 7946 Polygon or MultiPolygon that encloses ground.

    Corners are left out by the method of Douglas and Peucker, finer first and then coarser until `MOST_POINTS` are left.
    A field looks the same each day, so what was drawn is kept.
    """
    return _drawn(_outlines(boundary))


@lru_cache(maxsize=2048)
def _drawn(outlines: Outlines) -> FieldShape:
    points = [point for ring in outlines for point in ring]
    west, east = min(x for x, _y in points), max(x for x, _y in points)
    south, north = min(y for _x, y in points), max(y for _x, y in points)
    narrowing = math.cos(math.radians((south + north) / 2))
    wide, high = (east - west) * narrowing, north - south
    per_north = min((WIDTH_PX - 2 * EDGE_PX) / wide, (HEIGHT_PX - 2 * EDGE_PX) / high)
    frame = FieldShape(
        rings=(),
        west_deg=west,
        north_deg=north,
        px_per_deg_east=per_north * narrowing,
        px_per_deg_north=per_north,
        left_px=(WIDTH_PX - wide * per_north) / 2,
        top_px=(HEIGHT_PX - high * per_north) / 2,
    )
    drawn = [[frame.point_of(latitude_deg=y, longitude_deg=x) for x, y in ring] for ring in outlines]
    finest_px = FINEST_PX
    kept = _simpler(drawn, finest_px)
    while sum(len(ring) for ring in kept) > MOST_POINTS:
        finest_px *= 2
        kept = _simpler(drawn, finest_px)
    return FieldShape(
        rings=tuple(kept),
        west_deg=frame.west_deg,
        north_deg=frame.north_deg,
        px_per_deg_east=frame.px_per_deg_east,
        px_per_deg_north=frame.px_per_deg_north,
        left_px=frame.left_px,
        top_px=frame.top_px,
    )


def _outlines(boundary: Mapping[str, Any]) -> Outlines:
    coordinates = boundary["coordinates"]
    polygons = coordinates if boundary["type"] == "MultiPolygon" else [coordinates]
    return tuple(
        tuple((float(point[0]), float(point[1])) for point in ring)
        for polygon in polygons
        for ring in polygon
    )


def _simpler(rings: Sequence[Sequence[tuple[float, float]]], finest_px: float) -> list[Points]:
    """Return the rings with fewer corners, open (the last corner is not the first); what shrinks to a speck is left out.

    Where all of them do, as with small plots far apart, they stay.
    """
    found = []
    for ring in rings:
        corners = LinearRing(ring).simplify(finest_px, preserve_topology=True).coords[:-1]
        points = tuple((round(x, 1), round(y, 1)) for x, y in corners)
        if len(set(points)) >= 3:
            found.append(points)
    return found or [tuple(ring[:-1]) for ring in rings]
