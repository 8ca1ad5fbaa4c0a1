"""Water in the root zone and at the soil surface: the equations of fao56 chapters 7 (dual coefficient) and 8 (stress).

Depletion is millimeters below field capacity.
"""

from dataclasses import dataclass

import numpy as np

from farmops.science.ranges import Array, Computed, Values, above, at_least, not_above, plain, within

NO_HEIGHT_M = 0.0


def total_available_water_mm(
    *, field_capacity_m3_m3: Values, wilting_point_m3_m3: Values, root_depth_m: Values
) -> Computed:
    """Return the water that roots can reach, mm. fao56 eq. 82. Valid: 0 < wilting point <= field capacity < 1."""
    field_capacity, wilting_point = _soil(field_capacity_m3_m3, wilting_point_m3_m3)
    return plain(1000 * (field_capacity - wilting_point) * at_least("root_depth_m", root_depth_m, 0))


def readily_available_water_mm(*, total_available_mm: Values, depletion_fraction: Values) -> Computed:
    """Return the part of it that a crop takes up without stress, mm. fao56 eq. 83. Valid: fraction 0 to 1."""
    total = at_least("total_available_mm", total_available_mm, 0)
    return plain(within("depletion_fraction", depletion_fraction, 0, 1) * total)


def adjusted_depletion_fraction(*, table_fraction: Values, crop_et_mm_d: Values) -> Computed:
    """Return the fraction that may be depleted at another crop evapotranspiration than 5 mm/d. fao56, note to table 22.

    Limited to 0.1 to 0.8, as the note says. Valid: table fraction 0.1 to 0.8, 0 to 20 mm/d, else OutOfRange.
    """
    fraction = within("table_fraction", table_fraction, 0.1, 0.8)
    return plain(np.clip(fraction + 0.04 * (5 - within("crop_et_mm_d", crop_et_mm_d, 0, 20)), 0.1, 0.8))


def stress_coefficient(
    *, depletion_mm: Values, total_available_mm: Values, depletion_fraction: Values
) -> Computed:
    """Return by what factor dry soil lowers transpiration, 1 to 0. fao56 eq. 84.

    1 up to the readily available water. Valid: depletion from 0 to the total available water, that above 0, fraction
    0 up to (not with) 1, else OutOfRange.
    """
    total = above("total_available_mm", total_available_mm, 0)
    depletion = at_least("depletion_mm", depletion_mm, 0)
    not_above("depletion_mm", depletion, "total_available_mm", total)
    fraction = within("depletion_fraction", depletion_fraction, 0, 0.999)
    return plain(np.minimum((total - depletion) / ((1 - fraction) * total), 1.0))


def total_evaporable_water_mm(
    *, field_capacity_m3_m3: Values, wilting_point_m3_m3: Values, depth_evap_m: Values = 0.10
) -> Computed:
    """Return the water that evaporation can take from the surface layer, mm. fao56 eq. 73.

    The layer is 0.10 to 0.15 m deep. Valid: depth above 0 up to 0.3 m, 0 < wilting point <= field capacity < 1.
    """
    field_capacity, wilting_point = _soil(field_capacity_m3_m3, wilting_point_m3_m3)
    depth = within("depth_evap_m", above("depth_evap_m", depth_evap_m, 0), 0, 0.3)
    return plain(1000 * (field_capacity - 0.5 * wilting_point) * depth)


def evaporation_reduction(
    *, depletion_mm: Values, total_evaporable_mm: Values, readily_evaporable_mm: Values
) -> Computed:
    """Return by what factor a drying surface lowers evaporation, 1 to 0. fao56 eq. 74.

    1 up to the readily evaporable water. Valid: depletion 0 up to the total evaporable water (a billionth of a
    millimeter beyond for rounding), readily evaporable water below it, else OutOfRange.
    """
    total, readily = _evaporable(total_evaporable_mm, readily_evaporable_mm)
    depletion = at_least("depletion_mm", depletion_mm, 0)
    not_above("depletion_mm", depletion, "total_evaporable_mm", total + 1e-9)
    return plain(np.clip((total - depletion) / (total - readily), 0.0, 1.0))


def kc_max(
    *,
    wind_2m_m_s: Values,
    humidity_min_pct: Values,
    height_m: Values = NO_HEIGHT_M,
    basal_coefficient: Values = 0.0,
) -> Computed:
    """Return the most that a wet surface evaporates, as a multiple of reference evapotranspiration. fao56 eq. 72.

    Valid, as with eq. 62 and 70, for wind of 1 to 6 m/s and lowest humidity of 20 to 80 %; height 0 to 10 m,
    coefficient 0 to 1.5; else OutOfRange.
    """
    wind = within("wind_2m_m_s", wind_2m_m_s, 1, 6)
    humidity = within("humidity_min_pct", humidity_min_pct, 20, 80)
    height = within("height_m", height_m, 0, 10)
    climate = (0.04 * (wind - 2) - 0.004 * (humidity - 45)) * (height / 3) ** 0.3
    return plain(np.maximum(1.2 + climate, within("basal_coefficient", basal_coefficient, 0, 1.5) + 0.05))


def evaporation_coefficient(
    *, reduction: Values, kc_max: Values, basal_coefficient: Values, exposed_wetted_share: Values
) -> Computed:
    """Return the coefficient of evaporation from bare soil between plants. fao56 eq. 71.

    Valid: reduction 0 to 1, upper limit 0 to 2, basal coefficient 0 up to it, share above 0 up to 1, else OutOfRange.
    """
    most, basal = within("kc_max", kc_max, 0, 2), at_least("basal_coefficient", basal_coefficient, 0)
    not_above("basal_coefficient", basal, "kc_max", most)
    share = within("exposed_wetted_share", above("exposed_wetted_share", exposed_wetted_share, 0), 0, 1)
    return plain(np.minimum(within("reduction", reduction, 0, 1) * (most - basal), share * most))


def exposed_wetted_share(*, cover_share: Values, wetted_share: Values) -> Computed:
    """Return the share of the ground that is both bare and wetted. fao56 eq. 75.

    FAO-56 keeps it at 0.01 or more. Valid: both shares 0 to 1, else OutOfRange.
    """
    bare = 1 - within("cover_share", cover_share, 0, 1)
    return plain(np.maximum(np.minimum(bare, within("wetted_share", wetted_share, 0, 1)), 0.01))


@dataclass(frozen=True)
class SurfaceDay:
    """A day at the soil surface: factors, and millimeters over the whole ground or over its exposed wetted share."""

    depletion_start_mm: Computed
    reduction: Computed
    evaporation_coefficient: Computed
    evaporation_mm: Computed
    evaporation_exposed_mm: Computed
    percolation_mm: Computed
    depletion_end_mm: Computed
    crop_coefficient: Computed
    crop_et_mm: Computed


def dual_crop_topsoil_day(
    *,
    depletion_mm: Values,
    et0_mm: Values,
    rain_mm: Values,
    irrigation_wetted_mm: Values,
    basal_coefficient: Values,
    kc_max: Values,
    exposed_wetted_share: Values,
    total_evaporable_mm: Values,
    readily_evaporable_mm: Values,
) -> SurfaceDay:
    """Return one day of the surface layer under a crop that is not short of water. fao56 eq. 71, 74, 77, 79.

    Rain (less runoff) and irrigation land at the day's start; `irrigation_wetted_mm` is the depth over the wetted
    share. Transpiration from the surface layer is left out, as in example 35. Valid: amounts of 0 or more,
    depletion up to the total evaporable water, coefficients as in the functions above, else OutOfRange.
    """
    total, readily = _evaporable(total_evaporable_mm, readily_evaporable_mm)
    start = at_least("depletion_mm", depletion_mm, 0)
    not_above("depletion_mm", start, "total_evaporable_mm", total + 1e-9)
    water = at_least("rain_mm", rain_mm, 0) + at_least("irrigation_wetted_mm", irrigation_wetted_mm, 0)
    wetted = np.maximum(start - water, 0.0)
    reduction = evaporation_reduction(
        depletion_mm=wetted, total_evaporable_mm=total, readily_evaporable_mm=readily
    )
    coefficient = evaporation_coefficient(
        reduction=reduction,
        kc_max=kc_max,
        basal_coefficient=basal_coefficient,
        exposed_wetted_share=exposed_wetted_share,
    )
    et0 = at_least("et0_mm", et0_mm, 0)
    exposed = np.minimum(coefficient * et0 / exposed_wetted_share, total - wetted)
    evaporation = exposed * exposed_wetted_share
    return SurfaceDay(
        depletion_start_mm=plain(wetted),
        reduction=reduction,
        evaporation_coefficient=coefficient,
        evaporation_mm=plain(evaporation),
        evaporation_exposed_mm=plain(exposed),
        percolation_mm=plain(np.maximum(water - start, 0.0)),
        depletion_end_mm=plain(wetted + exposed),
        crop_coefficient=plain(basal_coefficient + np.asarray(coefficient)),
        crop_et_mm=plain(basal_coefficient * et0 + evaporation),
    )


@dataclass(frozen=True)
class RootZoneDay:
    """A day in the root zone: the stress factor at its start, and millimeters."""

    stress: Computed
    crop_et_mm: Computed
    percolation_mm: Computed
    depletion_end_mm: Computed


def root_zone_day(
    *,
    depletion_mm: Values,
    water_in_mm: Values,
    crop_et_mm_d: Values,
    total_available_mm: Values,
    depletion_fraction: Values,
) -> RootZoneDay:
    """Return one day of the root zone's balance. fao56 eq. 84, 85 and 88.

    The stress factor follows from the depletion at the day's start, as in example 37; `water_in_mm` is rain less
    runoff, plus irrigation. Valid: amounts of 0 or more, depletion up to the total available water, else OutOfRange.
    """
    total = above("total_available_mm", total_available_mm, 0)
    start = at_least("depletion_mm", depletion_mm, 0)
    stress = stress_coefficient(
        depletion_mm=start, total_available_mm=total, depletion_fraction=depletion_fraction
    )
    water = at_least("water_in_mm", water_in_mm, 0)
    taken = stress * at_least("crop_et_mm_d", crop_et_mm_d, 0)
    percolation = np.maximum(water - taken - start, 0.0)
    left = np.clip(start - water + taken, 0.0, total)
    return RootZoneDay(
        stress=stress,
        crop_et_mm=plain(left - start + water - percolation),
        percolation_mm=plain(percolation),
        depletion_end_mm=plain(left),
    )


def _soil(field_capacity_m3_m3: Values, wilting_point_m3_m3: Values) -> tuple[Array, Array]:
    field_capacity = within("field_capacity_m3_m3", field_capacity_m3_m3, 0.01, 0.99)
    wilting_point = within("wilting_point_m3_m3", wilting_point_m3_m3, 0.001, 0.99)
    not_above("wilting_point_m3_m3", wilting_point, "field_capacity_m3_m3", field_capacity)
    return field_capacity, wilting_point


def _evaporable(total_evaporable_mm: Values, readily_evaporable_mm: Values) -> tuple[Array, Array]:
    total = above("total_evaporable_mm", total_evaporable_mm, 0)
    readily = at_least("readily_evaporable_mm", readily_evaporable_mm, 0)
    not_above(
        "readily_evaporable_mm", readily, "a tenth of a millimeter less than total_evaporable_mm", total - 0.1
    )
    return total, readily
