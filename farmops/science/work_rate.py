"""What an outfit gets done in an hour, what it pulls and what it burns (isu_a324, asae_d497)."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from farmops.science.ranges import Array, Computed, OutOfRange, Values, above, plain, within
from farmops.science.units import FEET_PER_MILE, SQUARE_FEET_PER_ACRE

DIESEL_GAL_PER_PTO_HP_H = 0.044
"""The year's average, 0.73 × 0.06: machinery cost equations of extension services."""
SOILS = ("fine", "medium", "coarse")


@dataclass(frozen=True)
class DraftRow:
    """One implement of asae_d497, all from memory: factor by SOILS, A, B, C; per meter or per tool; depth counts or not."""

    soil_factors: tuple[float, float, float]
    a: float
    b: float
    c: float
    is_per_tool: bool
    is_by_depth: bool = True


_DISKS, _SHANKS, _TINES, _NONE = (1.0, 0.88, 0.78), (1.0, 0.70, 0.45), (1.0, 0.85, 0.65), (1.0, 1.0, 1.0)
DRAFT: Mapping[str, DraftRow] = MappingProxyType(
    {
        "tandem_disk_primary": DraftRow(_DISKS, 309, 16.0, 0, is_per_tool=False),
        "tandem_disk_secondary": DraftRow(_DISKS, 216, 11.2, 0, is_per_tool=False),
        "subsoiler_narrow": DraftRow(_SHANKS, 226, 0, 1.8, is_per_tool=True),
        "subsoiler_winged": DraftRow(_SHANKS, 294, 0, 2.4, is_per_tool=True),
        "moldboard_plow": DraftRow(_SHANKS, 652, 0, 5.1, is_per_tool=False),
        "chisel_plow": DraftRow(_TINES, 91, 5.4, 0, is_per_tool=True),
        "disk_bedder": DraftRow(_DISKS, 185, 9.5, 0, is_per_tool=True),
        "row_planter": DraftRow(_NONE, 900, 0, 0, is_per_tool=True, is_by_depth=False),
    }
)


def work_rate_ac_per_h(*, width_ft: Values, speed_mph: Values, efficiency_pct: Values) -> Computed:
    """Return acres an hour: width × speed × efficiency / 8.25. isu_a324.

    Valid: width above 0 up to 300 ft, speed above 0 up to 30 mph, efficiency above 0 up to 100 %, else OutOfRange.
    """
    width = _up_to("width_ft", width_ft, 300)
    speed = _up_to("speed_mph", speed_mph, 30)
    efficiency = _up_to("efficiency_pct", efficiency_pct, 100)
    return plain(width * speed * efficiency / 100 * FEET_PER_MILE / SQUARE_FEET_PER_ACRE)


def fuel_gal_per_h(*, pto_hp: Values) -> Computed:
    """Return the year's average of diesel burned by a tractor, gal/h: 0.044 for each horsepower at the PTO. isu_a329.

    Valid: above 0 up to 1500 hp, else OutOfRange.
    """
    return plain(DIESEL_GAL_PER_PTO_HP_H * _up_to("pto_hp", pto_hp, 1500))


def specific_fuel_l_per_kwh(*, load_share: Values) -> Computed:
    """Return diesel burned for each kWh at the PTO by a partly loaded tractor, L. asae_d497 of 2003, from memory.

    The later edition gives a fifth to a third less; tables of field use (g1208) agree with this one within a fifth.
    Valid: share of the PTO power 0.1 to 1, else OutOfRange.
    """
    share = within("load_share", load_share, 0.1, 1)
    return plain(2.64 * share + 3.91 - 0.203 * np.sqrt(738 * share + 173))


def draft_n(
    *, implement: str, soil: str, speed_km_h: Values, size: Values, depth_cm: Values = 1.0
) -> Computed:
    """Return the pull that an implement needs, N: factor × (A + B speed + C speed²) × size × depth. asae_d497.

    `implement` is a key of DRAFT, `soil` one of SOILS; `size` is meters of width or, for shanks and rows, their
    number; depth counts for tillage only. The parameters are from memory and the standard itself allows 20 to 50 %.
    Valid: speed 1 to 20 km/h, size above 0 up to 60, depth above 0 up to 60 cm, else OutOfRange.
    """
    row = _row_of(implement)
    if soil not in SOILS:
        raise OutOfRange("soil", soil, " or ".join(SOILS))
    speed = within("speed_km_h", speed_km_h, 1, 20)
    depth = _up_to("depth_cm", depth_cm, 60) if row.is_by_depth else np.asarray(1.0)
    factor = row.soil_factors[SOILS.index(soil)]
    return plain(factor * (row.a + row.b * speed + row.c * speed**2) * _up_to("size", size, 60) * depth)


def drawbar_kw(*, draft_n: Values, speed_km_h: Values) -> Computed:
    """Return the power at the drawbar, kW: force × speed. Valid: force above 0 up to 1 MN, speed 1 to 20 km/h."""
    return plain(_up_to("draft_n", draft_n, 1e6) * within("speed_km_h", speed_km_h, 1, 20) / 3600)


def _row_of(implement: str) -> DraftRow:
    if implement not in DRAFT:
        raise OutOfRange("implement", implement, ", ".join(DRAFT))
    return DRAFT[implement]


def _up_to(name: str, value: Values, high: float) -> Array:
    return within(name, above(name, value, 0), 0, high)
