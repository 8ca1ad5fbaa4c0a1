"""Where punctures lie on a field: laid out in feet, put together where they lie close, and whether chance does that too."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from pyproj import Geod
from shapely.geometry import MultiPolygon, Polygon, shape

from farmops.science.units import SQUARE_FEET_PER_ACRE, feet_from_m

CLOSE_FT = 300.0
"""Punctures no farther apart than this, one after the other, belong together. Farm judgement, no source: what washes in
or lies along an old fence or a hunters' stand lies within a few swaths."""
EDGE_FT = 60.0
"""How far beyond the outermost puncture of a cluster it is worth looking: two swaths of a walk. Farm judgement."""
DRAWS = 999
SEED = 7
SIDES = ("north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest")
MIDDLE_SHARE = 0.2
"""Nearer to the middle than this share of the field's half width is called the middle."""
_WGS84 = Geod(ellps="WGS84")


class PlaceError(ValueError):
    """Places or a ground of which nothing can be said."""


@dataclass(frozen=True)
class Spot:
    """A puncture in feet east and north of the field's middle."""

    key: int
    east_ft: float
    north_ft: float


@dataclass(frozen=True)
class Cluster:
    """Punctures that lie together: the middle of them, a circle around them with an edge, and its acres."""

    keys: tuple[int, ...]
    east_ft: float
    north_ft: float
    radius_ft: float

    @property
    def area_ac(self) -> float:
        """Return the acres of the circle."""
        return math.pi * self.radius_ft**2 / SQUARE_FEET_PER_ACRE


@dataclass(frozen=True)
class Ground:
    """A field's boundary in feet east and north of its middle, and how places come onto it."""

    outline: Polygon | MultiPolygon
    latitude_deg: float
    longitude_deg: float

    def spot(self, key: int, *, latitude_deg: float, longitude_deg: float) -> Spot:
        """Return a place of the globe as a spot of this field; it may lie outside."""
        east_ft, north_ft = _from_middle(self.longitude_deg, self.latitude_deg, longitude_deg, latitude_deg)
        return Spot(key, float(east_ft), float(north_ft))

    def holds(self, spot: Spot) -> bool:
        """Return whether a spot lies on the field."""
        return bool(shapely.intersects_xy(self.outline, spot.east_ft, spot.north_ft))

    def side(self, east_ft: float, north_ft: float) -> str:
        """Return the side of the field that a spot lies on, such as `northeast`, or `middle`."""
        west, south, east, north = self.outline.bounds
        x = east_ft / max((east - west) / 2, 1e-9)
        y = north_ft / max((north - south) / 2, 1e-9)
        if math.hypot(x, y) < MIDDLE_SHARE:
            return "middle"
        return SIDES[round(math.degrees(math.atan2(x, y)) / 45) % 8]


def ground_of(boundary: Mapping[str, Any]) -> Ground:
    """Return a field's boundary (RFC 7946, degrees) in feet around the middle of its bounds.

    Feet are along geodesics from the middle; over a field of a few miles that is true to a foot (PROJ's geodesics, Karney 2013).
    """
    degrees = shape(boundary)
    west, south, east, north = degrees.bounds
    longitude_deg, latitude_deg = (west + east) / 2, (south + north) / 2
    outline = shapely.transform(
        degrees, lambda xy: np.column_stack(_from_middle(longitude_deg, latitude_deg, xy[:, 0], xy[:, 1]))
    )
    return Ground(outline, latitude_deg, longitude_deg)


def clusters(spots: Sequence[Spot], *, within_ft: float = CLOSE_FT) -> list[Cluster]:
    """Return the groups of at least two spots of which each is within so many feet of another, the greatest first."""
    waiting = {spot.key: spot for spot in spots}
    if len(waiting) != len(spots):
        raise PlaceError("Two spots have the same key.")
    found = []
    while waiting:
        group = [waiting.pop(min(waiting))]
        for spot in group:  # grows while it is gone through
            near = [one for one in waiting.values() if _apart_ft(one, spot) <= within_ft]
            group += [waiting.pop(one.key) for one in near]
        if len(group) > 1:
            found.append(_cluster(group))
    return sorted(found, key=lambda one: (-len(one.keys), one.keys))


def nearest_mean_ft(spots: Sequence[Spot]) -> float:
    """Return the mean distance of each spot from the one nearest to it (ft); at least two spots."""
    if len(spots) < 2:
        raise PlaceError("One spot has no neighbor.")
    return float(_nearest_means(np.array([[(one.east_ft, one.north_ft) for one in spots]]))[0])


def chance_so_close(spots: Sequence[Spot], ground: Ground, *, draws: int = DRAWS, seed: int = SEED) -> float:
    """Return how often as many spots strewn over the field at random lie as close together, 1/(draws + 1) to 1.

    Close is a small mean distance to the nearest neighbor: P. J. Clark and F. C. Evans, "Distance to nearest neighbor as a
    measure of spatial relationships in populations", Ecology 35 (1954); here against draws within the boundary, which
    needs no allowance for its edge. Raises PlaceError for fewer than two spots.
    """
    seen = nearest_mean_ft(spots)
    means = random_nearest_means(len(spots), ground, draws=draws, seed=seed)
    return float((1 + np.sum(means <= seen)) / (draws + 1))


def random_nearest_means(count: int, ground: Ground, *, draws: int = DRAWS, seed: int = SEED) -> np.ndarray:
    """Return the mean distance to the nearest neighbor (ft) of `count` spots strewn at random, once for each draw."""
    return _nearest_means(_strewn(ground.outline, count * draws, seed).reshape(draws, count, 2))


def _nearest_means(points: np.ndarray) -> np.ndarray:
    apart = np.linalg.norm(points[:, :, None, :] - points[:, None, :, :], axis=-1)
    index = np.arange(points.shape[1])
    apart[:, index, index] = np.inf
    return apart.min(axis=2).mean(axis=1)


def _strewn(outline: Polygon | MultiPolygon, count: int, seed: int) -> np.ndarray:
    draw = np.random.default_rng(seed)
    west, south, east, north = outline.bounds
    shapely.prepare(outline)
    kept: list[np.ndarray] = []
    have = 0
    while have < count:
        tried = draw.uniform((west, south), (east, north), (count * 2, 2))
        inside = tried[shapely.contains_xy(outline, tried[:, 0], tried[:, 1])]
        kept.append(inside)
        have += len(inside)
    return np.concatenate(kept)[:count]


def _cluster(group: Sequence[Spot]) -> Cluster:
    east_ft = sum(one.east_ft for one in group) / len(group)
    north_ft = sum(one.north_ft for one in group) / len(group)
    farthest = max(math.hypot(one.east_ft - east_ft, one.north_ft - north_ft) for one in group)
    return Cluster(tuple(sorted(one.key for one in group)), east_ft, north_ft, farthest + EDGE_FT)


def _apart_ft(a: Spot, b: Spot) -> float:
    return math.hypot(a.east_ft - b.east_ft, a.north_ft - b.north_ft)


def _from_middle(longitude_deg: float, latitude_deg: float, x: Any, y: Any) -> tuple[Any, Any]:
    xs, ys = np.atleast_1d(x).astype(float), np.atleast_1d(y).astype(float)
    azimuth, _back, distance_m = _WGS84.inv(
        np.full_like(xs, longitude_deg), np.full_like(ys, latitude_deg), xs, ys
    )
    angle = np.radians(azimuth)
    east_ft = np.asarray(feet_from_m(x_m=distance_m * np.sin(angle)))
    north_ft = np.asarray(feet_from_m(x_m=distance_m * np.cos(angle)))
    return (east_ft, north_ft) if np.ndim(x) else (float(east_ft[0]), float(north_ft[0]))
