"""The ground as a table for people: one row per soil zone and day."""

import datetime as dt
import math

import numpy as np

from farmops.science.soil_temperature import soil_temp_at_hour_c
from farmops.science.units import cm_from_inches, inches_from_mm
from scheduling.windows.day_weather import Values
from scheduling.windows.ground import MORNING_H, Ground, ZoneSoil
from scheduling.windows.report import GroundDay, ZoneGround
from scheduling.windows.water import HIGH_TENTH, LOW_TENTH

HEAT_DAYS = 5
HALF_BAND_C = 2.0
"""The model's own error is about 2 °C, 4 °F (see `farmops.science.soil_temperature`): no side of a band is narrower."""


def ground_table(ground: Ground, *, first: dt.date, last: dt.date) -> tuple[ZoneGround, ...]:
    """Return each zone's days `first`..`last`; of days ahead, the members' middle, and the rain as it is told."""
    days = ground.weather.days
    begin, end = days.index(first), days.index(last) + 1
    warmth: dict[tuple[int, float], _Warmth] = {}
    heat = np.median(ground.dd60_f, axis=1)
    et0 = np.median(ground.et0_mm, axis=1)
    zones = []
    for column, zone in zip(ground.columns, ground.zones, strict=True):
        key = (column, zone.soil_depth_in)
        if key not in warmth:
            warmth[key] = _Warmth(ground, column, zone.soil_depth_in)
        told = tuple(_day(ground, zone, column, index, warmth[key], heat, et0) for index in range(begin, end))
        zones.append(ZoneGround(zone.field, zone.name, zone.texture.key, zone.soil_depth_in, told))
    return tuple(zones)


class _Warmth:
    """The warmth of one column at one depth: the members' middle and tenths, by day, °C."""

    def __init__(self, ground: Ground, column: int, depth_in: float) -> None:
        mean_c = ground.soil_mean_at(depth_in, column=column)
        self.mean_c: Values = np.median(mean_c, axis=1)
        self.low_c = np.minimum(np.quantile(mean_c, LOW_TENTH, axis=1), self.mean_c - HALF_BAND_C)
        self.high_c = np.maximum(np.quantile(mean_c, HIGH_TENTH, axis=1), self.mean_c + HALF_BAND_C)
        self.morning_c = np.asarray(
            soil_temp_at_hour_c(
                daily_mean_c=self.mean_c,
                surface_amplitude_c=np.median(ground.surface_amplitude_c[:, column], axis=1),
                depth_cm=float(cm_from_inches(depth_in)),
                hour=MORNING_H,
            )
        )


def _day(
    ground: Ground, zone: ZoneSoil, column: int, index: int, warmth: _Warmth, heat: Values, et0: Values
) -> GroundDay:
    at = (index, column)
    rain_mm, rain_source = float(ground.field_rain_mm[at]), ground.rain_source[column][index]
    is_over = all(one.day != index or one.rain_mm.sum() > 0 for one in ground.hours_read.get(column, ()))
    return GroundDay(
        day=ground.weather.days[index],
        topsoil_8am_m3_m3=float(ground.topsoil_morning_m3_m3[at]),
        topsoil_low_m3_m3=float(ground.topsoil_low_m3_m3[at]),
        topsoil_high_m3_m3=float(ground.topsoil_high_m3_m3[at]),
        topsoil_m3_m3=float(ground.topsoil_day_m3_m3[at]),
        workable_below_m3_m3=zone.workable_below_m3_m3,
        dry_below_m3_m3=zone.dry_below_m3_m3,
        subsoil_m3_m3=float(ground.subsoil_day_m3_m3[at]),
        seed_m3_m3=float(ground.seed_morning_m3_m3[at]),
        rootzone_depletion_mm=_known(ground.rootzone_depletion_mm[at]),
        rootzone_allowed_mm=_known(ground.rootzone_allowed_mm[at]),
        rootzone_total_mm=_known(ground.rootzone_total_mm[at]),
        root_depth_in=_known(inches_from_mm(1000 * ground.root_depth_m[at])),
        stage=ground.stage[column][index],
        soil_temp_mean_c=float(warmth.mean_c[index]),
        soil_temp_low_c=float(warmth.low_c[index]),
        soil_temp_high_c=float(warmth.high_c[index]),
        soil_temp_8am_c=float(warmth.morning_c[index]),
        soil_temp_three_days_c=float(warmth.mean_c[max(index - 2, 0) : index + 1].mean()),
        rain_mm=rain_mm,
        rain_chance=float(rain_mm > 0)
        if rain_source and is_over
        else float(ground.weather.rain_chance[index]),
        rain_source=rain_source,
        watered_mm=float(ground.watered_mm[at]),
        et0_mm=float(et0[index]),
        remark_shift_m3_m3=float(ground.remark_shift_m3_m3[at]),
        dd60_five_days_f=float(heat[index : index + HEAT_DAYS].sum()),
        kind=ground.weather.kind[index],
    )


def _known(value: float) -> float | None:
    return None if math.isnan(value) else float(value)
