"""Field boundaries: RFC 7946 geometry checked, put in order and measured on the WGS 84 ellipsoid. Pure: no Django.

What a drawing tool sends is taken in either winding and given back with the outer ring counter-clockwise and holes
clockwise (RFC 7946, section 3.1.6), positions cut to seven decimals (about a centimeter) and without elevations.
Anything that would make the acres a lie is refused with a sentence that says where.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from typing import Any

from pyproj import Geod
from shapely.geometry import MultiPolygon, Polygon, mapping
from shapely.geometry.polygon import orient
from shapely.validation import explain_validity

from farmops.science.units import acres_from_m2

MOST_POSITIONS = 5000
DECIMALS = 7
MOST_WHOLE = 10**6
FARTHEST_FROM_FARM_KM = 200.0
TOO_MANY = "{count} positions are more than the {most} a boundary may have"
SWAPPED = (
    "the boundary lies {away} km from the farm (at most {most}); longitude and latitude look swapped, since the other "
    "way round it lies {other} km from it"
)
_WGS84 = Geod(ellps="WGS84")


class BoundaryError(ValueError):
    """A boundary that cannot be used, with the place in it where the trouble is.

    `form` and `facts` are the sentence in two, and `near` a position, for who says it in another language.
    """

    def __init__(self, form: str, *, at: str = "", near: str = "", **facts: Any) -> None:
        says = form.format(**facts) + (f" near {near}" if near else "")
        super().__init__(f"{at}: {says}" if at else says)
        self.at, self.says = at, says
        self.form, self.facts, self.near = form, facts, near


@dataclass(frozen=True)
class Boundary:
    """A boundary in order, with its acres and a point that lies inside it."""

    geometry: dict[str, Any]
    area_ac: Decimal
    latitude_deg: Decimal
    longitude_deg: Decimal


def read_boundary(
    geometry: Mapping[str, Any],
    *,
    near_latitude_deg: float | None = None,
    near_longitude_deg: float | None = None,
) -> Boundary:
    """Return the boundary of an RFC 7946 Polygon or MultiPolygon.

    Latitudes lie within ±90 degrees, longitudes within ±180. With a farm's place given, a boundary more than 200 km
    away from it is refused, since that is how swapped coordinates show. Raises BoundaryError.
    """
    if not isinstance(geometry, Mapping):
        raise BoundaryError("a boundary is an object with a type and coordinates")
    kind = geometry.get("type")
    if kind not in ("Polygon", "MultiPolygon"):
        raise BoundaryError(
            "a boundary is a Polygon or a MultiPolygon, not {kind}", kind=repr(kind), at="type"
        )
    coordinates = geometry.get("coordinates")
    if kind == "Polygon":
        parts = [_polygon(coordinates, "coordinates")]
    else:
        if not _is_list(coordinates) or not coordinates:
            raise BoundaryError("a MultiPolygon is a list of at least one polygon", at="coordinates")
        parts = [_polygon(part, f"coordinates[{i}]") for i, part in enumerate(coordinates)]
    count = sum(len(ring.coords) for part in parts for ring in (part.exterior, *part.interiors))
    if count > MOST_POSITIONS:
        raise BoundaryError(TOO_MANY, count=count, most=MOST_POSITIONS)
    whole = parts[0] if kind == "Polygon" else MultiPolygon(parts)
    if not whole.is_valid:
        raise _what_is_wrong(explain_validity(whole))
    inside = whole.centroid if whole.contains(whole.centroid) else whole.representative_point()
    if near_latitude_deg is not None and near_longitude_deg is not None:
        _near(inside.y, inside.x, near_latitude_deg, near_longitude_deg)
    area_ac = Decimal(f"{acres_from_m2(geodesic_area_m2(whole)):.2f}")
    if area_ac <= 0:
        raise BoundaryError("the boundary encloses no ground")
    return Boundary(
        geometry=_plain(mapping(whole)),
        area_ac=area_ac,
        latitude_deg=Decimal(f"{inside.y:.6f}"),
        longitude_deg=Decimal(f"{inside.x:.6f}"),
    )


def geodesic_area_m2(shape: Polygon | MultiPolygon) -> float:
    """Return the area of a shape in longitude and latitude on the ellipsoid (m²), holes taken out.

    Edges are taken as geodesics; over the length of a field they differ from straight lines on the map by less than
    the seventh decimal. Method: Karney, "Algorithms for geodesics", J. Geodesy 87 (2013), as pyproj carries it.
    """
    polygons = shape.geoms if isinstance(shape, MultiPolygon) else [shape]
    return sum(_WGS84.geometry_area_perimeter(orient(polygon, 1.0))[0] for polygon in polygons)


def distance_km(*, latitude_a: float, longitude_a: float, latitude_b: float, longitude_b: float) -> float:
    """Return the geodesic distance between two places (km)."""
    return _WGS84.inv(longitude_a, latitude_a, longitude_b, latitude_b)[2] / 1000.0


def _is_list(value: Any) -> bool:
    return isinstance(value, Sequence) and not isinstance(value, (str, bytes))


def _polygon(rings: Any, at: str) -> Polygon:
    if not _is_list(rings) or not rings:
        raise BoundaryError("a polygon is a list of at least one ring", at=at)
    read = [_ring(ring, f"{at}[{i}]") for i, ring in enumerate(rings)]
    return orient(Polygon(read[0], read[1:]), 1.0)


def _ring(ring: Any, at: str) -> list[tuple[float, float]]:
    if not _is_list(ring):
        raise BoundaryError("a ring is a list of positions", at=at)
    if len(ring) > MOST_POSITIONS:
        raise BoundaryError(TOO_MANY, count=len(ring), most=MOST_POSITIONS, at=at)
    positions = [_position(position, f"{at}[{i}]") for i, position in enumerate(ring)]
    if len(positions) < 4:
        raise BoundaryError(
            "a ring has at least 4 positions, this one has {count}", count=len(positions), at=at
        )
    if positions[0] != positions[-1]:
        raise BoundaryError(
            "the ring is not closed: it starts at {first} and ends at {last}",
            first=_say(positions[0]),
            last=_say(positions[-1]),
            at=at,
        )
    kept = [positions[0]]
    kept += [after for before, after in pairwise(positions) if after != before]
    if len(kept) < 4:
        raise BoundaryError("the ring has fewer than three different corners", at=at)
    return kept


def _position(position: Any, at: str) -> tuple[float, float]:
    if not _is_list(position) or len(position) not in (2, 3):
        raise BoundaryError("a position is [longitude, latitude], perhaps with an elevation", at=at)
    for value in position:
        if not _is_finite(value):
            raise BoundaryError("{value} is not a finite number", value=str(value)[:20], at=at)
    longitude, latitude = round(float(position[0]), DECIMALS), round(float(position[1]), DECIMALS)
    if abs(latitude) > 90:
        form = "latitude {latitude} is outside -90 to 90"
        if abs(longitude) <= 90:
            form = "latitude {latitude} is outside -90 to 90; longitude and latitude look swapped"
        raise BoundaryError(form, latitude=latitude, at=at)
    if abs(longitude) > 180:
        raise BoundaryError("longitude {longitude} is outside -180 to 180", longitude=longitude, at=at)
    return longitude, latitude


def _is_finite(value: Any) -> bool:
    if isinstance(value, int):  # a whole number may be too long for a float
        return not isinstance(value, bool) and abs(value) <= MOST_WHOLE
    return isinstance(value, (float, Decimal)) and math.isfinite(value)


def _near(latitude: float, longitude: float, farm_latitude: float, farm_longitude: float) -> None:
    away = distance_km(
        latitude_a=latitude, longitude_a=longitude, latitude_b=farm_latitude, longitude_b=farm_longitude
    )
    if away <= FARTHEST_FROM_FARM_KM:
        return
    form = "the boundary lies {away} km from the farm (at most {most})"
    facts = {"away": f"{away:,.0f}", "most": f"{FARTHEST_FROM_FARM_KM:.0f}"}
    if abs(longitude) <= 90:
        other = distance_km(
            latitude_a=longitude, longitude_a=latitude, latitude_b=farm_latitude, longitude_b=farm_longitude
        )
        if other <= FARTHEST_FROM_FARM_KM:
            form = SWAPPED
            facts["other"] = f"{other:,.0f}"
    raise BoundaryError(form, at="coordinates", **facts)


_WORDS = {
    "Self-intersection": "the boundary crosses itself",
    "Ring Self-intersection": "a ring touches or crosses itself",
    "Hole lies outside shell": "a hole lies outside its outer ring",
    "Holes are nested": "one hole lies inside another",
    "Nested shells": "one part lies inside another",
    "Interior is disconnected": "a hole cuts the ground in two",
    "Duplicate Rings": "two rings are the same",
    "Too few points in geometry component": "a ring has fewer than three different corners",
}


def _what_is_wrong(explained: str) -> BoundaryError:
    name, _, place = explained.partition("[")
    form = _WORDS.get(name.strip(), "the boundary is no valid shape")
    if not place:
        return BoundaryError(form)
    near = ", ".join(f"{float(part):.{DECIMALS}f}" for part in place.rstrip("]").split())
    return BoundaryError(form, near=f"[{near}]")


def _say(position: tuple[float, float]) -> str:
    return f"[{position[0]}, {position[1]}]"


def _plain(shape: Mapping[str, Any]) -> dict[str, Any]:
    def lists(value: Any) -> Any:
        return [lists(item) for item in value] if isinstance(value, (tuple, list)) else value

    return {"type": shape["type"], "coordinates": lists(shape["coordinates"])}
