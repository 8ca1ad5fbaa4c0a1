"""The weather that may come, as a fixed number of members with equal weight.

A day that was read is the same in all. On a day of the forecast, as many members are wet as the chance of rain says
(to within half a member), with amounts spread as those of showers are, their mean as told; every member is warmer or
colder than forecast by an error that grows with the days ahead. Neighbor days hang together: a member that is wet
today is more likely wet tomorrow, and one that is warm stays so for some days. Beyond the forecast each member goes
through whole days from the farm's own past (see `history`). Simpler than the weather: on a day of the forecast, wet
and dry members have the same sun and the same humidity.

Everything is dealt by date, so that a date is dealt alike whatever day the run starts on.
"""

from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
import numpy.typing as npt

from farmops.science.atmosphere import AIR_HIGH_C, AIR_LOW_C
from scheduling.windows.day_weather import Values, WeatherDays
from scheduling.windows.history import PastDays, draw_past_days

MEMBERS, FEWEST_MEMBERS, MOST_MEMBERS = 100, 1, 500
TEMP_ERROR_FIRST_DAY_C = 1.2
TEMP_ERROR_PER_DAY_C = 0.35
TEMP_ERROR_MOST_C = 3.5
"""Standard error of a daily temperature by days ahead: farm judgement, near what forecast offices report."""
WIND_ERROR_SHARE = 0.25
"""Standard error of a day's wind as a share of it: farm judgement."""
RAIN_CARRY, TEMP_CARRY, WIND_CARRY = 0.35, 0.7, 0.3
"""How much of what sets a member's day apart goes on into the next: farm judgement."""
FORGOTTEN = 0.02
RAIN_SEED, TEMP_SEED, WIND_SEED = 20_240_229, 20_240_301, 20_240_302
WET_DAY_MM = 0.25
"""A hundredth of an inch: the least that counts as a day with rain."""
CLIMATOLOGY = "climatology"


@dataclass(frozen=True)
class MemberDays:
    """The weather of each day and member, shape (days, members); nan where a quantity is not known."""

    temp_min_c: Values
    temp_max_c: Values
    rain_mm: Values
    solar_mj_m2: Values
    wind_m_s: Values
    humidity_min_pct: Values
    humidity_max_pct: Values


def deal_members(
    *,
    weather: WeatherDays,
    days_ahead: npt.NDArray[np.int64],
    members: int = MEMBERS,
    past: PastDays | None = None,
) -> MemberDays:
    """Deal the weather of each day to the members; `days_ahead` is 0 or less for a day that was read.

    Days that the forecast does not reach come from `past` where that holds at least one whole block. Valid: 1 to 500
    members, else ValueError.
    """
    if not FEWEST_MEMBERS <= members <= MOST_MEMBERS:
        raise ValueError(f"there are {members} members; there must be {FEWEST_MEMBERS} to {MOST_MEMBERS}")
    ordinals = np.array([day.toordinal() for day in weather.days], dtype=np.int64)
    told = _dealt_around_told(weather, ordinals, days_ahead, members)
    usual = np.flatnonzero((days_ahead > 0) & (np.array(weather.kind) == CLIMATOLOGY))
    if past is None or not len(usual):
        return told
    drawn = draw_past_days(days=[weather.days[day] for day in usual], past=past, members=members)
    return told if drawn is None else _with_past(told, weather, usual, past, drawn)


def rain_amounts_mm(*, wet_members: int, mean_mm: float) -> Values:
    """Return what each of the wet members gets, most first: exponential above the least that counts, their mean as told.

    Each member stands for an equal part of the distribution and gets the mean of its part. More members or a larger
    mean give no place less. A mean below the least that counts is the same for all.
    """
    edges = np.arange(wet_members + 1) / max(wet_members, 1)
    below = np.zeros(wet_members + 1)
    below[1:] = edges[1:] * (1 - np.log(edges[1:]))
    spread: Values = wet_members * np.diff(below)
    least = min(WET_DAY_MM, mean_mm)
    amounts: Values = least + (mean_mm - least) * spread
    return amounts


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


def _dealt_around_told(
    weather: WeatherDays, ordinals: npt.NDArray[np.int64], days_ahead: npt.NDArray[np.int64], members: int
) -> MemberDays:
    ahead = days_ahead > 0
    rain = np.repeat(weather.rain_mm[:, np.newaxis], members, axis=1)
    shift_c, wind_factor = np.zeros((2, len(ordinals), members))
    wind_factor += 1.0
    if ahead.any():
        dealt = ordinals[ahead]
        places = _places(dealt, members, RAIN_CARRY, RAIN_SEED)
        rain[ahead] = [
            _rain_of_day(row, float(chance), float(if_wet_mm))
            for row, chance, if_wet_mm in zip(
                places, weather.rain_chance[ahead], weather.rain_if_wet_mm[ahead], strict=True
            )
        ]
        error_c = np.minimum(
            TEMP_ERROR_FIRST_DAY_C + TEMP_ERROR_PER_DAY_C * (days_ahead[ahead] - 1), TEMP_ERROR_MOST_C
        )
        shift_c[ahead] = error_c[:, np.newaxis] * _normals(_places(dealt, members, TEMP_CARRY, TEMP_SEED))
        # no error carries a day beyond what the formulas take
        np.maximum(shift_c, AIR_LOW_C - weather.temp_min_c[:, np.newaxis], out=shift_c)
        np.minimum(shift_c, AIR_HIGH_C - weather.temp_max_c[:, np.newaxis], out=shift_c)
        windy = np.exp(WIND_ERROR_SHARE * _normals(_places(dealt, members, WIND_CARRY, WIND_SEED)))
        wind_factor[ahead] = windy / windy.mean(axis=1, keepdims=True)
    return MemberDays(
        temp_min_c=weather.temp_min_c[:, np.newaxis] + shift_c,
        temp_max_c=weather.temp_max_c[:, np.newaxis] + shift_c,
        rain_mm=rain,
        solar_mj_m2=np.repeat(weather.solar_mj_m2[:, np.newaxis], members, axis=1),
        wind_m_s=weather.wind_m_s[:, np.newaxis] * wind_factor,
        humidity_min_pct=np.repeat(weather.humidity_min_pct[:, np.newaxis], members, axis=1),
        humidity_max_pct=np.repeat(weather.humidity_max_pct[:, np.newaxis], members, axis=1),
    )


def _rain_of_day(places: Values, chance: float, if_wet_mm: float) -> Values:
    wettest_first = np.argsort(places, kind="stable")
    wet = int(np.count_nonzero(places < chance))
    rain = np.zeros(len(places))
    rain[wettest_first[:wet]] = rain_amounts_mm(wet_members=wet, mean_mm=if_wet_mm)
    return rain


def _places(ordinals: npt.NDArray[np.int64], members: int, carry: float, seed: int) -> Values:
    """Deal the places (0.5, 1.5, …) / members anew on each date, so that neighbor dates deal them alike.

    What a date adds is drawn from the date alone; a member's order on a date is that of the sum of what the days up
    to it added, each day further back weighing `carry` times less.
    """
    reach = int(np.ceil(np.log(FORGOTTEN) / np.log(carry)))
    added = {
        day: np.random.default_rng([seed, day]).standard_normal(members)
        for day in range(int(ordinals.min()) - reach, int(ordinals.max()) + 1)
    }
    sums = np.array(
        [sum(carry**back * added[int(day) - back] for back in range(reach + 1)) for day in ordinals]
    )
    ranks = np.argsort(np.argsort(sums, axis=1, kind="stable"), axis=1, kind="stable")
    places: Values = (ranks + 0.5) / members
    return places


def _normals(places: Values) -> Values:
    members = places.shape[1]
    steps = np.array([NormalDist().inv_cdf((index + 0.5) / members) for index in range(members)])
    dealt: Values = steps[np.floor(places * members).astype(np.int64)]
    return dealt


def _with_past(
    told: MemberDays,
    weather: WeatherDays,
    usual: npt.NDArray[np.int64],
    past: PastDays,
    drawn: npt.NDArray[np.int64],
) -> MemberDays:
    """Put past days in the place of usual ones; their mean warmth over the members stays what the season's is."""
    low, high = past.temp_min_c[drawn], past.temp_max_c[drawn]
    mean, half = (low + high) / 2, (high - low) / 2
    usual_mean = (weather.temp_min_c[usual] + weather.temp_max_c[usual]) / 2
    mean += (usual_mean - mean.mean(axis=1))[:, np.newaxis]
    mean = np.clip(mean, AIR_LOW_C + half, AIR_HIGH_C - half)
    made = {name: getattr(told, name).copy() for name in MemberDays.__dataclass_fields__}
    made["temp_min_c"][usual] = mean - half
    made["temp_max_c"][usual] = mean + half
    made["rain_mm"][usual] = past.rain_mm[drawn]
    for name in ("solar_mj_m2", "wind_m_s", "humidity_min_pct", "humidity_max_pct"):
        read = getattr(past, name)[drawn]
        made[name][usual] = np.where(np.isnan(read), made[name][usual], read)
    return MemberDays(**made)
