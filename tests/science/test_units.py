import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farmops.science import units
from farmops.science.ranges import OutOfRange

PAIRS = [
    (units.fahrenheit_from_celsius, units.celsius_from_fahrenheit),
    (units.inches_from_mm, units.mm_from_inches),
    (units.feet_from_m, units.m_from_feet),
    (units.acres_from_m2, units.m2_from_acres),
    (units.mph_from_m_s, units.m_s_from_mph),
    (units.gallons_from_liters, units.liters_from_gallons),
    (units.hp_from_kw, units.kw_from_hp),
]


@pytest.mark.parametrize(("there", "back"), PAIRS)
@given(value=st.floats(-273, 1e9))
def test_there_and_back_is_the_same(there, back, value: float) -> None:  # type: ignore[no-untyped-def]
    assert math.isclose(back(there(value)), value, rel_tol=1e-12, abs_tol=1e-9)


def test_missing_stays_missing() -> None:
    assert np.isnan(units.fahrenheit_from_celsius(np.array([1.0, np.nan]))).tolist() == [False, True]
    assert math.isnan(units.mm_from_inches(float("nan")))


def test_colder_than_absolute_zero_is_refused() -> None:
    with pytest.raises(OutOfRange, match="absolute zero"):
        units.fahrenheit_from_celsius(-274)
    with pytest.raises(OutOfRange, match="absolute zero"):
        units.celsius_from_fahrenheit(np.array([70.0, -460.0]))


def test_factors_belong_together() -> None:
    assert (
        pytest.approx(units.M2_PER_ACRE, rel=1e-15) == units.SQUARE_FEET_PER_ACRE * units.METERS_PER_FOOT**2
    )
    assert pytest.approx(units.KM_PER_MILE, rel=1e-15) == units.FEET_PER_MILE * units.METERS_PER_FOOT / 1000
    assert pytest.approx(units.M_S_PER_MPH, rel=1e-15) == units.KM_PER_MILE * 1000 / 3600
    inches_cubed_l = (units.MM_PER_INCH / 100) ** 3
    assert pytest.approx(units.LITERS_PER_GALLON, rel=1e-14) == units.CUBIC_INCHES_PER_GALLON * inches_cubed_l
    pound_force_n = 0.45359237 * 9.80665
    assert pytest.approx(units.KW_PER_HP, rel=1e-14) == 550 * units.METERS_PER_FOOT * pound_force_n / 1000
