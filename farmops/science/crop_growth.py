"""A crop's cover, height, roots and coefficients day by day: fao56 chapters 6 and 7."""

import numpy as np
import numpy.typing as npt

from farmops.science.column_parts import CropDays
from farmops.science.crop_water import kc_max
from farmops.science.crops import DD60, CropWater
from farmops.science.ranges import Array, Computed, OutOfRange, Values, plain, within

STAGES = ("bare", "young", "growing", "full cover", "ripening", "done")
STANDARD_WIND_M_S, STANDARD_HUMIDITY_PCT = 2.0, 45.0
"""The climate for which the tables of fao56 hold."""
ADJUSTED_FROM = 0.45
"""A coefficient at the end of the season is adjusted to climate only from here on (eq. 62, 65 and 70)."""
BARE_BASAL = 0.15
"""Least basal coefficient of dry bare soil: fao56 eq. 76 gives 0.15 to 0.20."""
MOST_COVER_SHARE = 0.99
GROUND_HEIGHT_M = 0.10
"""Height of clods and stubble for fao56 eq. 72: farm judgement; the wind's part in evaporation hangs on it."""
BARE_FRACTION = 0.5


def climate_adjusted_coefficient(
    *, table_coefficient: Values, wind_2m_m_s: Values, humidity_min_pct: Values, height_m: Values
) -> Computed:
    """Return a table's crop coefficient in another climate. fao56 eq. 62 (Kc mid), 65 (Kc end) and 70 (basal).

    The equations hold for wind of 1 to 6 m/s and lowest humidity of 20 to 80 %; the book uses those bounds beyond.
    Valid: coefficient 0 to 1.5, wind 0 to 100 m/s, humidity 0 to 100 %, height 0 to 10 m, else OutOfRange.
    """
    table = within("table_coefficient", table_coefficient, 0, 1.5)
    wind, humidity = _within_bounds(wind_2m_m_s, humidity_min_pct)
    climate = 0.04 * (wind - STANDARD_WIND_M_S) - 0.004 * (humidity - STANDARD_HUMIDITY_PCT)
    return plain(np.maximum(table + climate * (within("height_m", height_m, 0, 10) / 3) ** 0.3, 0.0))


def ground_cover_share(*, basal_coefficient: Values, kc_max: Values, height_m: Values) -> Computed:
    """Return the share of the ground that a crop covers, 0 to 0.99. fao56 eq. 76.

    Valid: coefficients 0 to 2, upper limit above that of bare soil (0.15), height 0 to 10 m, else OutOfRange.
    """
    most = within("kc_max", kc_max, BARE_BASAL + 0.01, 2)
    above_bare = np.maximum(within("basal_coefficient", basal_coefficient, 0, 2) - BARE_BASAL, 0.0)
    share = (above_bare / (most - BARE_BASAL)) ** (1 + 0.5 * within("height_m", height_m, 0, 10))
    return plain(np.clip(share, 0.0, MOST_COVER_SHARE))


def kc_max_by_day(*, crop: CropDays, humidity_min_pct: Values, wind_2m_m_s: Values) -> Array:
    """Return the most that a wet surface evaporates, days × columns as the crop's. fao56 eq. 72.

    Weather is by day (days,) or like the crop's arrays; wind and humidity count within the equation's bounds. Bare
    ground is as high as its clods.
    """
    wind, humidity = _within_bounds(wind_2m_m_s, humidity_min_pct)
    if crop.height_m.ndim == 2:
        wind, humidity = (
            by_day[:, np.newaxis] if by_day.ndim == 1 else by_day for by_day in (wind, humidity)
        )
    return np.asarray(
        kc_max(
            wind_2m_m_s=wind,
            humidity_min_pct=humidity,
            height_m=np.maximum(crop.height_m, GROUND_HEIGHT_M),
            basal_coefficient=crop.basal_coefficient,
        )
    )


def crop_days(
    *,
    crop: CropWater,
    days_since_planting: npt.NDArray[np.int64],
    dd60_sum: Array,
    humidity_min_pct: Array,
    wind_2m_m_s: Array,
) -> CropDays:
    """Return a crop's water needs by day, arrays (days,): bare before planting (a negative day) and once it is done.

    Basal coefficients follow the stages in straight lines (fao56 fig. 37), those of the middle and, from 0.45, of the
    end adjusted to the day's own wind and humidity (eq. 70): the book takes the stage's means, which is the same on
    average and would let tomorrow's weather change yesterday's crop. Roots and height grow in step between young and
    full cover; cover is eq. 76. `dd60_sum` is the heat since planting in °F days (0 before).

    Valid: arrays of one length, 0 to 10000 °F days, wind 0 to 100 m/s, humidity 0 to 100 %, else OutOfRange.
    """
    since = np.asarray(days_since_planting)
    heat = within("dd60_sum", dd60_sum, 0, 10_000)
    if not since.shape == heat.shape == np.shape(humidity_min_pct) == np.shape(wind_2m_m_s):
        raise OutOfRange("number of days", heat.size, f"the same in all arrays, {since.size}")
    at = np.where(since < 0, -1.0, heat if crop.clock == DD60 else since.astype(np.float64))
    grown = np.clip((at - crop.develops_at) / (crop.mid_at - crop.develops_at), 0.0, 1.0)
    ripened = np.clip((at - crop.late_at) / (crop.ends_at - crop.late_at), 0.0, 1.0)
    stands = (at >= 0) & (at < crop.ends_at)
    climate: dict[str, Values] = {
        "wind_2m_m_s": wind_2m_m_s,
        "humidity_min_pct": humidity_min_pct,
        "height_m": crop.height_most_m,
    }
    middle = climate_adjusted_coefficient(table_coefficient=crop.basal_mid, **climate)
    last = (
        climate_adjusted_coefficient(table_coefficient=crop.basal_last, **climate)
        if crop.basal_last >= ADJUSTED_FROM
        else crop.basal_last
    )
    basal = crop.basal_first + grown * (middle - crop.basal_first) + ripened * (last - middle)
    height_m = crop.height_most_m * grown
    most = kc_max(
        wind_2m_m_s=np.clip(wind_2m_m_s, 1, 6),
        humidity_min_pct=np.clip(humidity_min_pct, 20, 80),
        height_m=np.maximum(height_m, GROUND_HEIGHT_M),
        basal_coefficient=basal,
    )
    cover = ground_cover_share(basal_coefficient=basal, kc_max=most, height_m=height_m)
    roots = crop.root_first_m + grown * (crop.root_most_m - crop.root_first_m)
    return CropDays(
        basal_coefficient=np.where(stands, basal, 0.0),
        cover_share=np.where(stands, cover, 0.0),
        height_m=np.where(stands, height_m, 0.0),
        root_depth_m=np.where(stands, roots, 0.0),
        depletion_fraction=np.where(stands, crop.depletion_fraction, BARE_FRACTION),
    )


def stage_word(*, crop: CropWater, days_since_planting: int, dd60_sum: float) -> str:
    """Return what stage a crop is in, one of STAGES: "bare" before planting, "done" once it is ripe."""
    if days_since_planting < 0:
        return STAGES[0]
    at = dd60_sum if crop.clock == DD60 else days_since_planting
    return STAGES[
        1 + sum(at >= start for start in (crop.develops_at, crop.mid_at, crop.late_at, crop.ends_at))
    ]


def _within_bounds(wind_2m_m_s: Values, humidity_min_pct: Values) -> tuple[Array, Array]:
    """Return wind and humidity within the bounds of eq. 62, 70 and 72."""
    return (
        np.clip(within("wind_2m_m_s", wind_2m_m_s, 0, 100), 1, 6),
        np.clip(within("humidity_min_pct", humidity_min_pct, 0, 100), 20, 80),
    )
