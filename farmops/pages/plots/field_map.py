"""A field's outline with the punctures on it, numbered, and rings around those that lie together."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from scheduling.debris.places import Cluster
from scheduling.slips.shape import HEIGHT_PX, WIDTH_PX, FieldShape, shape_of

FEET_PER_DEGREE = 364_000.0
"""Feet in a degree of latitude within 0.6 % anywhere: for the length of the bar and of the rings only."""
ROUND_FT = (50, 100, 200, 250, 500, 1000, 2000, 2500, 5000)
LONGEST_BAR_SHARE = 0.35


@dataclass(frozen=True)
class MapSpot:
    """A puncture to be drawn: its key, its number on the map, where it was, and what is said of it."""

    key: int
    number: int
    latitude_deg: float
    longitude_deg: float
    says: str


@dataclass(frozen=True)
class MapMark:
    """A numbered disk on the map."""

    x: str
    y: str
    text_y: str
    number: int
    says: str


@dataclass(frozen=True)
class MapRing:
    """A dashed ring around punctures that lie together."""

    x: str
    y: str
    radius: str


@dataclass(frozen=True)
class FieldMap:
    """The drawing, in units of its own page, with its words."""

    key: str
    title: str
    desc: str
    width: int
    height: int
    path: str
    marks: tuple[MapMark, ...]
    rings: tuple[MapRing, ...]
    bar_px: str
    bar_end_px: str
    bar_says: str


def field_map(
    *, key: str, name: str, boundary: Mapping[str, Any], spots: Sequence[MapSpot], clusters: Sequence[Cluster]
) -> FieldMap:
    """Return the map of a field; spots off the drawing stand at its edge."""
    shape = shape_of(boundary)
    px_per_ft = shape.px_per_deg_north / FEET_PER_DEGREE
    at = {one.key: _on_page(shape, one) for one in spots}
    marks = tuple(
        MapMark(_px(at[one.key][0]), _px(at[one.key][1]), _px(at[one.key][1] + 4.2), one.number, one.says)
        for one in spots
    )
    longest_ft = WIDTH_PX * LONGEST_BAR_SHARE / px_per_ft
    bar_ft = max([one for one in ROUND_FT if one <= longest_ft], default=ROUND_FT[0])
    return FieldMap(
        key=key,
        title=_("Punctures on {field}, north up").format(field=name),
        desc="; ".join(one.says for one in spots) or _("None with a place."),
        width=WIDTH_PX,
        height=HEIGHT_PX,
        path=shape.path,
        marks=marks,
        rings=tuple(_ring(one, at, px_per_ft) for one in clusters),
        bar_px=_px(8),
        bar_end_px=_px(8 + bar_ft * px_per_ft),
        bar_says=_("{length} ft").format(length=f"{bar_ft:,}"),
    )


def _ring(cluster: Cluster, at: Mapping[int, tuple[float, float]], px_per_ft: float) -> MapRing:
    points = [at[key] for key in cluster.keys]
    x = math.fsum(point[0] for point in points) / len(points)
    y = math.fsum(point[1] for point in points) / len(points)
    return MapRing(_px(x), _px(y), _px(max(cluster.radius_ft * px_per_ft, 10.0)))


def _on_page(shape: FieldShape, spot: MapSpot) -> tuple[float, float]:
    x, y = shape.point_of(latitude_deg=spot.latitude_deg, longitude_deg=spot.longitude_deg)
    return min(max(x, 6.0), WIDTH_PX - 6.0), min(max(y, 6.0), HEIGHT_PX - 6.0)


def _px(value: float) -> str:
    return f"{value:.1f}"
