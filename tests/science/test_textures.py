"""Tables of soil water by texture: FAO-56 table 19 and the class means of Rawls and others 1982, all from memory."""

import pytest

from farmops.science.crop_water import total_evaporable_water_mm
from farmops.science.textures import TEXTURES

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

# Rawls, Brakensiek and Saxton 1982: total porosity, water at 33 kPa and at 1500 kPa (m3/m3)
RAWLS_1982 = {
    "sand": (0.437, 0.091, 0.033),
    "loamy_sand": (0.437, 0.125, 0.055),
    "sandy_loam": (0.453, 0.207, 0.095),
    "loam": (0.463, 0.270, 0.117),
    "silt_loam": (0.501, 0.330, 0.133),
    "sandy_clay_loam": (0.398, 0.255, 0.148),
    "clay_loam": (0.464, 0.318, 0.197),
    "silty_clay_loam": (0.471, 0.366, 0.208),
    "silty_clay": (0.479, 0.387, 0.250),
    "clay": (0.475, 0.396, 0.272),
}


@pytest.mark.parametrize("key", RAWLS_1982)
def test_saturation_is_the_class_mean_and_both_tables_are_near_each_other(key: str) -> None:
    texture, (porosity, at_33_kpa, at_1500_kpa) = TEXTURES[key], RAWLS_1982[key]
    assert texture.saturation_m3_m3 == porosity
    near = 0.06 if key in TABLE_19 else 0.0
    assert texture.field_capacity_m3_m3 == pytest.approx(at_33_kpa, abs=near)
    assert texture.wilting_point_m3_m3 == pytest.approx(at_1500_kpa, abs=near)


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
