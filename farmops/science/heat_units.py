"""Heat units in degrees Fahrenheit, in which they are published: cotton's DD60 and corn's 86/50."""

import numpy as np

from farmops.science.ranges import Array, Computed, OutOfRange, Values, not_above, plain, within

AIR_LOW_F, AIR_HIGH_F = -76.0, 140.0
RATINGS = ("very_poor", "marginal", "adequate", "good", "very_good", "excellent")
RATING_FROM_DD60 = (11, 16, 26, 36, 50)
"""Where each rating after the first begins; values between two printed whole numbers stay in the lower class."""


def degree_days_f(*, temp_max_f: Values, temp_min_f: Values, base_f: Values) -> Computed:
    """Return the day's heat above a base, °F days: the mean of both temperatures less the base, 0 or more. wilson1983.

    Valid: -76 to 140 °F with the minimum not above the maximum, else OutOfRange.
    """
    low, high = _day_temps_f(temp_min_f, temp_max_f)
    return plain(np.maximum((high + low) / 2 - within("base_f", base_f, AIR_LOW_F, AIR_HIGH_F), 0.0))


def dd60_f(*, temp_max_f: Values, temp_min_f: Values, cap: float | None = None) -> Computed:
    """Return cotton's heat units of a day, °F days above 60 °F. ncsu2018.

    `cap` limits a day's value; the five-day rating of 2018 counts no day for more than 10. Valid: -76 to 140 °F with
    the minimum not above the maximum, cap 0 or more, else OutOfRange.
    """
    units = degree_days_f(temp_max_f=temp_max_f, temp_min_f=temp_min_f, base_f=60.0)
    return units if cap is None else plain(np.minimum(units, within("cap", cap, 0, 100)))


def corn_86_50_f(*, temp_max_f: Values, temp_min_f: Values) -> Computed:
    """Return corn's growing degree days of a day, °F days: both temperatures held within 50 to 86 °F. agron541.

    Valid: -76 to 140 °F with the minimum not above the maximum, else OutOfRange.
    """
    low, high = _day_temps_f(temp_min_f, temp_max_f)
    return plain((np.clip(high, 50, 86) + np.clip(low, 50, 86)) / 2 - 50)


def five_day_sums(*, daily: Array) -> Array:
    """Return the sum of five days from each day on, for as many days as have four after them; days first. ncsu2007.

    Valid: five days or more, 0 to 100 each, else OutOfRange.
    """
    values = within("daily", daily, 0, 100)
    if values.ndim == 0 or len(values) < 5:
        raise OutOfRange("number of days", values.size, "5 or more")
    result: Array = sum((values[shift : len(values) - 4 + shift] for shift in range(5)), np.zeros(1))
    return result


def five_day_rating(*, dd60_sum: float, is_cold_planting_day: bool = False) -> str:
    """Return how good the five days from planting are for cotton, one of RATINGS. ncsu2018.

    The sum is of five daily DD60 capped at 10. A low of 50 °F or less, or no heat at all, on the planting day drops
    it one class. The older table (uncapped, "excellent" above 50) differs above 25. Valid: 0 to 50, else OutOfRange.
    """
    total = float(within("dd60_sum", dd60_sum, 0, 50))
    rank = sum(total >= start for start in RATING_FROM_DD60)
    return RATINGS[max(rank - int(is_cold_planting_day), 0)]


def _day_temps_f(temp_min_f: Values, temp_max_f: Values) -> tuple[Array, Array]:
    low = within("temp_min_f", temp_min_f, AIR_LOW_F, AIR_HIGH_F)
    high = within("temp_max_f", temp_max_f, AIR_LOW_F, AIR_HIGH_F)
    not_above("temp_min_f", low, "temp_max_f", high)
    return low, high
