"""Water of a soil column in steps of any length: topsoil, subsoil and what lies deeper, bare or under a crop.

Layers are 0 to 0.15 m (tools and wheels), 0.15 to 0.40 m (the pan that a ripper shatters) and from there as deep as
the soil goes. Stores are mm beside field capacity, below it negative. In each step: a grower's correction; rain less
runoff, and watering, into the topsoil; evaporation and transpiration (fao56 ch. 7 and 8, dual coefficient);
drainage of what stands above field capacity, by the texture's share a day, from layer to layer and out.

Order of flows. In steps of a quarter day and more, half of the drainage comes before evaporation and half after, so
that days agree with hours; in shorter ones all of it comes after, where the order no longer matters.

Topsoil under a crop. The ground between the plants (few, fao56 eq. 75) and the ground they cover are two accounts;
only the first evaporates. The topsoil is their mean by area; `surface_mm` is the first, the account of eq. 77, which
lacks the water that roots take out too. As cover opens, newly bare ground brings its own water along.

Transpiration. Each layer gives Kcb ET0 a / max(A, (1 - p) TAW), where a is its water above wilting point within the
roots and A the sum: together that is Ks Kcb ET0 of eq. 84, and a layer that is wetter stays wetter. A step never takes
more than there is. p is set by the day's Kcb ET0 (note to table 22), if not told otherwise.

Runoff. The curve number method with the soil's own water in the place of the storm so far (michel2005, from memory):
the published curve of average ground holds half way between field capacity and what asce2016 calls dry; its number
goes from bare fallow to row crops as cover closes. Against the published classes, for storms of 25 to 100 mm on all
textures, 9 mm too much soak into wet ground (heavy soils: 3) and 11 mm too little into dry (heavy: 8).
The dry class's curve set at dry ground is exact there, but lets 22 mm (11) too much into wet. The average curve set at
dry ground does better on light soils at field capacity, but sheds most of a storm from clay, which then opens too
early. No curve meets both ends and still lets more rain leave no ground drier.

More rain or watering in any step never leaves any layer or the seed drier, then or later, corrections included.
"""

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from farmops.science.column_ground import (
    CORRECTION_HALF_LIFE_DAYS,
    MOST_CORRECTION_MM,
    ColumnGround,
    ColumnRecord,
)
from farmops.science.column_parts import (
    MOST_ET0_MM,
    SUBSOIL_M,
    TOPSOIL_M,
    ColumnRun,
    ColumnSoils,
    ColumnState,
    Correction,
    CropDays,
    at_field_capacity,
    bare_days,
    column_soils,
    side_by_side,
)
from farmops.science.ranges import Array, OutOfRange, not_above, within

__all__ = [
    "CORRECTION_HALF_LIFE_DAYS",
    "MOST_CORRECTION_MM",
    "SUBSOIL_M",
    "TOPSOIL_M",
    "ColumnRun",
    "ColumnSoils",
    "ColumnState",
    "Correction",
    "CropDays",
    "at_field_capacity",
    "bare_days",
    "column_soils",
    "daylight_shares",
    "run_column",
    "side_by_side",
]

COARSE_STEP_DAYS = 0.25
"""From this length on, drainage comes half before and half after evaporation."""


def daylight_shares(*, clock_h: Array, hours_long: Array, sunrise_h: Array, sunset_h: Array) -> Array:
    """Return the share of its day's reference evapotranspiration that falls in each hour: a half sine by daylight.

    All arrays are by hour: its start on the clock, its length in hours, and its day's sunrise and sunset.
    """
    span = sunset_h - sunrise_h
    start = np.clip((clock_h - sunrise_h) / span, 0.0, 1.0)
    end = np.clip((clock_h + hours_long - sunrise_h) / span, 0.0, 1.0)
    share: Array = (np.cos(np.pi * start) - np.cos(np.pi * end)) / 2
    return share


def run_column(
    *,
    soils: ColumnSoils,
    start: ColumnState,
    day_index: npt.NDArray[np.int64],
    share_of_day: Array,
    daylight_share: Array,
    rain_mm: Array,
    et0_mm: Array,
    kc_max: Array,
    crop: CropDays,
    watering_mm: Array | None = None,
    corrections: Sequence[Correction] = (),
    is_fraction_adjusted: bool = True,
    keep_flows: bool = False,
    compact: bool = False,
) -> ColumnRun:
    """Run the balance over steps; see the module for what a step does.

    `day_index` (steps,) points into the arrays by day; `share_of_day` (steps,) is a step's length as a share of 24 h,
    `daylight_share` (steps,) its share of the day's evapotranspiration. Rain is (steps, 1 or columns, 1 or members),
    watering (steps, 1 or columns) on all of the ground, reference evapotranspiration (days, 1 or columns, 1 or
    members), `kc_max` (days, 1 or columns, see `crop_water.kc_max`); missing last axes count as 1.
    `is_fraction_adjusted` false keeps the crop's depletion fraction as it is; `compact` gives back water in single precision.

    Valid: rain 0 to 2000 mm and watering 0 to 500 mm a step, evapotranspiration 0 to 30 mm a day, kc_max 0 to 2,
    length 0 to 1.1 days, basal coefficient 0 to 1.5, cover 0 to 1, roots down to the soil's depth, depletion fraction
    0 to 0.99, corrections between half the wilting point and saturation; else OutOfRange.
    """
    steps, days = len(day_index), len(np.atleast_1d(kc_max))
    columns = soils.columns
    rain = _table("rain_mm", within("rain_mm", rain_mm, 0, 2000), steps, columns)
    et0 = _table("et0_mm", within("et0_mm", et0_mm, 0, MOST_ET0_MM), days, columns)
    most = _table("kc_max", within("kc_max", kc_max, 0, 2), days, columns)
    watered = None
    if watering_mm is not None:
        watered = _table("watering_mm", within("watering_mm", watering_mm, 0, 500), steps, columns)
    length = np.broadcast_to(within("share_of_day", share_of_day, 0, 1.1), (steps,))
    light = np.broadcast_to(within("daylight_share", daylight_share, 0, 1), (steps,))
    if steps and not 0 <= day_index.min() <= day_index.max() < days:
        outside = day_index.min() if day_index.min() < 0 else day_index.max()
        raise OutOfRange("day_index", int(outside), f"0 to {days - 1}")
    shape = np.broadcast_shapes(
        np.shape(start.topsoil_mm), (columns, 1), rain.shape[1:], et0.shape[1:], most.shape[1:]
    )
    remarks = _by_step(corrections, soils, steps)
    ground = ColumnGround(
        soils, start, shape, _crop_tables(crop, soils, days), et0, most, is_fraction_adjusted
    )
    record = ColumnRecord(steps, shape, keep_flows, np.float32 if compact else np.float64, ground.has_crop)

    rains = [bool(table.any()) for table in rain]
    waters = [False] * steps if watered is None else [bool(table.any()) for table in watered]
    today = -1
    for step in range(steps):
        flows = record.flows_of(step)
        if day_index[step] != today:
            today = int(day_index[step])
            ground.open_day(today)
        if ground.has_credit:
            ground.fade(flows, length[step])
        for remark in remarks.get(step, ()):
            ground.correct(flows, remark)
        if rains[step]:
            ground.take_rain(flows, rain[step])
        if watered is not None and waters[step]:
            ground.take_watering(watered[step])
        is_coarse = length[step] >= COARSE_STEP_DAYS
        if is_coarse:
            ground.drain(flows, length[step] / 2)
        if light[step] > 0:
            ground.dry(flows, light[step])
        ground.drain(flows, length[step] / 2 if is_coarse else length[step])
        record.keep(step, ground)
    return record.finished(soils, ground)


def _table(name: str, values: Array, length: int, columns: int) -> Array:
    """Return values by step or day as (length, 1 or columns, members)."""
    table = np.atleast_1d(values)
    while table.ndim < 3:
        table = table[..., np.newaxis]
    given, across, members = table.shape
    if given not in (1, length) or across not in (1, columns):
        raise OutOfRange(f"shape of {name}", str(values.shape), f"{length} by 1 or {columns} columns")
    return np.broadcast_to(table, (length, across, members))


def _crop_tables(crop: CropDays, soils: ColumnSoils, days: int) -> dict[str, Array] | None:
    """Return the crop by day as (days, columns, 1), checked; None where no column has any."""
    bounds = {
        "basal_coefficient": (0, 1.5),
        "cover_share": (0, 1),
        "root_depth_m": (0, 5),
        "depletion_fraction": (0, 0.99),
    }
    tables = {
        name: np.broadcast_to(
            _table(name, within(name, getattr(crop, name), low, high), days, soils.columns),
            (days, soils.columns, 1),
        )
        for name, (low, high) in bounds.items()
    }
    not_above("root_depth_m", tables["root_depth_m"], "deep_to_m", soils.deep_to_m[np.newaxis])
    if not any(tables[name].any() for name in ("basal_coefficient", "cover_share", "root_depth_m")):
        return None
    return tables


def _by_step(
    corrections: Sequence[Correction], soils: ColumnSoils, steps: int
) -> Mapping[int, Sequence[Correction]]:
    found: dict[int, list[Correction]] = {}
    for remark in corrections:
        if not 0 <= remark.step < steps:
            raise OutOfRange("step of a correction", remark.step, f"0 to {steps - 1}")
        if not 0 <= remark.column < soils.columns:
            raise OutOfRange("column of a correction", remark.column, f"0 to {soils.columns - 1}")
        driest = 0.5 * float(soils.wilting_point_m3_m3[remark.column, 0])
        wettest = float(soils.saturation_m3_m3[remark.column, 0])
        low = driest if remark.at_least_m3_m3 is None else remark.at_least_m3_m3
        high = wettest if remark.at_most_m3_m3 is None else remark.at_most_m3_m3
        within("at_least_m3_m3", low, driest, wettest)
        within("at_most_m3_m3", high, low, wettest)
        found.setdefault(remark.step, []).append(remark)
    return found
