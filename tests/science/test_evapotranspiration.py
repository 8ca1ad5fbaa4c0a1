import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farmops.science.evapotranspiration import (
    net_radiation_mj_m2_d,
    reference_et_hargreaves_mm_d,
    reference_et_mm_d,
)
from farmops.science.ranges import OutOfRange

SPRING_DAY = {
    "temp_min_c": 12.0,
    "temp_max_c": 26.0,
    "latitude_deg": 31.2,
    "elevation_m": 90.0,
    "day_of_year": 110,
    "vapor_pressure_kpa": 1.5,
    "wind_2m_m_s": 2.0,
    "solar_mj_m2_d": 22.0,
}


@given(wind=st.floats(0, 15), more=st.floats(0, 5))
def test_more_wind_dries_more_where_the_air_is_dry(wind: float, more: float) -> None:
    day = SPRING_DAY | {"vapor_pressure_kpa": 0.8}
    calm = reference_et_mm_d(**day | {"wind_2m_m_s": wind})
    windy = reference_et_mm_d(**day | {"wind_2m_m_s": wind + more})
    assert windy >= calm - 1e-12


def test_damper_air_dries_less() -> None:
    dry, damp = reference_et_mm_d(**SPRING_DAY | {"vapor_pressure_kpa": np.array([0.8, 1.8])})
    assert 3 < damp < dry < 9


def test_dew_is_not_counted() -> None:
    """A clear day of deep winter in the far north sends out more than it takes in."""
    frosty = {"temp_min_c": -8.0, "temp_max_c": -5.0, "vapor_pressure_kpa": 0.37, "solar_mj_m2_d": 1.0}
    far_north = {"latitude_deg": 60.0, "day_of_year": 355, "wind_2m_m_s": 0.5}
    net = net_radiation_mj_m2_d(
        **{key: value for key, value in (SPRING_DAY | frosty | far_north).items() if key != "wind_2m_m_s"}
    )
    assert net < 0
    assert reference_et_mm_d(**SPRING_DAY | frosty | far_north) == 0.0


def test_more_vapor_than_the_warmest_air_holds_is_refused() -> None:
    with pytest.raises(OutOfRange, match="vapor_pressure_kpa is 15"):
        reference_et_mm_d(**SPRING_DAY | {"vapor_pressure_kpa": 15.0})


def test_the_polar_night_has_no_clear_sky_to_compare_with() -> None:
    with pytest.raises(OutOfRange, match="clear_sky_mj_m2_d"):
        reference_et_mm_d(**SPRING_DAY | {"latitude_deg": 85.0, "day_of_year": 355, "solar_mj_m2_d": 0.0})


def test_temperatures_alone_never_give_less_than_nothing() -> None:
    assert (
        reference_et_hargreaves_mm_d(temp_min_c=-40, temp_max_c=-30, latitude_deg=48, day_of_year=20) == 0.0
    )
