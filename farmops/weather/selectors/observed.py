"""Days that were read at a farm's stations, merged into one row a day."""

import datetime as dt
import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from farmops.farms.models import Farm
from farmops.weather.models import DailyWeather, Station
from farmops.weather.sources.rows import QUANTITIES

REQUIRED = 3
"""The first three quantities are what every day needs; the others are used where they exist."""

Values = npt.NDArray[np.float64]


@dataclass(frozen=True)
class ObservedDay:
    """One day of a farm; nan where nothing was read."""

    values: Values
    is_filled: bool


def observed_days(*, farm: Farm, first: dt.date | None, last: dt.date | None) -> dict[dt.date, ObservedDay]:
    """Return the known days by date, at most up to `last`.

    With several stations the nearest one speaks first, quantity by quantity; a value made from neighboring
    days counts only where no station read one. A station without a place is taken to stand on the farm.
    """
    ranks = {station.pk: _distance_deg(farm, station) for station in Station.objects.filter(farm=farm)}
    rows = DailyWeather.objects.filter(farm=farm)
    if first is not None:
        rows = rows.filter(day__gte=first)
    if last is not None:
        rows = rows.filter(day__lte=last)
    by_day: dict[dt.date, list[tuple[bool, float, int, Values]]] = {}
    for station_id, day, filled_names, *numbers in rows.values_list(
        "station_id", "day", "filled_names", *QUANTITIES
    ):
        made = filled_names.split()
        row = np.array([math.nan if number is None else number for number in numbers])
        for is_made, keep in ((False, [name not in made for name in QUANTITIES]), (True, None)):
            if is_made and not made:
                continue
            values = row if keep is None else np.where(keep, row, math.nan)
            by_day.setdefault(day, []).append((is_made, ranks[station_id], station_id, values))
    return {day: _merged(by_day[day]) for day in sorted(by_day)}


def _merged(rows: list[tuple[bool, float, int, Values]]) -> ObservedDay:
    rows.sort(key=lambda row: row[:3])
    values = rows[0][3]
    is_filled = False
    for is_made, _rank, _station, more in rows[1:]:
        gains = np.isnan(values) & ~np.isnan(more)
        if gains.any():
            values = np.where(gains, more, values)
            is_filled |= is_made
    return ObservedDay(values=values, is_filled=is_filled)


def _distance_deg(farm: Farm, station: Station) -> float:
    if station.latitude_deg is None or station.longitude_deg is None:
        return 0.0
    north = float(station.latitude_deg - farm.latitude_deg)
    east = float(station.longitude_deg - farm.longitude_deg) * math.cos(
        math.radians(float(farm.latitude_deg))
    )
    return math.hypot(north, east)
