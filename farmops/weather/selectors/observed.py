"""Days that were read at a farm's stations, brought to one place."""

import datetime as dt
import math
from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from django.db.models import Exists, OuterRef

from farmops.farms.models import Farm
from farmops.weather.models import DailyWeather, ForecastIssue, Station
from farmops.weather.selectors.interpolation import Flags, Values, blend, distances_km
from farmops.weather.sources.rows import QUANTITIES

REQUIRED = 3
"""The first three quantities are what every day needs; the others are used where they exist."""


@dataclass(frozen=True)
class ObservedDay:
    """One day of a farm; nan where nothing was read."""

    values: Values
    is_filled: bool


@dataclass(frozen=True)
class KnownDays:
    """The days of a farm that were read or filled, in order; arrays (days,), nan where a quantity is not known.

    `wind_m_s` is at 2 m; `is_filled` says that some of a day was made from its neighbors.
    """

    days: tuple[dt.date, ...]
    temp_min_c: Values
    temp_max_c: Values
    rain_mm: Values
    solar_mj_m2: Values
    wind_m_s: Values
    humidity_min_pct: Values
    humidity_max_pct: Values
    is_filled: Flags


@dataclass(frozen=True)
class StationDays:
    """What the stations of a farm have of some days, (stations, days, quantities), nan where nothing.

    A station without a place is taken to stand on the farm.
    """

    days: tuple[dt.date, ...]
    latitudes_deg: Values
    longitudes_deg: Values
    read: Values
    made: Values

    def distances_km(self, latitude_deg: float, longitude_deg: float) -> Values:
        """Return how far each station is from a place."""
        return distances_km(
            latitude_deg=latitude_deg,
            longitude_deg=longitude_deg,
            latitudes_deg=self.latitudes_deg,
            longitudes_deg=self.longitudes_deg,
        )


def station_days(*, farm: Farm, first: dt.date | None, last: dt.date | None) -> StationDays:
    """Return what each station has of the days on which any has something, at most up to `last`."""
    stations = list(Station.objects.filter(farm=farm).order_by("code"))
    places = [_place(farm, station) for station in stations]
    rows = DailyWeather.objects.filter(farm=farm)
    if first is not None:
        rows = rows.filter(day__gte=first)
    if last is not None:
        rows = rows.filter(day__lte=last)
    found = list(rows.values_list("station_id", "day", "filled_names", *QUANTITIES))
    days = tuple(sorted({row[1] for row in found}))
    row_of = {station.pk: index for index, station in enumerate(stations)}
    column_of = {day: index for index, day in enumerate(days)}
    read = np.full((len(stations), len(days), len(QUANTITIES)), math.nan)
    made = np.full_like(read, math.nan)
    for station_id, day, filled_names, *numbers in found:
        at = row_of[station_id], column_of[day]
        values = np.array(numbers, dtype=np.float64)
        if filled_names:
            names = filled_names.split()
            is_made = np.array([name in names for name in QUANTITIES])
            made[at] = values
            values = np.where(is_made, math.nan, values)
        read[at] = values
    return StationDays(
        days=days,
        latitudes_deg=np.array([place[0] for place in places], dtype=np.float64),
        longitudes_deg=np.array([place[1] for place in places], dtype=np.float64),
        read=read,
        made=made,
    )


def farms_with_weather(*, farms: Collection[int]) -> set[int]:
    """Return the row ids of those farms of which any weather was ever read or forecast: one query for all of them."""
    read = DailyWeather.objects.filter(farm=OuterRef("pk"))
    forecast = ForecastIssue.objects.filter(farm=OuterRef("pk"))
    rows = Farm.objects.filter(pk__in=farms).filter(Exists(read) | Exists(forecast))
    return set(rows.order_by().values_list("pk", flat=True))


def observed_days(*, farm: Farm, first: dt.date | None, last: dt.date | None) -> dict[dt.date, ObservedDay]:
    """Return the known days by date, at most up to `last`, as they were at the farm.

    Several stations are interpolated by distance, quantity by quantity (see `interpolation.weights`); a value made
    from neighboring days counts only where no station read one.
    """
    days, values, is_filled = _at_farm(farm, first, last)
    return {
        day: ObservedDay(values=values[index], is_filled=bool(is_filled[index]))
        for index, day in enumerate(days)
    }


def known_days(*, farm: Farm, as_of: dt.date | None) -> KnownDays:
    """Return all days that are known at the end of `as_of` (None: all) at the farm, and nothing forecast or usual."""
    days, values, is_filled = _at_farm(farm, None, as_of)
    return KnownDays(
        days=days,
        is_filled=is_filled,
        **{name: values[:, index] for index, name in enumerate(QUANTITIES)},
    )


def _at_farm(
    farm: Farm, first: dt.date | None, last: dt.date | None
) -> tuple[tuple[dt.date, ...], Values, Flags]:
    table = station_days(farm=farm, first=first, last=last)
    distance_km = table.distances_km(float(farm.latitude_deg), float(farm.longitude_deg))
    at_farm = blend(distance_km=distance_km, read=table.read, made=table.made)
    return table.days, at_farm.values, at_farm.is_filled


def _place(farm: Farm, station: Station) -> tuple[float, float]:
    if station.latitude_deg is None or station.longitude_deg is None:
        return float(farm.latitude_deg), float(farm.longitude_deg)
    return float(station.latitude_deg), float(station.longitude_deg)
