"""Where punctures lie together: against geodesics, the printed mean of strewn points, and spots laid out by hand."""

import math

import numpy as np
import pytest
from pyproj import Geod

from farmops.farms.boundaries import read_boundary
from scheduling.debris.places import (
    Cluster,
    PlaceError,
    Spot,
    chance_so_close,
    clusters,
    ground_of,
    nearest_mean_ft,
    random_nearest_means,
)
from tests.factories import SQUARE

FEET = 0.3048


def test_feet_on_the_field_are_those_of_geodesics() -> None:
    """Checked against PROJ's distance between two corners, which lies on no line through the middle."""
    ground = ground_of(SQUARE)
    a = ground.spot(1, latitude_deg=31.60, longitude_deg=-83.52)
    b = ground.spot(2, latitude_deg=31.60365, longitude_deg=-83.52)
    apart_ft = Geod(ellps="WGS84").inv(-83.52, 31.60, -83.52, 31.60365)[2] / FEET
    assert math.dist((a.east_ft, a.north_ft), (b.east_ft, b.north_ft)) == pytest.approx(apart_ft, abs=0.05)
    assert a.east_ft < 0 < b.north_ft
    assert ground.outline.area / 43_560 == pytest.approx(float(read_boundary(SQUARE).area_ac), abs=0.01)


def test_spots_on_and_off_the_field_are_told_apart_and_named_by_their_side() -> None:
    ground = ground_of(SQUARE)
    assert ground.holds(ground.spot(1, latitude_deg=31.601, longitude_deg=-83.519))
    assert not ground.holds(ground.spot(2, latitude_deg=31.599, longitude_deg=-83.519))
    assert ground.side(0, 0) == "middle"
    assert [
        ground.side(500 * x, 500 * y)
        for x, y in ((0, 1), (1, 1), (1, 0), (1, -1), (0, -1), (-1, -1), (-1, 0), (-1, 1))
    ] == [
        "north",
        "northeast",
        "east",
        "southeast",
        "south",
        "southwest",
        "west",
        "northwest",
    ]


def test_spots_just_as_far_apart_as_counts_for_together_are_together() -> None:
    assert [one.keys for one in clusters([Spot(1, 0, 0), Spot(2, 180, 240)])] == [(1, 2)]  # 3-4-5 times 60 ft
    assert clusters([Spot(1, 0, 0), Spot(2, 180, 240.1)]) == []


def test_clusters_of_spots_laid_out_by_hand() -> None:
    """Three in a row 250 ft apart hang together although the ends are 500 ft apart; two more lie 100 ft apart; one is alone."""
    row = [Spot(1, 0, 0), Spot(2, 250, 0), Spot(3, 500, 0)]
    pair = [Spot(4, 0, 2000), Spot(5, 0, 2100)]
    found = clusters([*pair, *row, Spot(6, 3000, 3000)])
    assert [one.keys for one in found] == [(1, 2, 3), (4, 5)]
    assert found[0] == Cluster((1, 2, 3), 250, 0, 250 + 60)
    assert found[1].radius_ft == 110
    assert found[1].area_ac == pytest.approx(0.8727, abs=0.0001)  # by hand: π × 110² / 43,560


def test_the_order_of_the_spots_makes_no_difference_and_one_spot_is_no_cluster() -> None:
    spots = [Spot(key, 290.0 * key, 0) for key in range(6)]
    assert [one.keys for one in clusters(spots[::-1])] == [(0, 1, 2, 3, 4, 5)]
    assert clusters([Spot(1, 0, 0)]) == clusters([]) == []
    with pytest.raises(PlaceError):
        clusters([Spot(1, 0, 0), Spot(1, 5, 5)])


def test_the_mean_distance_to_the_nearest_worked_by_hand() -> None:
    """By hand: 30, 30 and 40 ft."""
    assert nearest_mean_ft([Spot(1, 0, 0), Spot(2, 30, 0), Spot(3, 30, 40)]) == pytest.approx(100 / 3)
    with pytest.raises(PlaceError):
        nearest_mean_ft([Spot(1, 0, 0)])


@pytest.mark.parametrize("count", [8, 20])
def test_strewn_spots_lie_as_far_apart_as_printed(count: int) -> None:
    """K. P. Donnelly's mean for points in a finite ground (1978), from memory: 0.5 √(A/n) + 0.0514 P/n + 0.041 P/n^1.5."""
    ground = ground_of(SQUARE)
    area, around = ground.outline.area, ground.outline.length
    printed = 0.5 * math.sqrt(area / count) + 0.0514 * around / count + 0.041 * around / count**1.5
    found = random_nearest_means(count, ground, draws=1500)
    assert float(np.mean(found)) == pytest.approx(printed, rel=0.02)


def test_spots_in_one_corner_are_seldom_chance_and_spots_spread_out_are() -> None:
    ground = ground_of(SQUARE)
    corner = [Spot(key, -600 + 20 * key, -600) for key in range(5)]
    spread = [Spot(1, -500, -500), Spot(2, 500, -500), Spot(3, -500, 500), Spot(4, 500, 500), Spot(5, 0, 0)]
    assert chance_so_close(corner, ground) == pytest.approx(1 / 1000)
    assert chance_so_close(spread, ground) > 0.95


def test_chance_is_even_where_chance_strewed_the_spots() -> None:
    """Of spots strewn at random about one in five has a chance below a fifth: 100 fields of four, seed fixed."""
    ground = ground_of(SQUARE)
    draw = np.random.default_rng(3)
    below = 0
    for _field in range(100):
        points = draw.uniform(-600, 600, (4, 2))
        spots = [Spot(at, float(x), float(y)) for at, (x, y) in enumerate(points)]
        below += chance_so_close(spots, ground, draws=199) < 0.2
    assert 10 <= below <= 30
