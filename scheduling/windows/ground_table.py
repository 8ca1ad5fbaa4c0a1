"""The ground as a table for people: one row per soil zone and day."""

import datetime as dt

import numpy as np

from farmops.science.soil_temperature import soil_temp_at_hour_c, surface_amplitude_c
from scheduling.windows.ground import MORNING_H, Ground
from scheduling.windows.report import GroundDay, ZoneGround

HEAT_DAYS = 5
CM_PER_INCH = 2.54


def ground_table(ground: Ground, *, first: dt.date, last: dt.date) -> tuple[ZoneGround, ...]:
    """Return each zone's days `first`..`last`; of days ahead, the members' middle, and the rain as it is told."""
    weather = ground.weather
    mean_c = np.median(ground.soil_mean_c, axis=1)
    heat = np.median(ground.dd60_f, axis=1)
    amplitude_c = surface_amplitude_c(temp_min_c=weather.temp_min_c, temp_max_c=weather.temp_max_c)
    begin, end = weather.days.index(first), weather.days.index(last) + 1
    zones = []
    for column, zone in zip(ground.columns, ground.zones, strict=True):
        morning_c = soil_temp_at_hour_c(
            daily_mean_c=mean_c,
            surface_amplitude_c=amplitude_c,
            depth_cm=zone.soil_depth_in * CM_PER_INCH,
            hour=MORNING_H,
        )
        days = tuple(
            GroundDay(
                day=weather.days[index],
                topsoil_8am_m3_m3=float(ground.topsoil_morning_m3_m3[index, column]),
                topsoil_m3_m3=float(ground.topsoil_day_m3_m3[index, column]),
                workable_below_m3_m3=zone.workable_below_m3_m3,
                subsoil_m3_m3=float(ground.subsoil_day_m3_m3[index, column]),
                soil_temp_mean_c=float(mean_c[index]),
                soil_temp_8am_c=float(morning_c[index]),
                soil_temp_three_days_c=float(mean_c[max(index - 2, 0) : index + 1].mean()),
                rain_mm=float(weather.rain_mm[index]),
                rain_chance=float(weather.rain_chance[index]),
                dd60_five_days_f=float(heat[index : index + HEAT_DAYS].sum()),
                kind=weather.kind[index],
            )
            for index in range(begin, end)
        )
        zones.append(ZoneGround(zone.field, zone.name, zone.texture.key, zone.soil_depth_in, days))
    return tuple(zones)
