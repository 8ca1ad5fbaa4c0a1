"""Weather beyond the forecast: whole blocks of days from the farm's own past, so that spells and days hold together.

Each member goes through days that were: rain, air, sun and wind of one day come from one day, and days that stood
beside each other stay so. Blocks come from the same weeks of the year, of any year that is known; with too few of
those, from the days nearest in time. Blocks and members are dealt by the calendar, so that a date is dealt alike
whatever day a run starts on.
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scheduling.windows.day_weather import Values

Index = npt.NDArray[np.int64]
BLOCK_DAYS = 10
"""Longer than nearly all spells of rain in the Southeast, short enough that a plan's end sees several blocks."""
SEASON_DAYS = 10
"""A block may begin this many days before or after its place in the year."""
ENOUGH_BLOCKS = 15
NEAREST_BLOCKS = 60
SEED = 7_310


@dataclass(frozen=True)
class PastDays:
    """Days that were read, in order (gaps are left out); nan where a quantity was not read."""

    days: tuple[dt.date, ...]
    temp_min_c: Values
    temp_max_c: Values
    rain_mm: Values
    solar_mj_m2: Values
    wind_m_s: Values
    humidity_min_pct: Values
    humidity_max_pct: Values


def draw_past_days(*, days: Sequence[dt.date], past: PastDays, members: int) -> Index | None:
    """Return for each of `days` and member the place of its day in `past`; None where no whole block is known.

    Shape (days, members). Members change blocks on different dates, and each block's candidates are drawn evenly.
    """
    starts = _block_starts(past)
    if not len(starts):
        return None
    known = np.array([day.toordinal() for day in past.days], dtype=np.int64)
    places = np.array([_place_in_year(day) for day in past.days], dtype=np.int64)
    ordinals = np.array([day.toordinal() for day in days], dtype=np.int64)
    drawn = np.zeros((len(days), members), dtype=np.int64)
    for phase in range(min(BLOCK_DAYS, members)):
        mine = np.arange(phase, members, BLOCK_DAYS)
        blocks = (ordinals + phase) // BLOCK_DAYS
        for block in np.unique(blocks):
            rows = np.flatnonzero(blocks == block)
            begins = int(block) * BLOCK_DAYS - phase
            choice = _candidates(begins, starts, known, places)
            rng = np.random.default_rng([SEED, phase, int(block)])
            spread = (rng.permutation(len(mine)) + rng.random()) / len(mine)
            chosen = choice[(spread * len(choice)).astype(np.int64)]
            drawn[np.ix_(rows, mine)] = chosen[np.newaxis, :] + (ordinals[rows] - begins)[:, np.newaxis]
    return drawn


def _block_starts(past: PastDays) -> Index:
    """Return the places from which a whole block of days with air and rain runs on without a gap."""
    known = np.array([day.toordinal() for day in past.days], dtype=np.int64)
    whole = ~np.isnan(past.temp_min_c + past.temp_max_c + past.rain_mm)
    if len(known) < BLOCK_DAYS:
        return np.empty(0, dtype=np.int64)
    goes_on = known[BLOCK_DAYS - 1 :] - known[: len(known) - BLOCK_DAYS + 1] == BLOCK_DAYS - 1
    all_whole = np.convolve(whole, np.ones(BLOCK_DAYS), mode="valid") > BLOCK_DAYS - 0.5
    return np.flatnonzero(goes_on & all_whole)


def _candidates(begins: int, starts: Index, known: Index, places: Index) -> Index:
    place = _place_in_year(dt.date.fromordinal(begins))
    apart = np.abs(places[starts] - place)
    of_season = starts[np.minimum(apart, 366 - apart) <= SEASON_DAYS]
    if len(of_season) >= ENOUGH_BLOCKS:
        return of_season
    nearest = np.argsort(np.abs(known[starts] - begins), kind="stable")[:NEAREST_BLOCKS]
    return np.sort(starts[nearest])


def _place_in_year(day: dt.date) -> int:
    """Return the day's place in a leap year, so that 1 March is the same place in every year."""
    return dt.date(2000, day.month, day.day).timetuple().tm_yday
