"""What the water balance needs of each soil texture, one row each, with where its numbers come from.

Field capacity, wilting point and readily evaporable water are the middles of the ranges of fao56 table 19, from
memory; that table has no sandy clay loam and no clay loam, whose first two are the class means of rawls1982, from
memory, with readily evaporable water between their neighbors'. Saturation is the total porosity of rawls1982, from
memory (silt: carsel1988). The curve number is that of bare fallow by hydrologic group (77, 86, 91, 94 for A to D,
neh630), the group by texture as in appendix A of tr55, both from memory; silt, not named there, goes with silt loam.
The drainage share is farm judgement: what a day takes of the water above field capacity, so that nine tenths are
gone in about a day from sands, two days from sandy loams, four from clay loams and eight from clays.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True)
class Texture:
    """One soil texture: water contents in m³/m³, readily evaporable water in mm, drainage as a share a day."""

    key: str
    name: str
    field_capacity_m3_m3: float
    wilting_point_m3_m3: float
    saturation_m3_m3: float
    readily_evaporable_mm: float
    curve_number_fallow: float
    drainage_share_per_day: float
    source: str


_TABLE_19 = "fao56 table 19, middle of range, from memory"
_CLASS_MEANS = "rawls1982 class means, from memory"

# key, name, field capacity, wilting point, saturation, readily evaporable, curve number, drainage a day, source
_ROWS = (
    ("sand", "sand", 0.12, 0.045, 0.437, 4.5, 77, 0.95, _TABLE_19),
    ("loamy_sand", "loamy sand", 0.15, 0.065, 0.437, 6.0, 77, 0.90, _TABLE_19),
    ("sandy_loam", "sandy loam", 0.23, 0.11, 0.453, 8.0, 77, 0.75, _TABLE_19),
    ("loam", "loam", 0.25, 0.12, 0.463, 9.0, 86, 0.60, _TABLE_19),
    ("silt_loam", "silt loam", 0.29, 0.15, 0.501, 9.5, 86, 0.50, _TABLE_19),
    ("silt", "silt", 0.32, 0.17, 0.46, 9.5, 86, 0.50, _TABLE_19),
    ("sandy_clay_loam", "sandy clay loam", 0.255, 0.148, 0.398, 9.0, 91, 0.50, _CLASS_MEANS),
    ("clay_loam", "clay loam", 0.318, 0.197, 0.464, 9.5, 94, 0.40, _CLASS_MEANS),
    ("silty_clay_loam", "silty clay loam", 0.335, 0.205, 0.471, 9.5, 94, 0.35, _TABLE_19),
    ("silty_clay", "silty clay", 0.36, 0.23, 0.479, 10.0, 94, 0.30, _TABLE_19),
    ("clay", "clay", 0.36, 0.22, 0.475, 10.0, 94, 0.25, _TABLE_19),
)

TEXTURES: Mapping[str, Texture] = MappingProxyType({row[0]: Texture(*row) for row in _ROWS})
"""The textures by key, from light to heavy."""
