"""What stations read, brought to a place between them."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from pyproj import Geod

from farmops.weather.sources.days import PAIRS
from farmops.weather.sources.rows import QUANTITIES

FAR_KM = 100.0
"""Farm judgement: beyond, a station says little about a place that has a nearer one."""
AT_THE_PLACE_KM = 0.001
_COLUMNS = [tuple(QUANTITIES.index(name) for name in pair) for pair in PAIRS]

Values = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Blend:
    """Values at a place, (days, quantities), nan where no station has one; `is_filled` (days,) where some of a
    day's values were made from neighboring days.
    """

    values: Values
    is_filled: Flags


def distances_km(
    *, latitude_deg: float, longitude_deg: float, latitudes_deg: Values, longitudes_deg: Values
) -> Values:
    """Return how far places are from one place, on the WGS 84 ellipsoid."""
    count = latitudes_deg.size
    _, _, meters = Geod(ellps="WGS84").inv(
        np.full(count, longitude_deg), np.full(count, latitude_deg), longitudes_deg, latitudes_deg
    )
    return np.asarray(meters, dtype=np.float64) / 1000


def weights(*, distance_km: Values, speaks: Flags) -> Values:
    """Return each station's share in the value of a day, (stations, days).

    `distance_km` (stations,) is 0 or more, `speaks` (stations, days) says who has a value that day. The shares of a
    day go by the inverse square of the distance and add up to 1, or are all 0 where nobody has a value. A station at
    the place (within a meter) leaves nothing to the others. One farther than 100 km counts only where no nearer one
    speaks. Shepard (1968), "A two-dimensional interpolation function for irregularly-spaced data", with power 2 (from
    memory); the 100 km are farm judgement.
    """
    apart = np.where(speaks, distance_km[:, None], np.inf)
    nearest = apart.min(axis=0, initial=np.inf)
    reach = np.where(
        nearest <= AT_THE_PLACE_KM, AT_THE_PLACE_KM, np.where(nearest <= FAR_KM, FAR_KM, nearest)
    )
    raw = np.where(speaks & (apart <= reach), np.maximum(apart, AT_THE_PLACE_KM), np.inf) ** -2.0
    total = raw.sum(axis=0)
    return np.divide(raw, total, out=np.zeros_like(raw), where=total > 0)


def at_place(*, distance_km: Values, values: Values) -> Values:
    """Return the value of one quantity at a place, (days,), from what stations have of it, (stations, days).

    Rain is blended like the rest. Between a dry and a wet station that makes a light rain which perhaps fell nowhere:
    wet days come out more frequent and heavy ones lighter than any gauge shows. That is accepted, since the water in
    the ground goes by the amount over days, which the blend keeps, and since it has one property that picking a
    station does not have: more rain at any station never makes less rain at a place. A few tenths of a millimeter
    evaporate on the day; who must know what fell on a field reads a gauge there.
    """
    speaks = ~np.isnan(values)
    shares = weights(distance_km=distance_km, speaks=speaks)
    blended = (shares * np.where(speaks, values, 0.0)).sum(axis=0)
    return np.where(speaks.any(axis=0), blended, np.nan)


def blend(*, distance_km: Values, read: Values, made: Values) -> Blend:
    """Return all quantities at a place from what stations read and what was made, (stations, days, quantities).

    Quantity by quantity; a made value counts only where no station read one. Where a low would come out above its
    high since other stations speak for each, those that have both speak for both; if there is none, neither is known.
    """
    values = _paired(distance_km, read)
    filling = _paired(distance_km, made)
    gains = np.isnan(values) & ~np.isnan(filling)
    merged = np.where(gains, filling, values)
    for low, high in _COLUMNS:
        crossed = merged[:, low] > merged[:, high]
        for column in (low, high):
            dropped = crossed & gains[:, column]
            merged[dropped, column] = np.nan
            gains[dropped, column] = False
    return Blend(values=merged, is_filled=np.asarray(gains.any(axis=1)))


def _paired(distance_km: Values, table: Values) -> Values:
    columns = [
        at_place(distance_km=distance_km, values=table[:, :, column]) for column in range(len(QUANTITIES))
    ]
    values = np.stack(columns, axis=1)
    for pair in _COLUMNS:
        crossed = np.flatnonzero(values[:, pair[0]] > values[:, pair[1]])
        if not crossed.size:
            continue
        some = table[:, crossed]
        has_both = ~np.isnan(some[:, :, pair[0]]) & ~np.isnan(some[:, :, pair[1]])
        for column in pair:
            values[crossed, column] = at_place(
                distance_km=distance_km, values=np.where(has_both, some[:, :, column], np.nan)
            )
    return values
