"""Rain that runs off, by the curve number of the soil conservation service (neh630 ch. 10, tr55 ch. 2)."""

import numpy as np

from farmops.science.ranges import Array, Computed, Values, above, plain, within

DRY_TERMS = (2.281, -0.01281)
WET_TERMS = (0.427, 0.00573)
"""Curve number / (first + second × curve number): asce2016 eq. 14-14 and 14-15."""


def retention_mm(*, curve_number: Values) -> Computed:
    """Return the most that the ground can take up after runoff begins, mm: 25400 / CN - 254. neh630 eq. 10-13.

    Valid for curve numbers above 0 and up to 100, else OutOfRange.
    """
    return plain(_retention(curve_number))


def runoff_mm(*, rain_mm: Values, curve_number: Values) -> Computed:
    """Return what a day's rain sheds, mm. neh630 eq. 10-11, with a fifth of the retention taken up first.

    Valid for rain of 0 to 2000 mm and curve numbers above 0 and up to 100, else OutOfRange.
    """
    return plain(_runoff(within("rain_mm", rain_mm, 0, 2000), _retention(curve_number)))


def curve_number_dry(*, curve_number: Values) -> Computed:
    """Return the curve number of dry ground (class I) for that of average ground. asce2016 eq. 14-14.

    Within 2.5 of the table of classes in neh630. Valid above 0 and up to 100, else OutOfRange.
    """
    return plain(_other_class(curve_number, DRY_TERMS))


def curve_number_wet(*, curve_number: Values) -> Computed:
    """Return the curve number of wet ground (class III) for that of average ground. asce2016 eq. 14-15.

    Within 1 of the table of classes in neh630. Valid above 0 and up to 100, else OutOfRange.
    """
    return plain(_other_class(curve_number, WET_TERMS))


def _retention(curve_number: Values) -> Array:
    number = within("curve_number", above("curve_number", curve_number, 0), 0, 100)
    result: Array = 25400 / number - 254
    return result


def _runoff(rain_mm: Array, retention: Array) -> Array:
    beyond = np.maximum(rain_mm - 0.2 * retention, 0.0)
    whole = beyond + retention
    result: Array = np.where(whole > 0, beyond**2 / np.where(whole > 0, whole, 1.0), 0.0)
    return result


def _other_class(curve_number: Values, terms: tuple[float, float]) -> Array:
    number = within("curve_number", above("curve_number", curve_number, 0), 0, 100)
    base, slope = terms
    result: Array = np.minimum(number / (base + slope * number), 100.0)
    return result
