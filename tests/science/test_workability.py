import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farmops.science.ranges import OutOfRange
from farmops.science.soil_column import bare_days
from farmops.science.textures import TEXTURES
from farmops.science.workability import (
    RETENTION,
    RetentionCurve,
    dry_limit_m3_m3,
    dry_tillage_limit_m3_m3,
    inflection_suction_m,
    optimum_tillage_m3_m3,
    traffic_limit_m3_m3,
    van_genuchten_m3_m3,
    wet_tillage_limit_m3_m3,
    workable_limit_m3_m3,
)
from tests.science.columns import run


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
    days = run(rain, days=20, crop=bare_days(days=20, columns=4), textures=textures, et_mm_d=3.5)
    limits = np.array([workable_limit_m3_m3(texture=texture) for texture in textures])
    wait = (days.topsoil_m3_m3[:, :, 0] < limits).argmax(axis=0)
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


@pytest.mark.parametrize("key", sorted(RETENTION))
def test_the_class_curves_leave_room_between_too_dry_and_too_wet(key: str) -> None:
    curve = dataclasses.asdict(RETENTION[key])
    dry = dry_tillage_limit_m3_m3(**curve)
    del curve["alpha_per_m"]
    optimum, wet = optimum_tillage_m3_m3(**curve), wet_tillage_limit_m3_m3(**curve)
    assert curve["residual_m3_m3"] < dry < optimum < wet < curve["saturation_m3_m3"]


def test_there_is_a_curve_for_each_texture() -> None:
    assert TEXTURES.keys() <= RETENTION.keys()
    assert len(RETENTION) == 12


@given(alpha=st.floats(0.5, 15), **curves)
def test_at_the_dry_limit_soil_is_twice_as_strong_as_at_the_optimum(
    alpha: float, residual: float, saturation: float, n: float
) -> None:
    """Strength as effective stress: suction times degree of saturation (our reading of dexter2001)."""
    soil = {"residual_m3_m3": residual, "saturation_m3_m3": saturation, "alpha_per_m": alpha, "n": n}
    dry = dry_tillage_limit_m3_m3(**soil)
    if dry == residual:
        suctions = np.logspace(-3, 6, 2000)
        strength = suctions * van_genuchten_m3_m3(suction_m=suctions, **soil)
        at_optimum = inflection_suction_m(alpha_per_m=alpha, n=n) * optimum_tillage_m3_m3(
            residual_m3_m3=residual, saturation_m3_m3=saturation, n=n
        )
        assert strength[suctions < 1e5 / alpha].max() < 2.001 * at_optimum
        return
    m = 1 - 1 / n
    # van Genuchten's equation solved for suction
    effective = (
        np.array([dry, optimum_tillage_m3_m3(residual_m3_m3=residual, saturation_m3_m3=saturation, n=n)])
        - residual
    ) / (saturation - residual)
    suction = (effective ** (-1 / m) - 1) ** (1 / n) / alpha
    strengths = suction * np.array([dry, residual + effective[1] * (saturation - residual)])
    assert strengths[0] / strengths[1] == pytest.approx(2, rel=1e-3)


def test_a_clean_sand_without_residual_water_never_gets_too_dry_to_work() -> None:
    assert dry_tillage_limit_m3_m3(residual_m3_m3=0.0, saturation_m3_m3=0.40, alpha_per_m=12, n=3.5) == 0


@pytest.mark.parametrize("texture", TEXTURES.values(), ids=lambda texture: texture.key)
def test_a_zones_own_curve_takes_the_place_of_the_shares(texture) -> None:  # type: ignore[no-untyped-def]
    curve = RETENTION[texture.key]
    wet, dry = (limit(texture=texture, curve=curve) for limit in (workable_limit_m3_m3, dry_limit_m3_m3))
    assert dry < wet <= texture.field_capacity_m3_m3
    assert dry != dry_limit_m3_m3(texture=texture)
    tight = RetentionCurve(residual_m3_m3=0.02, saturation_m3_m3=0.22, alpha_per_m=2.0, n=1.3)
    loam = TEXTURES["loam"]
    assert workable_limit_m3_m3(texture=loam, curve=tight) == wet_tillage_limit_m3_m3(
        residual_m3_m3=0.02, saturation_m3_m3=0.22, n=1.3
    )


def test_a_curve_that_cannot_be_is_refused() -> None:
    upside_down = RetentionCurve(residual_m3_m3=0.5, saturation_m3_m3=0.4, alpha_per_m=2.0, n=1.3)
    for limit in (workable_limit_m3_m3, dry_limit_m3_m3):
        with pytest.raises(OutOfRange, match=r"residual_m3_m3 is 0\.5; valid is not above saturation_m3_m3"):
            limit(texture=TEXTURES["loam"], curve=upside_down)


@given(key=st.sampled_from(sorted(TEXTURES)), load=st.floats(0, 50_000), heavier=st.floats(0, 50_000))
def test_a_heavier_wheel_never_runs_on_wetter_ground(key: str, load: float, heavier: float) -> None:
    texture = TEXTURES[key]
    lighter_limit, heavier_limit = traffic_limit_m3_m3(
        texture=texture, wheel_load_lb=np.array([load, load + heavier])
    )
    assert heavier_limit <= lighter_limit <= texture.field_capacity_m3_m3
    assert heavier_limit > dry_limit_m3_m3(texture=texture)


def test_a_usual_wheel_runs_where_tools_do_and_a_picker_only_on_drier_ground() -> None:
    loam = TEXTURES["loam"]
    workable = workable_limit_m3_m3(texture=loam)
    assert traffic_limit_m3_m3(texture=loam, wheel_load_lb=2_000) == loam.field_capacity_m3_m3
    assert traffic_limit_m3_m3(texture=loam, wheel_load_lb=6_000) == pytest.approx(workable)
    heavy, heaviest = traffic_limit_m3_m3(texture=loam, wheel_load_lb=np.array([16_000.0, 40_000.0]))
    room = workable - dry_limit_m3_m3(texture=loam)
    assert [workable - heavy, workable - heaviest] == pytest.approx([0.25 * room, 0.5 * room])
    with pytest.raises(OutOfRange, match="wheel_load_lb is -1"):
        traffic_limit_m3_m3(texture=loam, wheel_load_lb=-1)
