"""A field's shape as a small drawing."""

import math
from typing import Any

import pytest
from pyproj import Geod
from shapely.geometry import Polygon, shape

from farmops.farms.boundaries import read_boundary
from scheduling.slips.shape import EDGE_PX, HEIGHT_PX, MOST_POINTS, WIDTH_PX, shape_of
from tests.factories import SQUARE

LATITUDE, LONGITUDE = 31.6, -83.52


def circle(corners: int, radius_deg: float = 0.004) -> dict[str, Any]:
    ring = [
        [
            LONGITUDE + radius_deg / math.cos(math.radians(LATITUDE)) * math.cos(2 * math.pi * at / corners),
            LATITUDE + radius_deg * math.sin(2 * math.pi * at / corners),
        ]
        for at in range(corners)
    ]
    return {"type": "Polygon", "coordinates": [[*ring, ring[0]]]}


def test_the_drawing_fills_its_page_up_to_the_edge_and_stands_in_the_middle() -> None:
    points = [point for ring in shape_of(SQUARE).rings for point in ring]
    for at, size in ((0, WIDTH_PX), (1, HEIGHT_PX)):
        low, high = min(point[at] for point in points), max(point[at] for point in points)
        assert low + high == pytest.approx(size, abs=0.3)
        assert low >= EDGE_PX - 0.1
    assert min(point[1] for point in points) == pytest.approx(EDGE_PX, abs=0.1)


def test_a_step_east_is_as_long_as_a_step_north() -> None:
    """Lengths on the drawing against geodesics on WGS 84 (pyproj)."""
    drawn = shape_of(SQUARE)
    geod = Geod(ellps="WGS84")
    per_px = []
    for there in ((LONGITUDE + 0.004, LATITUDE), (LONGITUDE, LATITUDE + 0.003)):
        meters = geod.inv(LONGITUDE, LATITUDE, *there)[2]
        here_px = drawn.point_of(latitude_deg=LATITUDE, longitude_deg=LONGITUDE)
        there_px = drawn.point_of(latitude_deg=there[1], longitude_deg=there[0])
        per_px.append(meters / math.dist(here_px, there_px))
    assert per_px[0] == pytest.approx(per_px[1], rel=0.005)


def test_north_is_up_and_a_place_comes_back_from_its_point() -> None:
    drawn = shape_of(SQUARE)
    x_px, y_px = drawn.point_of(latitude_deg=31.602, longitude_deg=-83.518)
    assert drawn.place_of(x_px=x_px, y_px=y_px) == pytest.approx((31.602, -83.518), abs=1e-9)
    assert drawn.point_of(latitude_deg=31.603, longitude_deg=-83.518)[1] < y_px


def test_a_shape_of_many_corners_keeps_its_area_in_few() -> None:
    fine = circle(3000)
    drawn = shape_of(fine)
    assert len(drawn.rings[0]) < 60
    radius_px = (HEIGHT_PX - 2 * EDGE_PX) / 2
    assert Polygon(drawn.rings[0]).area == pytest.approx(math.pi * radius_px**2, rel=0.02)


def test_a_jagged_shape_is_cut_down_to_what_a_phone_should_load() -> None:
    jagged = circle(4000)
    for at, point in enumerate(jagged["coordinates"][0][:-1]):
        if at % 2:
            point[1] += 0.0006 * (1 if at % 4 == 1 else 1.5)
    jagged["coordinates"][0][-1] = jagged["coordinates"][0][0]
    assert sum(len(ring) for ring in shape_of(jagged).rings) <= MOST_POINTS


def test_holes_and_parts_are_rings_of_their_own_and_a_speck_is_left_out() -> None:
    square, hole = (
        SQUARE["coordinates"][0],
        [  # type: ignore[index]
            [-83.519, 31.601],
            [-83.519, 31.602],
            [-83.518, 31.602],
            [-83.518, 31.601],
            [-83.519, 31.601],
        ],
    )
    speck = [[-83.517, 31.603], [-83.517, 31.6030001], [-83.5169999, 31.603], [-83.517, 31.603]]
    many = {"type": "MultiPolygon", "coordinates": [[square, hole], [speck]]}
    drawn = shape_of(many)
    assert len(drawn.rings) == 2
    assert drawn.path.count("M") == drawn.path.count("Z") == 2


def test_small_plots_far_apart_are_not_lost() -> None:
    plots = [[[[lon, 31.6], [lon + 1e-6, 31.6], [lon, 31.6 + 1e-6], [lon, 31.6]]] for lon in (-83.5, -83.4)]
    assert len(shape_of({"type": "MultiPolygon", "coordinates": plots}).rings) == 2


def test_what_the_boundary_reader_gives_can_be_drawn() -> None:
    read = read_boundary(circle(90))
    assert shape(read.geometry).area > 0
    assert len(shape_of(read.geometry).rings) == 1
