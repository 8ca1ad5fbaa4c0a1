import numpy as np
import pytest

from farmops.science import atmosphere, evapotranspiration, exposure, heat_units, pivot, work_rate
from farmops.science.ranges import OutOfRange


def test_a_value_outside_is_named_with_its_range() -> None:
    with pytest.raises(OutOfRange, match=r"^temp_c is 75; valid is from -60 to 60$") as caught:
        atmosphere.saturation_vapor_pressure_kpa(temp_c=75)
    assert (caught.value.name, caught.value.value, caught.value.valid) == ("temp_c", 75, "from -60 to 60")


def test_one_bad_day_of_many_is_found() -> None:
    with pytest.raises(OutOfRange, match="temp_c is 61"):
        atmosphere.saturation_vapor_pressure_kpa(temp_c=np.array([10.0, 61.0, 12.0]))


@pytest.mark.parametrize("missing", [float("nan"), float("inf"), None])
def test_missing_values_are_refused(missing: float) -> None:
    with pytest.raises(OutOfRange):
        atmosphere.wind_2m_m_s(wind_m_s=missing, height_m=10)
    with pytest.raises(OutOfRange):
        pivot.circle_ac(radius_ft=missing)


def test_a_night_warmer_than_its_day_is_refused() -> None:
    with pytest.raises(OutOfRange, match=r"temp_min_c is 20; valid is not above temp_max_c \(15\)"):
        atmosphere.day_temps(20.0, 15.0)
    with pytest.raises(OutOfRange, match="temp_min_f"):
        heat_units.dd60_f(temp_max_f=60, temp_min_f=61)


def test_fahrenheit_given_as_celsius_is_noticed() -> None:
    with pytest.raises(OutOfRange, match="temp_max_c is 95"):
        evapotranspiration.reference_et_hargreaves_mm_d(
            temp_min_c=58, temp_max_c=95, latitude_deg=31, day_of_year=200
        )


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: work_rate.work_rate_ac_per_h(width_ft=0, speed_mph=5, efficiency_pct=80), "width_ft"),
        (
            lambda: work_rate.work_rate_ac_per_h(width_ft=28, speed_mph=5, efficiency_pct=101),
            "efficiency_pct",
        ),
        (lambda: work_rate.fuel_gal_per_h(pto_hp=-1), "pto_hp"),
        (lambda: pivot.walk_minutes(last_tower_radius_ft=1280, degrees=361, walk_ft_per_min=8), "degrees"),
        (lambda: pivot.revolution_h(last_tower_radius_ft=1280, walk_ft_per_min=0), "walk_ft_per_min"),
        (lambda: heat_units.five_day_rating(dd60_sum=50.1), "dd60_sum"),
        (lambda: heat_units.five_day_sums(daily=np.array([1.0, 2.0])), "number of days"),
        (lambda: exposure.heat_index_f(temp_f=90, humidity_pct=120), "humidity_pct"),
        (lambda: exposure.noise_minutes(level_dba=500), "level_dba"),
        (
            lambda: work_rate.draft_n(implement="tandem_disk_primary", soil="moist", speed_km_h=8, size=4),
            "soil",
        ),
        (lambda: work_rate.draft_n(implement="rake", soil="fine", speed_km_h=8, size=4), "implement"),
    ],
)
def test_bad_arguments_are_refused_by_name(call, name: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(OutOfRange) as caught:
        call()
    assert caught.value.name == name


def test_numbers_give_a_float_and_arrays_an_array() -> None:
    assert type(atmosphere.atmospheric_pressure_kpa(elevation_m=100)) is float
    table = atmosphere.wind_2m_m_s(wind_m_s=np.ones((3, 1)), height_m=np.array([2.0, 10.0]))
    assert table.shape == (3, 2)
