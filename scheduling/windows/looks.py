"""What each limit looks at: values by hour, soil zone and weather member, beside the number they are held against."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from farmops.science.units import fahrenheit_from_celsius, inches_from_mm
from scheduling.windows.ground import Ground
from scheduling.windows.limits import Limit, Quantity

Values = npt.NDArray[np.float64]
SLACK = 1e-9
"""A value this close to its limit holds it: rounding must not shut an hour."""


@dataclass(frozen=True)
class Look:
    """`values` has shape (hours, zones or 1, members), in the limit's unit; `bounds` (zones or 1,)."""

    values: Values
    bounds: Values
    is_floor: bool

    def holds(self) -> npt.NDArray[np.bool_]:
        """Return where the limit holds."""
        bounds = self.bounds[np.newaxis, :, np.newaxis]
        result: npt.NDArray[np.bool_] = (
            self.values >= bounds - SLACK if self.is_floor else self.values <= bounds + SLACK
        )
        return result


def look(limit: Limit, ground: Ground, zones: list[int]) -> Look:
    """Return what a limit sees on the zones of a field."""
    numbers = np.full(len(zones), limit.number)
    soils = [ground.zones[zone] for zone in zones]
    columns = [ground.columns[zone] for zone in zones]
    if limit.quantity is Quantity.TOPSOIL:
        values = ground.topsoil_m3_m3[:, columns, :]
        numbers = numbers * np.array([soil.workable_below_m3_m3 for soil in soils])
    elif limit.quantity is Quantity.SUBSOIL:
        values = ground.subsoil_m3_m3[:, columns, :]
        numbers = numbers * np.array([soil.texture.field_capacity_m3_m3 for soil in soils])
    elif limit.quantity is Quantity.SEED_WATER:
        low = np.array([soil.texture.wilting_point_m3_m3 for soil in soils])[np.newaxis, :, np.newaxis]
        high = np.array([soil.texture.field_capacity_m3_m3 for soil in soils])[np.newaxis, :, np.newaxis]
        values = np.maximum((ground.topsoil_m3_m3[:, columns, :] - low) / (high - low), 0.0)
    else:
        values = _farm_wide(limit, ground)[:, np.newaxis, :]
        numbers = numbers[:1]
    return Look(values=values, bounds=numbers, is_floor=limit.is_floor)


def _farm_wide(limit: Limit, ground: Ground) -> Values:
    if limit.quantity is Quantity.RAIN_HOUR:
        by_hour: Values = inches_from_mm(ground.rain_hour_mm)
        return by_hour
    if limit.quantity is Quantity.RAIN_AHEAD:
        total = np.concatenate([np.zeros((1, ground.members)), np.cumsum(ground.rain_hour_mm, axis=0)])
        hours = np.arange(len(ground.rain_hour_mm))
        until = np.minimum(hours + limit.hours_ahead, len(hours))
        ahead: Values = inches_from_mm(total[until] - total[hours])
        return ahead
    if limit.quantity is Quantity.SOIL_MEAN:
        daily = _over_days(fahrenheit_from_celsius(ground.soil_mean_c), limit)
    elif limit.quantity is Quantity.AIR_MIN:
        daily = _over_days(fahrenheit_from_celsius(ground.air_min_c), limit)
    elif limit.quantity is Quantity.DD60_SUM:
        daily = _over_days(ground.dd60_f, limit)
    else:
        raise ValueError(f"{limit.quantity} is not looked up in the ground")
    return daily[ground.grid.day_index + ground.grid_day_offset]


def _over_days(daily: Values, limit: Limit) -> Values:
    """Take the lowest, highest or sum over the days that the limit spans; at the ends over the days there are."""
    first, last = 1 - limit.days_back, limit.days_ahead
    spans = []
    for index in range(len(daily)):
        days = daily[max(index + first, 0) : index + last + 1]
        if limit.quantity is Quantity.DD60_SUM:
            spans.append(days.sum(axis=0))
        else:
            spans.append(days.min(axis=0) if limit.is_floor else days.max(axis=0))
    return np.array(spans)
