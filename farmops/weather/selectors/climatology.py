"""What a day of the year is usually like here, from the farm's own known days."""

import datetime as dt
import math
import warnings
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from farmops.weather.selectors.interpolation import Values
from farmops.weather.selectors.observed import REQUIRED, ObservedDay
from farmops.weather.sources.rows import QUANTITIES

WINDOW_DAYS = 7
ENOUGH_DAYS = 15
NEAREST_DAYS = 14
NEAREST_RAIN_DAYS = 60
"""Of rain, since one wet spell in two weeks says little of the weeks to come."""
WET_DAY_MM = 0.25
"""A hundredth of an inch: the least that the weather service counts as a day with rain."""
RAIN = QUANTITIES.index("rain_mm")


@dataclass(frozen=True)
class UsualDay:
    """Means over like days: `rain_mm` over all of them, `rain_if_wet_mm` over those with rain."""

    values: Values
    rain_chance: float
    rain_if_wet_mm: float
    is_of_season: bool


class Climatology:
    """The known days of a farm, asked for what a date usually brings.

    A date's mean is over days within a week of the same day of the year, in any known year; with fewer than
    15 of them it is over the 14 known days nearest in time, and for rain over the 60 nearest (`is_of_season` is then
    False). Where none of those days has a quantity, it is over the nearest that have
    it, the warmth and the rain alone. Farm judgement.
    """

    def __init__(self, known: dict[dt.date, ObservedDay]) -> None:
        self.ordinals = np.array([day.toordinal() for day in known], dtype=np.int64)
        self.places = np.array([_place_in_year(day) for day in known], dtype=np.int64)
        self.values: Values = (
            np.stack([day.values for day in known.values()]) if known else np.empty((0, len(QUANTITIES)))
        )

    def usual(self, day: dt.date) -> UsualDay:
        """Return the usual weather of a date; nan for a quantity that was never read."""
        apart = np.abs(self.places - _place_in_year(day))
        near = np.minimum(apart, 366 - apart) <= WINDOW_DAYS
        is_of_season = int(np.count_nonzero(near & ~np.isnan(self.values[:, RAIN]))) >= ENOUGH_DAYS
        rows = self.values[near if is_of_season else self._nearest(day, NEAREST_DAYS)]
        rain = (rows if is_of_season else self.values[self._nearest(day, NEAREST_RAIN_DAYS)])[:, RAIN]
        rain = rain[~np.isnan(rain)]
        if not rain.size:
            rain = self._nearest_read(day, RAIN, NEAREST_RAIN_DAYS)
        wet = rain[rain >= WET_DAY_MM]
        values = _means(rows)
        for quantity in np.flatnonzero(np.isnan(values[:REQUIRED])):
            read = self._nearest_read(day, int(quantity), NEAREST_DAYS)
            values[quantity] = read.mean() if read.size else math.nan
            is_of_season = False
        values[RAIN] = rain.mean() if rain.size else math.nan
        return UsualDay(
            values=values,
            rain_chance=wet.size / rain.size if rain.size else math.nan,
            rain_if_wet_mm=float(wet.mean()) if wet.size else 0.0,
            is_of_season=is_of_season,
        )

    def _nearest_read(self, day: dt.date, quantity: int, count: int) -> Values:
        """Return a quantity on the nearest days that have it; none where it was never read."""
        read = np.flatnonzero(~np.isnan(self.values[:, quantity]))
        distance = np.abs(self.ordinals[read] - day.toordinal())
        return self.values[read[np.argsort(distance, kind="stable")[:count]], quantity]

    def _nearest(self, day: dt.date, count: int) -> npt.NDArray[np.int64]:
        distance = np.abs(self.ordinals - day.toordinal())
        return np.sort(np.argsort(distance, kind="stable")[:count])


def _means(rows: Values) -> Values:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)  # a column that was never read has no mean
        means: Values = np.nanmean(rows, axis=0)
    return means


def _place_in_year(day: dt.date) -> int:
    """Return the day's place in a leap year, so that 1 March is the same place in every year."""
    return dt.date(2000, day.month, day.day).timetuple().tm_yday
