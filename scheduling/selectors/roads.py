"""Minutes on the road between the yard and the fields."""

import math
from collections.abc import Sequence
from decimal import ROUND_UP, Decimal

from pyproj import Geod

from farmops.farms.models import Farm, Field
from farmops.science import units

DETOUR = 1.3  # farm judgement: a road is so much longer than the straight way
TABLE_MPH = 15.0  # the speed of the table; a slower machine has a road factor


def road_factor(road_speed_mph: Decimal) -> float:
    """Return by how much a machine is slower than the table, rounded up to hundredths; more than 0."""
    return float((Decimal(str(TABLE_MPH)) / road_speed_mph).quantize(Decimal("0.01"), ROUND_UP))


def road_minutes(*, farm: Farm, fields: Sequence[Field]) -> list[list[int]]:
    """Return minutes from each place to each, the yard first: geodesic on WGS 84, times the detour, rounded up."""
    places = [(farm.longitude_deg, farm.latitude_deg), *((f.longitude_deg, f.latitude_deg) for f in fields)]
    here = [(float(lon), float(lat)) for lon, lat in places]
    geod = Geod(ellps="WGS84")
    size = len(here)
    table = [[0] * size for _ in here]
    for i in range(size):
        for j in range(i + 1, size):
            _, _, distance_m = geod.inv(*here[i], *here[j])
            table[i][j] = table[j][i] = _minutes(distance_m)
    return table


def road_miles(here: Farm | Field, there: Farm | Field) -> float:
    """Return the miles of road between the yard or a field and another: geodesic on WGS 84, times the detour."""
    _, _, distance_m = Geod(ellps="WGS84").inv(
        float(here.longitude_deg),
        float(here.latitude_deg),
        float(there.longitude_deg),
        float(there.latitude_deg),
    )
    return float(units.miles_from_m(distance_m * DETOUR))


def _minutes(distance_m: float) -> int:
    speed_m_min = units.m_s_from_mph(TABLE_MPH) * 60
    return math.ceil(distance_m * DETOUR / speed_m_min - 1e-9)
