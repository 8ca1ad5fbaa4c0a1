"""Boundaries: what is refused and where, what is put in order, and acres against figures from outside."""

import math
from decimal import Decimal
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyproj import CRS, Geod, Transformer
from shapely import transform
from shapely.geometry import Polygon, shape

from farmops.farms.boundaries import (
    MOST_POSITIONS,
    BoundaryError,
    distance_km,
    geodesic_area_m2,
    read_boundary,
)

SQUARE_M2_PER_AC = 4046.8564224  # international acre, 43 560 square feet of 0.3048 m

RING = [[-83.52, 31.60], [-83.51, 31.60], [-83.51, 31.61], [-83.52, 31.61], [-83.52, 31.60]]
HOLE = [[-83.517, 31.603], [-83.514, 31.603], [-83.514, 31.606], [-83.517, 31.606], [-83.517, 31.603]]


def polygon(*rings: list[Any]) -> dict[str, Any]:
    return {"type": "Polygon", "coordinates": [list(ring) for ring in rings]}


def circle(*, latitude: float, longitude: float, radius_ft: float, corners: int) -> dict[str, Any]:
    """A circle walked from its middle in equal angles, on the ellipsoid."""
    geod = Geod(ellps="WGS84")
    ring = []
    for corner in range(corners):
        lon, lat, _ = geod.fwd(longitude, latitude, -360 * corner / corners, radius_ft * 0.3048)
        ring.append([lon, lat])
    return polygon([*ring, ring[0]])


def signed_area(ring: list[list[float]]) -> float:
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise(ring)) / 2


def test_a_one_degree_cell_has_the_area_that_geographiclib_prints() -> None:
    """The cell at 0, 0: 12 308 778 361.469452 m² in the documentation of geographiclib-rs, struct PolygonArea."""
    cell = Polygon([(0, 0), (1, 0), (1, 1), (0, 1)])
    assert geodesic_area_m2(cell) == pytest.approx(12308778361.469452, abs=1e-3)
    read = read_boundary(polygon([[0, 0], [1, 0], [1, 1], [0, 1], [0, 0]]))
    assert read.area_ac == Decimal(f"{12308778361.469452 / SQUARE_M2_PER_AC:.2f}")


@pytest.mark.parametrize(
    ("radius_ft", "printed_ac"),
    # Area = pi R²/43 560, a printed class exercise on center pivots that uses pi = 3.14: hence the 0.15 %.
    [
        (390, 11.0),
        (520, 19.5),
        (650, 30.5),
        (780, 43.9),
        (910, 59.7),
        (1040, 78.0),
        (1170, 98.7),
        (1300, 121.8),
    ],
)
def test_a_pivot_circle_has_the_acres_of_the_printed_table(radius_ft: float, printed_ac: float) -> None:
    read = read_boundary(circle(latitude=31.4, longitude=-83.9, radius_ft=radius_ft, corners=720))
    assert float(read.area_ac) == pytest.approx(printed_ac, abs=0.06 + printed_ac * 0.0008)
    assert float(read.latitude_deg) == pytest.approx(31.4, abs=1e-5)
    assert float(read.longitude_deg) == pytest.approx(-83.9, abs=1e-5)


def test_acres_agree_with_an_equal_area_projection() -> None:
    """A second way to the same figure: PROJ's Lambert azimuthal equal-area plane, measured flat by shapely."""
    ring = [[-83.91, 31.40], [-83.88, 31.395], [-83.879, 31.42], [-83.90, 31.43], [-83.91, 31.40]]
    read = read_boundary(polygon(ring))
    plane = CRS.from_proj4("+proj=laea +lat_0=31.41 +lon_0=-83.895 +ellps=WGS84 +units=m")
    to_plane = Transformer.from_crs("EPSG:4326", plane, always_xy=True).transform
    flat_ac = transform(shape(read.geometry), to_plane, interleaved=False).area / SQUARE_M2_PER_AC
    assert float(read.area_ac) == pytest.approx(flat_ac, rel=1e-5)


def test_either_winding_is_taken_and_put_in_the_order_of_rfc_7946() -> None:
    for outer in (RING, RING[::-1]):
        for hole in (HOLE, HOLE[::-1]):
            read = read_boundary(polygon(outer, hole))
            assert signed_area(read.geometry["coordinates"][0]) > 0
            assert signed_area(read.geometry["coordinates"][1]) < 0


def test_a_hole_is_taken_out_of_the_acres() -> None:
    whole, holed = read_boundary(polygon(RING)), read_boundary(polygon(RING, HOLE))
    hole = read_boundary(polygon(HOLE))
    assert whole.area_ac - hole.area_ac == pytest.approx(holed.area_ac, abs=Decimal("0.011"))


def test_the_parts_of_a_multipolygon_add_up() -> None:
    other = [[x + 0.02, y] for x, y in RING]
    both = read_boundary({"type": "MultiPolygon", "coordinates": [[RING], [other[::-1]]]})
    assert both.area_ac == pytest.approx(
        read_boundary(polygon(RING)).area_ac + read_boundary(polygon(other)).area_ac, abs=Decimal("0.011")
    )
    assert shape(both.geometry).is_valid


def test_positions_are_cut_to_seven_decimals_and_lose_their_elevation() -> None:
    ring = [[x + 0.000000012345, y, 101.5] for x, y in RING]
    read = read_boundary(polygon(ring))
    for position in read.geometry["coordinates"][0]:
        assert len(position) == 2
        assert all(round(value, 7) == value for value in position)


def test_the_place_of_a_field_lies_inside_it_even_when_its_middle_does_not() -> None:
    horseshoe = [[0, 0], [0.03, 0], [0.03, 0.03], [0.025, 0.03], [0.025, 0.005]]
    horseshoe += [[0.005, 0.005], [0.005, 0.03], [0, 0.03], [0, 0]]
    read = read_boundary(polygon(horseshoe))
    x, y = float(read.longitude_deg), float(read.latitude_deg)
    assert x <= 0.005 or x >= 0.025 or y <= 0.005


BOW_TIE = [[-83.52, 31.60], [-83.51, 31.61], [-83.51, 31.60], [-83.52, 31.61], [-83.52, 31.60]]
OUTSIDE = [[x + 0.5, y] for x, y in HOLE]
NESTED = [[-83.516, 31.604], [-83.515, 31.604], [-83.515, 31.605], [-83.516, 31.605], [-83.516, 31.604]]


@pytest.mark.parametrize(
    ("geometry", "says"),
    [
        (None, "object with a type"),
        (
            {"type": "Point", "coordinates": [0, 0]},
            "type: a boundary is a Polygon or a MultiPolygon, not 'Point'",
        ),
        ({"type": "Polygon"}, "coordinates: a polygon is a list of at least one ring"),
        ({"type": "Polygon", "coordinates": []}, "at least one ring"),
        ({"type": "MultiPolygon", "coordinates": []}, "at least one polygon"),
        ({"type": "Polygon", "coordinates": ["abcd"]}, r"coordinates\[0\]: a ring is a list"),
        (polygon(RING[:-1]), r"coordinates\[0\]: the ring is not closed: it starts at \[-83.52, 31.6\]"),
        (polygon([RING[0], RING[1], RING[0]]), "at least 4 positions, this one has 3"),
        (polygon([RING[0], RING[1], RING[1], RING[0]]), "fewer than three different corners"),
        (polygon([*RING[:2], [-83.5, math.nan], *RING[2:]]), r"coordinates\[0\]\[2\]: nan is not a finite"),
        (polygon([*RING[:2], [-83.5, "31.6"], *RING[2:]]), "31.6 is not a finite number"),
        (polygon([*RING[:2], [-83.5], *RING[2:]]), r"\[longitude, latitude\]"),
        (polygon([*RING[:2], [True, 31.6], *RING[2:]]), "True is not a finite number"),
        (polygon([*RING[:2], [-(10**400), 31.6], *RING[2:]]), r"\[2\]: -1000000000000000000 is not a finite"),
        (polygon(BOW_TIE), r"the boundary crosses itself near \[-83.5150000, 31.6050000\]"),
        (polygon(RING, OUTSIDE), "a hole lies outside its outer ring"),
        (polygon(RING, HOLE, NESTED), "one hole lies inside another"),
        ({"type": "MultiPolygon", "coordinates": [[RING], [HOLE]]}, "one part lies inside another"),
        (polygon([[y, x + 190] for x, y in RING]), "outside -90 to 90"),
        (polygon([[x - 100, y] for x, y in RING]), "longitude -183.52 is outside -180 to 180"),
        (polygon([[0, 0], [1e-7, 0], [1e-7, 1e-7], [0, 1e-7], [0, 0]]), "encloses no ground"),
    ],
)
def test_a_bad_boundary_is_refused_with_the_place_and_the_reason(geometry: Any, says: str) -> None:
    with pytest.raises(BoundaryError, match=says):
        read_boundary(geometry)


def test_swapped_coordinates_out_of_range_are_called_swapped() -> None:
    """Read the other way round, 113 degrees west is a longitude."""
    ring = [[31.60, -113.52], [31.60, -113.51], [31.61, -113.51], [31.60, -113.52]]
    with pytest.raises(
        BoundaryError, match=r"latitude -113\.52 is outside -90 to 90; longitude and latitude look"
    ):
        read_boundary(polygon(ring))


def test_swapped_coordinates_within_range_are_found_by_the_distance_from_the_farm() -> None:
    swapped = polygon([[y, x] for x, y in RING])
    with pytest.raises(BoundaryError, match="look swapped, since the other way round it lies 12 km from it"):
        read_boundary(swapped, near_latitude_deg=31.5, near_longitude_deg=-83.5)
    assert read_boundary(polygon(RING), near_latitude_deg=31.5, near_longitude_deg=-83.5)


def test_a_boundary_in_another_country_is_refused_without_being_called_swapped() -> None:
    far = polygon([[x + 100, y] for x, y in RING])
    with pytest.raises(BoundaryError, match="km from the farm") as caught:
        read_boundary(far, near_latitude_deg=31.5, near_longitude_deg=-83.5)
    assert "swapped" not in str(caught.value)


def test_a_boundary_may_have_only_so_many_positions() -> None:
    most = circle(latitude=31.4, longitude=-83.9, radius_ft=1300, corners=MOST_POSITIONS - 1)
    assert read_boundary(most).area_ac > 121
    with pytest.raises(BoundaryError, match=f"more than the {MOST_POSITIONS}"):
        read_boundary(circle(latitude=31.4, longitude=-83.9, radius_ft=1300, corners=MOST_POSITIONS))
    halves = [
        circle(latitude=31.4, longitude=longitude, radius_ft=1300, corners=MOST_POSITIONS // 2)["coordinates"]
        for longitude in (-83.9, -83.8)
    ]
    with pytest.raises(BoundaryError, match=f"{MOST_POSITIONS + 2} positions are more than"):
        read_boundary({"type": "MultiPolygon", "coordinates": halves})


def test_distances_around_a_one_degree_cell_add_up_to_the_perimeter_that_geographiclib_prints() -> None:
    """443 770.917248302 m, printed beside the area above."""
    corners = [(0, 0), (0, 1), (1, 1), (1, 0), (0, 0)]
    around = sum(
        distance_km(latitude_a=a[0], longitude_a=a[1], latitude_b=b[0], longitude_b=b[1])
        for a, b in pairwise(corners)
    )
    assert around == pytest.approx(443.770917248302, abs=1e-9)


@given(
    st.floats(-60, 60),
    st.floats(-170, 170),
    st.floats(300, 2000),
    st.integers(5, 40),
    st.integers(0, 39),
    st.booleans(),
)
def test_where_a_ring_starts_and_which_way_it_runs_changes_nothing(
    latitude: float, longitude: float, radius_ft: float, corners: int, first: int, backwards: bool
) -> None:
    geometry = circle(latitude=latitude, longitude=longitude, radius_ft=radius_ft, corners=corners)
    ring = geometry["coordinates"][0][:-1]
    turned = ring[first % corners :] + ring[: first % corners]
    if backwards:
        turned = turned[::-1]
    read, again = read_boundary(geometry), read_boundary(polygon([*turned, turned[0]]))
    assert read.area_ac == again.area_ac
    assert read_boundary(read.geometry) == read
