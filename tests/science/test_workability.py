import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farmops.science.ranges import OutOfRange
from farmops.science.soil_water import TEXTURES, bare_topsoil
from farmops.science.workability import (
    dry_limit_m3_m3,
    inflection_suction_m,
    optimum_tillage_m3_m3,
    van_genuchten_m3_m3,
    wet_tillage_limit_m3_m3,
    workable_limit_m3_m3,
)


@pytest.mark.parametrize("texture", TEXTURES.values(), ids=lambda texture: texture.key)
def test_there_is_room_to_work_between_too_dry_and_too_wet(texture) -> None:  # type: ignore[no-untyped-def]
    dry, wet = dry_limit_m3_m3(texture=texture), workable_limit_m3_m3(texture=texture)
    assert dry < wet <= texture.field_capacity_m3_m3
    assert wet > texture.wilting_point_m3_m3


def test_days_from_a_soaking_rain_until_ground_is_fit_grow_with_clay() -> None:
    """Common practice, no source: sand the next day, sandy loam in one to three days, clay in about a week."""
    textures = [TEXTURES[key] for key in ("sand", "sandy_loam", "loam", "clay")]
    rain = np.zeros(20)
    rain[0] = 50
    days = bare_topsoil(et0_mm=np.full(20, 3.5), rain_mm=rain, textures=textures, start_depletion_mm=2)
    limits = np.array([workable_limit_m3_m3(texture=texture) for texture in textures])
    wait = (days.topsoil_m3_m3 < limits).argmax(axis=0)
    assert (np.diff(wait) >= 0).all()
    assert wait[0] <= 1
    assert 1 <= wait[1] <= 3
    assert 4 <= wait[3] <= 9


def test_an_unknown_texture_is_refused() -> None:
    peat = dataclasses.replace(TEXTURES["loam"], key="peat")
    for limit in (workable_limit_m3_m3, dry_limit_m3_m3):
        with pytest.raises(OutOfRange, match="texture is peat; valid is sand, "):
            limit(texture=peat)


curves = {"residual": st.floats(0.0, 0.1), "saturation": st.floats(0.3, 0.6), "n": st.floats(1.1, 3.5)}


@given(alpha=st.floats(0.5, 15), **curves)
def test_the_retention_curve_runs_from_saturation_to_residual(
    alpha: float, residual: float, saturation: float, n: float
) -> None:
    water = van_genuchten_m3_m3(
        suction_m=np.array([0, 0.1, 1, 10, 100, 1e6]),
        residual_m3_m3=residual,
        saturation_m3_m3=saturation,
        alpha_per_m=alpha,
        n=n,
    )
    assert water[0] == pytest.approx(saturation)
    assert (np.diff(water) <= 1e-12).all()
    assert water[-1] >= residual


@given(alpha=st.floats(0.5, 15), **curves)
def test_the_optimum_is_where_the_curve_is_steepest_over_the_logarithm(
    alpha: float, residual: float, saturation: float, n: float
) -> None:
    steepest = inflection_suction_m(alpha_per_m=alpha, n=n)
    curve = {"residual_m3_m3": residual, "saturation_m3_m3": saturation, "alpha_per_m": alpha, "n": n}
    around = steepest * np.exp(np.linspace(-1, 1, 2001))
    slope = np.abs(np.gradient(van_genuchten_m3_m3(suction_m=around, **curve)))
    assert around[slope[1:-1].argmax() + 1] == pytest.approx(steepest, rel=0.01)
    optimum = optimum_tillage_m3_m3(residual_m3_m3=residual, saturation_m3_m3=saturation, n=n)
    assert optimum == pytest.approx(van_genuchten_m3_m3(suction_m=steepest, **curve), abs=1e-9)


@given(**curves)
def test_the_wet_limit_is_four_tenths_of_the_way_from_optimum_to_saturation(
    residual: float, saturation: float, n: float
) -> None:
    soil = {"residual_m3_m3": residual, "saturation_m3_m3": saturation, "n": n}
    optimum, wet = optimum_tillage_m3_m3(**soil), wet_tillage_limit_m3_m3(**soil)
    assert (wet - optimum) / (saturation - optimum) == pytest.approx(0.4)
