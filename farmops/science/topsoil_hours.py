"""Water of bare ground hour by hour: the top 15 cm that disks and wheels work on, and 15 to 40 cm below it.

FAO Irrigation and Drainage Paper 56, chapter 7, taken in steps of an hour: rain first fills what evaporation has
emptied (depletion, eq. 77), evaporation is limited by the soil surface as it dries (eq. 74). Beside the paper: water
above field capacity stays in the layer and drains by a texture's daily share (farm judgement on tables from memory),
and runoff is the curve number's increment over the day's storm (NEH 630 chapter 10).

Arrays are hours × zones × members; parameters broadcast against zones × members.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from farmops.science.ranges import OutOfRange

Values = npt.NDArray[np.float64]

TOPSOIL_MM = 150.0
SUBSOIL_MM = 250.0
EVAPORATION_DEPTH_M = 0.10
"""FAO-56 ch. 7 gives 0.10 to 0.15 m as the depth that evaporation empties."""
BARE_KC_MAX = 1.2
"""FAO-56 eq. 72 for bare soil at 2 m/s and 45 % minimum humidity."""


@dataclass(frozen=True)
class BareSoil:
    """What the balance needs of each zone, as arrays of shape (zones, 1): m³/m³, mm, curve number, share a day."""

    field_capacity_m3_m3: Values
    wilting_point_m3_m3: Values
    saturation_m3_m3: Values
    readily_evaporable_mm: Values
    curve_number: Values
    drainage_share_per_day: Values

    @property
    def total_evaporable_mm(self) -> Values:
        """Return what evaporation can take below field capacity, mm (FAO-56 eq. 73)."""
        return 1000 * (self.field_capacity_m3_m3 - 0.5 * self.wilting_point_m3_m3) * EVAPORATION_DEPTH_M

    @property
    def topsoil_room_mm(self) -> Values:
        """Return what the topsoil holds between field capacity and saturation, mm."""
        return (self.saturation_m3_m3 - self.field_capacity_m3_m3) * TOPSOIL_MM

    @property
    def subsoil_room_mm(self) -> Values:
        """Return what the layer below holds between field capacity and saturation, mm."""
        return (self.saturation_m3_m3 - self.field_capacity_m3_m3) * SUBSOIL_MM


@dataclass(frozen=True)
class WaterState:
    """Stores of shape (zones, members), mm: emptied by evaporation, and above field capacity in both layers."""

    depletion_mm: Values
    excess_mm: Values
    subsoil_excess_mm: Values


@dataclass(frozen=True)
class WaterHours:
    """Water at the end of each hour, the day's flows summed, and the state to go on from."""

    topsoil_m3_m3: Values
    subsoil_m3_m3: Values
    end: WaterState
    runoff_mm: Values
    evaporation_mm: Values
    drainage_mm: Values


def at_field_capacity(*, zones: int, members: int) -> WaterState:
    """Return ground that has drained and not dried: the start of a run without history."""
    empty = np.zeros((zones, members))
    return WaterState(depletion_mm=empty, excess_mm=empty, subsoil_excess_mm=empty)


def storm_runoff_mm(*, storm_mm: Values, curve_number: Values) -> Values:
    """Return the runoff of a storm so far, mm; S = 25400/CN - 254, initial abstraction 0.2 S."""
    retention = 25400 / curve_number - 254
    beyond = np.maximum(storm_mm - 0.2 * retention, 0.0)
    runoff: Values = beyond**2 / (beyond + retention)
    return runoff


def water_hours(
    *,
    soil: BareSoil,
    rain_mm: Values,
    et0_mm: Values,
    hour_share_of_day: Values,
    begins_day: npt.NDArray[np.bool_],
    start: WaterState,
    kc_max: float = BARE_KC_MAX,
) -> WaterHours:
    """Run the balance over hours.

    `rain_mm` has shape (hours, members), or (hours, zones, members) where zones differ; `et0_mm` (hours,) is
    reference evapotranspiration of each hour; `hour_share_of_day` its length as a share of 24 h; `begins_day` marks
    hours at which the storm total starts anew. Raises OutOfRange for negative rain or evapotranspiration.
    """
    for name, values in (("rain_mm", rain_mm), ("et0_mm", et0_mm)):
        if not np.all(values >= 0):
            raise OutOfRange(name, float(np.nanmin(values)), "0 or more")
    rain = rain_mm if rain_mm.ndim == 3 else rain_mm[:, np.newaxis, :]
    shape = np.broadcast_shapes(start.depletion_mm.shape, rain.shape[1:])
    depletion, excess, below = (
        np.broadcast_to(store, shape).copy()
        for store in (start.depletion_mm, start.excess_mm, start.subsoil_excess_mm)
    )
    topsoil, subsoil = np.empty((len(rain), *shape)), np.empty((len(rain), *shape))
    runoff, evaporation, drainage = np.zeros(shape), np.zeros(shape), np.zeros(shape)
    storm = np.zeros(shape)
    evaporable, easy = soil.total_evaporable_mm, soil.readily_evaporable_mm
    for hour in range(len(rain)):
        if begins_day[hour]:
            storm = np.zeros(shape)
        drained = 1 - (1 - soil.drainage_share_per_day) ** hour_share_of_day[hour]
        if rain[hour].any():
            ran_off = -storm_runoff_mm(storm_mm=storm, curve_number=soil.curve_number)
            storm = storm + rain[hour]
            ran_off += storm_runoff_mm(storm_mm=storm, curve_number=soil.curve_number)
            runoff += ran_off
            soaked = rain[hour] - ran_off
            filled = np.minimum(soaked, depletion)
            depletion -= filled
            excess += soaked - filled
        if et0_mm[hour] > 0:
            reduction = np.clip((evaporable - depletion) / (evaporable - easy), 0.0, 1.0)
            evaporated = np.minimum(kc_max * et0_mm[hour] * reduction, excess + evaporable - depletion)
            from_excess = np.minimum(excess, evaporated)
            excess -= from_excess
            depletion += evaporated - from_excess
            evaporation += evaporated
        out = np.maximum(excess * drained, excess - soil.topsoil_room_mm)
        excess -= out
        below += out
        deep = np.maximum(below * drained, below - soil.subsoil_room_mm)
        below -= deep
        drainage += deep
        topsoil[hour] = soil.field_capacity_m3_m3 + (excess - depletion) / TOPSOIL_MM
        subsoil[hour] = soil.field_capacity_m3_m3 + below / SUBSOIL_MM
    return WaterHours(
        topsoil_m3_m3=topsoil,
        subsoil_m3_m3=subsoil,
        end=WaterState(depletion_mm=depletion, excess_mm=excess, subsoil_excess_mm=below),
        runoff_mm=runoff,
        evaporation_mm=evaporation,
        drainage_mm=drainage,
    )


def daylight_shares(*, clock_h: Values, hours_long: Values, sunrise_h: Values, sunset_h: Values) -> Values:
    """Return the share of its day's reference evapotranspiration that falls in each hour: a half sine by daylight.

    All arrays are by hour: its start on the clock, its length in hours, and its day's sunrise and sunset.
    """
    span = sunset_h - sunrise_h
    start = np.clip((clock_h - sunrise_h) / span, 0.0, 1.0)
    end = np.clip((clock_h + hours_long - sunrise_h) / span, 0.0, 1.0)
    share: Values = (np.cos(np.pi * start) - np.cos(np.pi * end)) / 2
    return share
