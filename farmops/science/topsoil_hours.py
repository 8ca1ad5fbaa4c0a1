"""Water of bare ground hour by hour: the topsoil that disks and wheels work on, and 15 to 40 cm below it.

The balance of `soil_water.bare_topsoil` (fao56 chapter 7 with water standing above field capacity for a while) taken
in steps of an hour, with a second layer that its drainage feeds and that loses water only downward: without roots
nothing dries it below field capacity. Runoff is the curve number method with the soil's own water in the place of the
storm so far (michel2005, from memory): from ground as dry as `soil_water` calls dry it is the published curve of
average ground, from wetter ground more runs off. More rain in any hour never leaves either layer drier, then or later.

Arrays are hours × zones × members.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from farmops.science.crop_water import total_evaporable_water_mm
from farmops.science.ranges import Array, within
from farmops.science.runoff import retention_mm
from farmops.science.soil_water import DRY_READILY_SHARE, DRY_TOTAL_SHARE, TOPSOIL_M
from farmops.science.textures import Texture

SUBSOIL_M = 0.25
"""Thickness of the layer below the topsoil, down to 0.40 m: where a ripper has to shatter the pan."""
EVAPORATION_DEPTH_M = 0.10
INITIAL_SHARE = 0.2
"""Of the retention, what is taken up before runoff begins (neh630)."""
ROUNDING = 1e-12


@dataclass(frozen=True)
class WaterState:
    """Stores of shape (zones, members), mm: emptied by evaporation, and above field capacity in both layers."""

    depletion_mm: Array
    excess_mm: Array
    subsoil_excess_mm: Array


@dataclass(frozen=True)
class WaterHours:
    """Water at the end of each hour, the day's flows summed, and the state to go on from."""

    topsoil_m3_m3: Array
    subsoil_m3_m3: Array
    end: WaterState
    runoff_mm: Array
    evaporation_mm: Array
    drainage_mm: Array


def at_field_capacity(*, zones: int, members: int) -> WaterState:
    """Return ground that has drained and not dried: the start of a run without history."""
    empty = np.zeros((zones, members))
    return WaterState(depletion_mm=empty, excess_mm=empty, subsoil_excess_mm=empty)


def water_hours(
    *,
    textures: Sequence[Texture],
    rain_mm: Array,
    demand_mm: Array,
    hour_share_of_day: Array,
    start: WaterState,
) -> WaterHours:
    """Run the balance over hours, one zone for each of `textures`.

    `rain_mm` has shape (hours, members); `demand_mm` (hours,) is what wet bare ground evaporates in each hour;
    `hour_share_of_day` its length as a share of 24 h.
    Valid: rain 0 to 500 mm and demand 0 to 5 mm an hour, share 0 to 1, else OutOfRange.
    """
    rain = within("rain_mm", rain_mm, 0, 500)
    demand = within("demand_mm", demand_mm, 0, 5)
    share_of_day = within("hour_share_of_day", hour_share_of_day, 0, 1)
    column = _Columns(textures)
    shape = np.broadcast_shapes(start.depletion_mm.shape, (len(textures), rain.shape[1]))
    store = np.broadcast_to(start.excess_mm - start.depletion_mm, shape).copy()
    below = np.broadcast_to(start.subsoil_excess_mm, shape).copy()
    topsoil, subsoil = np.empty((len(rain), *shape)), np.empty((len(rain), *shape))
    ran_off, evaporated, drained = np.zeros(shape), np.zeros(shape), np.zeros(shape)
    for hour in range(len(rain)):
        if rain[hour].any():
            soaked = column.soaks_mm(store, rain[hour])
            ran_off += rain[hour] - soaked
            store += soaked
        if demand[hour] > 0:
            reduction = np.clip((column.evaporable_mm + store) / column.hard_mm, 0.0, 1.0)
            taken = np.minimum(reduction * demand[hour], column.evaporable_mm + store)
            evaporated += taken
            store -= taken
        drains = 1 - (1 - column.drainage_share_per_day) ** share_of_day[hour]
        excess = np.maximum(store, 0.0)
        down = np.maximum(excess * drains, excess - column.topsoil_room_mm)
        store -= down
        below += down
        deep = np.maximum(below * drains, below - column.subsoil_room_mm)
        below -= deep
        drained += deep
        topsoil[hour] = column.field_capacity_m3_m3 + store / (1000 * TOPSOIL_M)
        subsoil[hour] = column.field_capacity_m3_m3 + below / (1000 * SUBSOIL_M)
    return WaterHours(
        topsoil_m3_m3=topsoil,
        subsoil_m3_m3=subsoil,
        end=WaterState(
            depletion_mm=np.maximum(-store, 0.0), excess_mm=np.maximum(store, 0.0), subsoil_excess_mm=below
        ),
        runoff_mm=ran_off,
        evaporation_mm=evaporated,
        drainage_mm=drained,
    )


def daylight_shares(*, clock_h: Array, hours_long: Array, sunrise_h: Array, sunset_h: Array) -> Array:
    """Return the share of its day's reference evapotranspiration that falls in each hour: a half sine by daylight.

    All arrays are by hour: its start on the clock, its length in hours, and its day's sunrise and sunset.
    """
    span = sunset_h - sunrise_h
    start = np.clip((clock_h - sunrise_h) / span, 0.0, 1.0)
    end = np.clip((clock_h + hours_long - sunrise_h) / span, 0.0, 1.0)
    share: Array = (np.cos(np.pi * start) - np.cos(np.pi * end)) / 2
    return share


class _Columns:
    """What the balance needs of each texture, as columns of shape (zones, 1)."""

    def __init__(self, textures: Sequence[Texture]) -> None:
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
        self.field_capacity_m3_m3 = capacity
        self.drainage_share_per_day = drainage
        self.evaporable_mm = np.asarray(
            total_evaporable_water_mm(
                field_capacity_m3_m3=capacity, wilting_point_m3_m3=wilting, depth_evap_m=EVAPORATION_DEPTH_M
            )
        )
        self.hard_mm = self.evaporable_mm - readily
        self.topsoil_room_mm = 1000 * TOPSOIL_M * (saturation - capacity)
        self.subsoil_room_mm = 1000 * SUBSOIL_M * (saturation - capacity)
        self.dry_at_mm = DRY_READILY_SHARE * readily + DRY_TOTAL_SHARE * self.evaporable_mm
        self.retention_mm = np.asarray(retention_mm(curve_number=number))

    def soaks_mm(self, store_mm: Array, rain_mm: Array) -> Array:
        """Return what of an hour's rain the ground takes up, mm; michel2005 integrated over the rain."""
        free_mm = INITIAL_SHARE * self.retention_mm - (store_mm + self.dry_at_mm)
        first = np.clip(free_mm, 0.0, rain_mm)
        filled = np.clip((first - free_mm) / self.retention_mm, 0.0, 1.0 - ROUNDING)
        open_now = 1 - filled
        then_open = 1 / (1 / open_now + (rain_mm - first) / self.retention_mm)
        soaked: Array = first + self.retention_mm * (open_now - then_open)
        return soaked
