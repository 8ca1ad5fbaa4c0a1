"""Noise and heat that people at work stand in. Facts for caution texts: labels, law and licensed people come first."""

import numpy as np

from farmops.science.ranges import Computed, Values, plain, within

HEAT_LEVELS = ("lower", "moderate", "high", "very_high")
HEAT_LEVEL_FROM_F = (91, 103, 115)
"""Where each level after the first begins. The agency prints 91 to 103, 103 to 115: the shared number counts upward."""


def noise_minutes(*, level_dba: Values) -> Computed:
    """Return the minutes a day after which noise is likely to harm unprotected ears. niosh98126: 480 / 2^((L - 85)/3).

    A reason for ear protection from 85 dBA on, not an allowance to be used up; the legal limit in the US is laxer.
    Valid: 70 to 140 dBA, else OutOfRange.
    """
    return plain(480 / 2 ** ((within("level_dba", level_dba, 70, 140) - 85) / 3))


def heat_index_f(*, temp_f: Values, humidity_pct: Values) -> Computed:
    """Return how hot the air feels in the shade, °F. nws_heat: its regression, its adjustments and its simple form.

    Full sun adds up to 15 °F. Valid: 40 to 130 °F and 0 to 100 %, else OutOfRange.
    """
    temp = within("temp_f", temp_f, 40, 130)
    damp = within("humidity_pct", humidity_pct, 0, 100)
    simple = (0.5 * (temp + 61 + (temp - 68) * 1.2 + damp * 0.094) + temp) / 2
    full = (
        -42.379
        + 2.04901523 * temp
        + 10.14333127 * damp
        - 0.22475541 * temp * damp
        - 6.83783e-3 * temp**2
        - 5.481717e-2 * damp**2
        + 1.22874e-3 * temp**2 * damp
        + 8.5282e-4 * temp * damp**2
        - 1.99e-6 * temp**2 * damp**2
    )
    dry = (13 - damp) / 4 * np.sqrt(np.maximum(17 - np.abs(temp - 95), 0) / 17)
    full = full - np.where((damp < 13) & (temp >= 80) & (temp <= 112), dry, 0.0)
    moist = (damp - 85) / 10 * (87 - temp) / 5
    full = full + np.where((damp > 85) & (temp >= 80) & (temp <= 87), moist, 0.0)
    return plain(np.where(simple < 80, simple, full))


def heat_level(*, heat_index_f: float) -> str:
    """Return the level of care that a heat index asks for, one of HEAT_LEVELS. osha_heat.

    Valid: 0 to 250 °F, else OutOfRange.
    """
    index = float(within("heat_index_f", heat_index_f, 0, 250))
    return HEAT_LEVELS[sum(index >= start for start in HEAT_LEVEL_FROM_F)]
