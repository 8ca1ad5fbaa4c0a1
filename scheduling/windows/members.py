"""The weather that may come, as a fixed number of members with equal weight.

A day that was read is the same in all. On a day ahead, as many members are wet as the chance of rain says (to within
half a member), each with the amount told for a wet day, and every member is warmer or colder than forecast by an error
that grows with the days ahead and keeps its sign. Days are drawn independently of each other, by date, so the same
date is dealt alike whatever day the run starts on. That is simpler than the weather: spells of rain hold together.
"""

from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
import numpy.typing as npt

Values = npt.NDArray[np.float64]

MEMBERS = 100
TEMP_SHIFT_SEED = 20_240_229
TEMP_ERROR_FIRST_DAY_C = 1.2
TEMP_ERROR_PER_DAY_C = 0.35
TEMP_ERROR_MOST_C = 3.5
"""Standard error of a daily temperature by days ahead: farm judgement, near what forecast offices report."""


@dataclass(frozen=True)
class Members:
    """Rain of each day and member, mm, and how much warmer than told it is, °C; shape (days, members)."""

    rain_mm: Values
    temp_shift_c: Values


def deal_members(
    *,
    day_ordinals: npt.NDArray[np.int64],
    rain_if_wet_mm: Values,
    rain_chance: Values,
    days_ahead: npt.NDArray[np.int64],
    members: int = MEMBERS,
) -> Members:
    """Deal the weather of each day to the members.

    `day_ordinals` are proleptic Gregorian day numbers; `days_ahead` is 0 or less for a day that was read.
    """
    places = (np.arange(members) + 0.5) / members
    rain = np.empty((len(day_ordinals), members))
    for index, ordinal in enumerate(day_ordinals):
        if days_ahead[index] <= 0:
            rain[index] = rain_if_wet_mm[index]
        else:
            dealt = np.random.default_rng(int(ordinal)).permutation(places)
            rain[index] = np.where(dealt < rain_chance[index], rain_if_wet_mm[index], 0.0)
    normal = NormalDist()
    warmer = np.array([normal.inv_cdf(place) for place in places])
    warmer = np.random.default_rng(TEMP_SHIFT_SEED).permutation(warmer)
    error_c = np.where(
        days_ahead > 0,
        np.minimum(
            TEMP_ERROR_FIRST_DAY_C + TEMP_ERROR_PER_DAY_C * (np.maximum(days_ahead, 1) - 1), TEMP_ERROR_MOST_C
        ),
        0.0,
    )
    return Members(rain_mm=rain, temp_shift_c=error_c[:, np.newaxis] * warmer[np.newaxis, :])


def hour_shares(*, day_index: npt.NDArray[np.int64], minutes: Values, weight: Values, days: int) -> Values:
    """Share each day's rain out over its hours by `weight`; evenly where a day has no weight. Sums to 1 a day."""
    weight = np.where(np.isnan(weight), 0.0, weight) * minutes
    totals = np.bincount(day_index, weights=weight, minlength=days)
    lengths = np.bincount(day_index, weights=minutes, minlength=days)
    weighted = totals[day_index] > 0
    shares: Values = np.where(
        weighted, weight / np.where(weighted, totals[day_index], 1.0), minutes / lengths[day_index]
    )
    return shares
