"""A grower's remark in the soil column: how far it moves the topsoil, and how it fades."""

from typing import Any

import numpy as np
import pytest

from farmops.science.soil_column import Correction, bare_days
from farmops.science.textures import TEXTURES
from tests.science.columns import HOURS, SANDY_LOAM, bare, holding, run


def said(column: int = 0, **bounds: Any) -> list[Correction]:
    return [Correction(step=30, column=column, **bounds)]


def test_a_remark_brings_the_topsoil_to_what_was_said() -> None:
    for bounds, expected in (({"at_least_m3_m3": 0.24}, 0.24), ({"at_most_m3_m3": 0.19}, 0.19)):
        result = bare(np.zeros(HOURS), textures=[SANDY_LOAM] * 2, et_mm_d=3, corrections=said(1, **bounds))
        assert result.topsoil_m3_m3[30, 1, 0] == pytest.approx(expected, abs=0.002)
        assert result.topsoil_m3_m3[30, 0, 0] == pytest.approx(0.21, abs=0.01)


def test_a_remark_that_agrees_changes_nothing() -> None:
    without = bare(np.zeros(HOURS), textures=[SANDY_LOAM])
    agreed = bare(
        np.zeros(HOURS), textures=[SANDY_LOAM], corrections=said(at_least_m3_m3=0.1, at_most_m3_m3=0.3)
    )
    assert (without.topsoil_m3_m3 == agreed.topsoil_m3_m3).all()


def test_a_remark_moves_the_topsoil_by_fifteen_millimeters_at_most() -> None:
    dry = bare(
        np.zeros(HOURS), textures=[SANDY_LOAM], start=holding(-17.0), corrections=said(at_least_m3_m3=0.3)
    )
    assert dry.correction_mm.sum() == pytest.approx(15.0)
    wet = bare(np.zeros(HOURS), textures=[SANDY_LOAM], et_mm_d=0, corrections=said(at_most_m3_m3=0.1))
    assert wet.correction_mm[30, 0, 0] == pytest.approx(-15.0)


def test_a_remark_dries_the_topsoil_no_further_than_evaporation_could() -> None:
    remark = said(at_most_m3_m3=0.055)
    result = bare(np.zeros(HOURS), textures=[SANDY_LOAM], et_mm_d=0, start=holding(-15.0), corrections=remark)
    assert result.correction_mm[30, 0, 0] == pytest.approx(-2.5)


def test_a_remark_fades_with_a_half_life_of_four_days_and_overshoots_by_less_than_a_millimeter() -> None:
    steps = 24 * 20
    for bounds, sign in (({"at_least_m3_m3": 0.26}, 1), ({"at_most_m3_m3": 0.17}, -1)):
        days = steps // 24
        crop = bare_days(days=days, columns=1)
        without = run(np.zeros(steps), days=days, crop=crop, textures=[SANDY_LOAM], et_mm_d=2.0)
        result = run(
            np.zeros(steps),
            days=days,
            crop=crop,
            textures=[SANDY_LOAM],
            et_mm_d=2.0,
            corrections=said(**bounds),
        )
        assert 150 * (sign * (result.topsoil_m3_m3 - without.topsoil_m3_m3)).min() > -1
        put = result.correction_mm[30, 0, 0]
        assert result.end.credit_mm == pytest.approx(put * 0.5 ** ((steps - 31) / 24 / 4))


def test_taken_out_water_comes_back_while_the_ground_is_dry() -> None:
    clay = TEXTURES["clay"]
    result = bare(np.zeros(HOURS), textures=[clay], et_mm_d=0, corrections=said(at_most_m3_m3=0.33))
    assert result.correction_mm[30, 0, 0] == pytest.approx(-4.5)
    assert result.correction_mm[31:].sum() == pytest.approx(4.5 * (1 - 0.5 ** ((HOURS - 31) / 96)))
