"""The parts of a run of soil columns: their soils, the state they stand in, their crops, remarks, and what comes out."""

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
import numpy.typing as npt

from farmops.science.crop_water import total_evaporable_water_mm
from farmops.science.ranges import Array, OutOfRange, Values, not_above, within
from farmops.science.textures import Texture

TOPSOIL_M = 0.15
SUBSOIL_M = 0.25
"""Thickness of the layer below the topsoil, down to 0.40 m: where a ripper has to shatter the pan."""
LEAST_DEEP_TO_M = 0.60
EVAPORATION_DEPTH_M = 0.10
MOST_ET0_MM = 30.0
"""Of reference evapotranspiration, what a day may ask of the balance: no place on record comes near (from memory)."""
DRY_READILY_SHARE, DRY_TOTAL_SHARE = 0.7, 0.3
"""Ground is dry for the curve number at a depletion of 0.7 REW + 0.3 TEW: asce2016 eq. 14-19."""
AVERAGE_SHARE = 0.5
"""Of that depletion, where ground is average for the curve number: half way to field capacity."""
FALLOW_NUMBERS, ROW_CROP_NUMBERS = (77, 86, 91, 94), (67, 78, 85, 89)
"""Curve numbers of hydrologic groups A to D, bare fallow and under row crops in straight rows: neh630, from memory."""
INITIAL_SHARE = 0.2
"""Of the retention, what is taken up before runoff begins (neh630)."""


@dataclass(frozen=True)
class ColumnSoils:
    """What the balance needs of each column's soil, arrays (columns, 1); from `column_soils`."""

    field_capacity_m3_m3: Array
    wilting_point_m3_m3: Array
    saturation_m3_m3: Array
    deep_to_m: Array
    evaporable_mm: Array
    readily_evaporable_mm: Array
    curve_number_fallow: Array
    curve_number_row_crop: Array
    drainage_share_per_day: Array

    @property
    def columns(self) -> int:
        """Return how many columns there are."""
        return len(self.field_capacity_m3_m3)

    @property
    def thickness_m(self) -> tuple[float, float, Array]:
        """Return how thick topsoil, subsoil and deep layer are, m."""
        return TOPSOIL_M, SUBSOIL_M, self.deep_to_m - (TOPSOIL_M + SUBSOIL_M)


@dataclass(frozen=True)
class ColumnState:
    """Where a run stands, arrays (columns, members): stores in mm, and what of the ground lies open or is rooted.

    `surface_mm` is the topsoil between the plants, which are `exposed_share` of the ground; `rooted_mm` the part of
    `deep_mm` that lies in the share of that layer which roots reach. `credit_mm` is what is left of corrections: water
    put in by a remark, or (negative) taken out. From `at_field_capacity`, or the end of a run.
    """

    topsoil_mm: Array
    surface_mm: Array
    subsoil_mm: Array
    deep_mm: Array
    credit_mm: Array
    rooted_mm: Array
    exposed_share: Array
    rooted_share: Array


@dataclass(frozen=True)
class CropDays:
    """A crop by day, arrays (days, columns), or (days,) for one column; a day without one has zeros (fraction 0.5)."""

    basal_coefficient: Array
    cover_share: Array
    height_m: Array
    root_depth_m: Array
    depletion_fraction: Array


@dataclass(frozen=True)
class Correction:
    """A grower's remark: at the start of `step`, the topsoil of `column` is brought within these bounds.

    It moves by 15 mm at most. While it fades (half in four days), what of it still stands above field capacity, or
    lacks below, is given back; nothing is carried across field capacity.
    """

    step: int
    column: int
    at_least_m3_m3: float | None = None
    at_most_m3_m3: float | None = None


@dataclass(frozen=True)
class ColumnRun:
    """Water at the end of each step (steps, columns, members), the flows, and the state to go on from.

    Flows are (steps, columns, members) where asked for, else summed, (columns, members). `seed_m3_m3` is the water of
    the top 0.10 m between the plants. `rootzone_depletion_mm` counts over the day's root depth, 0.15 m without roots.
    rain + watering + correction - runoff - evaporation - transpiration - drainage = change of all stores.
    """

    topsoil_m3_m3: npt.NDArray[np.floating]
    subsoil_m3_m3: npt.NDArray[np.floating]
    seed_m3_m3: npt.NDArray[np.floating]
    rootzone_depletion_mm: npt.NDArray[np.floating]
    runoff_mm: Array
    evaporation_mm: Array
    transpiration_mm: Array
    drainage_mm: Array
    correction_mm: Array
    end: ColumnState


def column_soils(textures: Sequence[Texture], deep_to_m: Values = 1.0) -> ColumnSoils:
    """Return the soils of columns, one for each of `textures`, each as deep as `deep_to_m` says (0.60 to 5 m)."""
    if not textures:
        raise OutOfRange("textures", 0, "at least one texture")
    rows = [
        (
            texture.field_capacity_m3_m3,
            texture.wilting_point_m3_m3,
            texture.saturation_m3_m3,
            texture.readily_evaporable_mm,
            texture.curve_number_fallow,
            texture.drainage_share_per_day,
        )
        for texture in textures
    ]
    capacity, wilting, saturation, readily, number, drainage = np.array(rows).T[:, :, np.newaxis]
    deep = np.reshape(within("deep_to_m", deep_to_m, LEAST_DEEP_TO_M, 5.0), (-1, 1))
    evaporable = np.asarray(
        total_evaporable_water_mm(
            field_capacity_m3_m3=capacity, wilting_point_m3_m3=wilting, depth_evap_m=EVAPORATION_DEPTH_M
        )
    )
    not_above("readily_evaporable_mm", readily, "total_evaporable_mm", evaporable - 0.1)
    return ColumnSoils(
        field_capacity_m3_m3=capacity,
        wilting_point_m3_m3=wilting,
        saturation_m3_m3=saturation,
        deep_to_m=np.broadcast_to(deep, capacity.shape).copy(),
        evaporable_mm=evaporable,
        readily_evaporable_mm=readily,
        curve_number_fallow=number,
        curve_number_row_crop=np.minimum(np.interp(number, FALLOW_NUMBERS, ROW_CROP_NUMBERS), number),
        drainage_share_per_day=drainage,
    )


def at_field_capacity(*, soils: ColumnSoils, members: int) -> ColumnState:
    """Return bare ground that has drained and not dried: the start of a run without history."""
    shape = (soils.columns, members)
    none = {item.name: np.zeros(shape) for item in fields(ColumnState)}
    return ColumnState(**none | {"exposed_share": np.ones(shape)})


def bare_days(*, days: int, columns: int) -> CropDays:
    """Return days without a crop."""
    none = np.zeros((days, columns))
    return CropDays(none, none, none, none, np.full((days, columns), 0.5))


def side_by_side(crops: Sequence[CropDays]) -> CropDays:
    """Return the crops of single columns (days,) as those of columns (days, columns)."""
    return CropDays(
        **{
            item.name: np.stack([getattr(crop, item.name) for crop in crops], axis=1)
            for item in fields(CropDays)
        }
    )
