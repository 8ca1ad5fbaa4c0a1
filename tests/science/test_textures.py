"""Table 19 of FAO Irrigation and Drainage Paper 56 as ranges, all from memory."""

import pytest

from farmops.science.soil_water import TEXTURES, total_evaporable_water_mm

# field capacity, wilting point (m3/m3), readily and total evaporable water (mm, layer of 0.10 m)
TABLE_19 = {
    "sand": ((0.07, 0.17), (0.02, 0.07), (2, 7), (6, 12)),
    "loamy_sand": ((0.11, 0.19), (0.03, 0.10), (4, 8), (9, 14)),
    "sandy_loam": ((0.18, 0.28), (0.06, 0.16), (6, 10), (15, 20)),
    "loam": ((0.20, 0.30), (0.07, 0.17), (8, 10), (16, 22)),
    "silt_loam": ((0.22, 0.36), (0.09, 0.21), (8, 11), (18, 25)),
    "silt": ((0.28, 0.36), (0.12, 0.22), (8, 11), (22, 26)),
    "silty_clay_loam": ((0.30, 0.37), (0.17, 0.24), (8, 11), (22, 27)),
    "silty_clay": ((0.30, 0.42), (0.17, 0.29), (8, 12), (22, 28)),
    "clay": ((0.32, 0.40), (0.20, 0.24), (8, 12), (22, 29)),
}


@pytest.mark.parametrize("key", TABLE_19)
def test_textures_stand_in_the_middle_of_the_tables_ranges(key: str) -> None:
    texture, (capacity, wilting, readily, total) = TEXTURES[key], TABLE_19[key]
    assert texture.field_capacity_m3_m3 == pytest.approx(sum(capacity) / 2, abs=1e-9)
    assert texture.wilting_point_m3_m3 == pytest.approx(sum(wilting) / 2, abs=1e-9)
    assert texture.readily_evaporable_mm == pytest.approx(sum(readily) / 2, abs=0.5)
    evaporable = total_evaporable_water_mm(
        field_capacity_m3_m3=texture.field_capacity_m3_m3, wilting_point_m3_m3=texture.wilting_point_m3_m3
    )
    assert total[0] <= evaporable <= total[1]


@pytest.mark.parametrize("texture", TEXTURES.values(), ids=lambda texture: texture.key)
def test_each_texture_holds_together(texture) -> None:  # type: ignore[no-untyped-def]
    assert texture.wilting_point_m3_m3 < texture.field_capacity_m3_m3 < texture.saturation_m3_m3 < 0.55
    assert TEXTURES[texture.key] is texture
    assert texture.name == texture.key.replace("_", " ")
    assert texture.source
    assert 0 < texture.drainage_share_per_day <= 1
    assert texture.curve_number_fallow in (77, 86, 91, 94)


def test_lighter_textures_drain_faster() -> None:
    shares = [texture.drainage_share_per_day for texture in TEXTURES.values()]
    assert shares == sorted(shares, reverse=True)
    assert len(shares) == 11
