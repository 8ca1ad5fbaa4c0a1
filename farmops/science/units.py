"""The only conversions of units, by factors that are exact by definition (international foot, pound and acre).

Missing values (nan) stay missing. Source: nist811, appendix B, whose bold factors are exact.
"""

import numpy as np

from farmops.science.ranges import Computed, OutOfRange, Values, plain

METERS_PER_FOOT = 0.3048
MM_PER_INCH = 25.4
M2_PER_ACRE = 4046.8564224
"""43 560 international square feet. The US survey acre is larger by four parts in a million."""
SQUARE_FEET_PER_ACRE = 43_560
FEET_PER_MILE = 5_280
KM_PER_MILE = 1.609344
M_S_PER_MPH = 0.44704
LITERS_PER_GALLON = 3.785411784
CUBIC_INCHES_PER_GALLON = 231
KW_PER_HP = 0.745699871582270
"""Mechanical horsepower, 550 ft lbf/s: follows exactly from the foot, the pound and standard gravity."""
ABSOLUTE_ZERO_C = -273.15


def fahrenheit_from_celsius(temp_c: Values) -> Computed:
    """Return °F. Valid from absolute zero up, else OutOfRange."""
    temp = _above_absolute_zero("temp_c", temp_c, ABSOLUTE_ZERO_C)
    return plain(temp * 9 / 5 + 32)


def celsius_from_fahrenheit(temp_f: Values) -> Computed:
    """Return °C. Valid from absolute zero up, else OutOfRange."""
    temp = _above_absolute_zero("temp_f", temp_f, -459.67)
    return plain((temp - 32) * 5 / 9)


def mm_from_inches(x_in: Values) -> Computed:
    """Return millimeters."""
    return _times(x_in, MM_PER_INCH)


def inches_from_mm(x_mm: Values) -> Computed:
    """Return inches."""
    return _over(x_mm, MM_PER_INCH)


def cm_from_inches(x_in: Values) -> Computed:
    """Return centimeters."""
    return _times(x_in, MM_PER_INCH / 10)


def m_from_feet(x_ft: Values) -> Computed:
    """Return meters."""
    return _times(x_ft, METERS_PER_FOOT)


def feet_from_m(x_m: Values) -> Computed:
    """Return feet."""
    return _over(x_m, METERS_PER_FOOT)


def miles_from_m(x_m: Values) -> Computed:
    """Return miles."""
    return _over(x_m, KM_PER_MILE * 1000)


def acres_from_m2(area_m2: Values) -> Computed:
    """Return acres."""
    return _over(area_m2, M2_PER_ACRE)


def m2_from_acres(area_ac: Values) -> Computed:
    """Return square meters."""
    return _times(area_ac, M2_PER_ACRE)


def m_s_from_km_h(speed_km_h: Values) -> Computed:
    """Return meters a second."""
    return _over(speed_km_h, 3.6)


def m_s_from_mph(speed_mph: Values) -> Computed:
    """Return meters a second."""
    return _times(speed_mph, M_S_PER_MPH)


def mph_from_m_s(speed_m_s: Values) -> Computed:
    """Return miles an hour."""
    return _over(speed_m_s, M_S_PER_MPH)


def km_h_from_mph(speed_mph: Values) -> Computed:
    """Return kilometers an hour."""
    return _times(speed_mph, KM_PER_MILE)


def liters_from_gallons(volume_gal: Values) -> Computed:
    """Return liters; the US liquid gallon of 231 cubic inches."""
    return _times(volume_gal, LITERS_PER_GALLON)


def gallons_from_liters(volume_l: Values) -> Computed:
    """Return US liquid gallons."""
    return _over(volume_l, LITERS_PER_GALLON)


def gallons_from_acre_inches(water_ac_in: Values) -> Computed:
    """Return US liquid gallons in so many acre-inches: 27 154.29 in one."""
    return _times(water_ac_in, SQUARE_FEET_PER_ACRE * 144 / CUBIC_INCHES_PER_GALLON)


def kw_from_hp(power_hp: Values) -> Computed:
    """Return kilowatts of mechanical horsepower."""
    return _times(power_hp, KW_PER_HP)


def hp_from_kw(power_kw: Values) -> Computed:
    """Return mechanical horsepower."""
    return _over(power_kw, KW_PER_HP)


def _times(value: Values, factor: float) -> Computed:
    return plain(np.asarray(value, dtype=np.float64) * factor)


def _over(value: Values, factor: float) -> Computed:
    return plain(np.asarray(value, dtype=np.float64) / factor)


def _above_absolute_zero(name: str, value: Values, zero: float) -> np.ndarray:
    array = np.asarray(value, dtype=np.float64)
    if (array < zero).any():
        raise OutOfRange(name, float(array.min()), f"{zero:g} (absolute zero) or more")
    return array
