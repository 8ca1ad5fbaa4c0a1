"""The map of a field's punctures, and rates on one scale."""

import math

import pytest
from pyproj import Geod

from farmops.pages.plots.field_map import MapSpot, field_map
from farmops.pages.plots.rate_strip import rate_scale
from scheduling.debris.places import clusters, ground_of
from tests.factories import SQUARE

MIDDLE = (31.601825, -83.517865)


def spot(key: int, north_deg: float, east_deg: float) -> MapSpot:
    return MapSpot(key, key, MIDDLE[0] + north_deg, MIDDLE[1] + east_deg, f"puncture {key}")


def test_the_middle_of_the_field_is_the_middle_of_the_drawing_and_north_is_up() -> None:
    spots = [spot(1, 0, 0), spot(2, 0.001, 0)]
    drawn = field_map(key="m", name="Pond 40", boundary=SQUARE, spots=spots, clusters=[])
    first, second = drawn.marks
    assert (float(first.x), float(first.y)) == (160.0, 120.0)
    assert (float(second.x), float(second.y) < 120) == (160.0, True)
    assert drawn.desc == "puncture 1; puncture 2"


def test_the_bar_is_as_long_as_it_says() -> None:
    """Checked against PROJ: the square's side is drawn 216 px high."""
    drawn = field_map(key="m", name="Pond 40", boundary=SQUARE, spots=[], clusters=[])
    high_ft = Geod(ellps="WGS84").inv(-83.52, 31.60, -83.52, 31.60365)[2] / 0.3048
    bar_px = float(drawn.bar_end_px) - float(drawn.bar_px)
    assert drawn.bar_says == "500 ft"
    assert bar_px == pytest.approx(500 * 216 / high_ft, rel=0.01)


def test_a_ring_goes_around_its_punctures() -> None:
    ground = ground_of(SQUARE)
    spots = [spot(1, 0, 0), spot(2, 0, 0.0005), spot(3, 0.0015, 0.0015)]
    placed = [
        ground.spot(one.key, latitude_deg=one.latitude_deg, longitude_deg=one.longitude_deg) for one in spots
    ]
    drawn = field_map(
        key="m", name="Pond 40", boundary=SQUARE, spots=spots, clusters=clusters(placed, within_ft=200)
    )
    (ring,) = drawn.rings
    away = [math.hypot(float(mark.x) - float(ring.x), float(mark.y) - float(ring.y)) for mark in drawn.marks]
    assert away[0] < float(ring.radius)
    assert away[1] < float(ring.radius) < away[2]


def test_what_lies_far_off_stands_at_the_edge() -> None:
    (mark,) = field_map(key="m", name="Pond 40", boundary=SQUARE, spots=[spot(1, 5, -5)], clusters=[]).marks
    assert (mark.x, mark.y) == ("6.0", "6.0")


@pytest.mark.parametrize(
    ("highs", "end", "ticks"),
    [([0.3, 0.04], 0.3, 4), ([4.8], 5.0, 6), ([16.2, 2.0], 20.0, 5), ([990.0], 1000.0, 6)],
)
def test_a_scale_holds_every_bar_in_whole_steps(highs: list[float], end: float, ticks: int) -> None:
    scale = rate_scale(highs)
    assert scale.high == pytest.approx(end)
    assert len(scale.ticks) == ticks
    assert (scale.ticks[0], scale.ticks[-1]) == (("0.00%", "0"), ("100.00%", f"{end:g}"))


def test_a_bar_stands_where_its_numbers_are() -> None:
    """By hand on 0 to 5: 1 to 3.5 is 20 to 70 %, the middle 2 is 40 %, 4 as counted 80 %, 6 is off the scale."""
    scale = rate_scale([4.8])
    strip = scale.strip(low=1, mean=2, high=3.5, raw=4, says="x")
    assert (strip.low, strip.width, strip.mean, strip.raw) == ("20.00%", "50.00%", "40.00%", "80.00%")
    assert scale.strip(low=1, mean=2, high=3.5, raw=6, says="x").raw == ""
    assert scale.strip(low=1, mean=2, high=3.5, raw=None, says="x").raw == ""
