"""What each limit looks at: values by row and weather member, beside the number they are held against.

A row is an hour of the grid, or a day for what is told by the day. A value that is not known holds: nothing is shut
for want of a reading, but it is said (`Seen.is_known`).
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from farmops.science.air_hours import above_dewpoint_c
from farmops.science.textures import Texture
from farmops.science.units import fahrenheit_from_celsius, inches_from_mm, mph_from_m_s
from farmops.science.workability import traffic_limit_m3_m3, workable_limit_m3_m3
from scheduling.windows.ground import Ground, ZoneSoil
from scheduling.windows.limits import BY_DAY, Limit, Quantity
from scheduling.windows.member_sets import Words, pack

Values = npt.NDArray[Any]
SLACK = 1e-9
"""A value this close to its limit holds it: rounding must not shut an hour."""
OF_THE_ZONE = frozenset(
    {
        Quantity.TOPSOIL,
        Quantity.TRAFFIC,
        Quantity.SUBSOIL,
        Quantity.SEED_WATER,
        Quantity.SOIL_MEAN,
        Quantity.SOIL_HOUR,
    }
)
MAY_BE_UNKNOWN = frozenset({Quantity.WIND, Quantity.INVERSION, Quantity.DEW, Quantity.HUMIDITY})
"""What a forecast may leave out."""
EVERYWHERE = -1
"""In place of a column: the farm's weather."""
DAWN_H = 6
HOURS_OF_DAY = 24
FAHRENHEIT_PER_CELSIUS = 1.8
WIND_10_TO_2_M = 0.748
"""Wind at 2 m over wind at 10 m above short grass: FAO-56, equation 47."""


@dataclass(frozen=True, eq=False)
class Seen:
    """`values` (rows, members) in the limit's unit, `bound` in the same; `row_of_hour` leads from the grid to rows."""

    values: Values
    row_of_hour: npt.NDArray[np.int64]
    bound: float
    is_floor: bool

    @cached_property
    def holds(self) -> Words:
        """Return for each row the members in which the limit holds."""
        slack = SLACK + abs(self.bound) * float(np.finfo(self.values.dtype).eps)
        breaks = self.values < self.bound - slack if self.is_floor else self.values > self.bound + slack
        return pack(np.asarray(~breaks))

    @cached_property
    def is_known(self) -> npt.NDArray[np.bool_]:
        """Return the rows in which every member has a value."""
        return np.asarray(~np.isnan(self.values).any(axis=1))

    @cached_property
    def _means(self) -> npt.NDArray[np.float64]:
        means = self.values.mean(axis=1, dtype=np.float64)
        means[np.isnan(means)] = np.inf if self.is_floor else -np.inf
        return means

    def worst(self, first_hour: int, last_hour: int, *, of_breaking: bool = False) -> float:
        """Return the members' middle at the hour of a run that is farthest on the wrong side.

        With `of_breaking` it is the middle of those members in which the limit does not hold, if there are any.
        """
        first, last = self.row_of_hour[first_hour], self.row_of_hour[last_hour]
        means = self._means[first : last + 1]
        values = self.values[first + int(means.argmin() if self.is_floor else means.argmax())]
        if of_breaking:
            breaking = values[values < self.bound] if self.is_floor else values[values > self.bound]
            values = breaking if len(breaking) else values
        return _middle(values)


class Looks:
    """The ground as limits see it; what two limits see alike is worked out once."""

    def __init__(self, ground: Ground) -> None:
        self.ground = ground
        self._values: dict[tuple[object, ...], Values] = {}
        self._seen: dict[tuple[object, ...], Seen] = {}
        hours = len(ground.grid.starts)
        self._hour_rows = np.arange(hours, dtype=np.int64)
        self._day_rows = ground.grid.day_index + ground.grid_day_offset

    def at(self, limit: Limit, zone: int) -> Seen:
        """Return what a limit sees on a zone; farm-wide weather is the same on all."""
        column = self.ground.columns[zone] if limit.quantity in OF_THE_ZONE else EVERYWHERE
        if limit.quantity is Quantity.RAIN_BEHIND:
            column = self._rained_alike[self.ground.columns[zone]]
        what = (
            limit.quantity,
            limit.unit,
            column,
            limit.depth_in,
            limit.hour,
            limit.days_back,
            limit.days_ahead,
            limit.hours_back,
            limit.hours_ahead,
            limit.is_floor,
        )
        bound = bound_of(limit, self.ground.zones[zone])
        seen = self._seen.get((*what, bound))
        if seen is None:
            values = self._values.get(what)
            if values is None:
                values = self._values[what] = self._look(limit, column, self.ground.zones[zone].texture)
            rows = self._day_rows if limit.quantity in BY_DAY else self._hour_rows
            seen = self._seen[(*what, bound)] = Seen(values, rows, bound, limit.is_floor)
        return seen

    def _look(self, limit: Limit, column: int, texture: Texture) -> Values:
        ground, quantity = self.ground, limit.quantity
        if quantity in (Quantity.TOPSOIL, Quantity.TRAFFIC):
            return ground.topsoil_m3_m3[:, column]
        if quantity is Quantity.SUBSOIL:
            return ground.subsoil_m3_m3[:, column]
        if quantity is Quantity.SEED_WATER:
            return _seed_share(limit, ground.seed_m3_m3[:, column], texture)
        if quantity in BY_DAY:
            return _over_days(self._daily(limit, column), limit)
        if quantity is Quantity.RAIN_BEHIND:
            fallen = _sum_behind(self._rain_with_before(limit.hours_back, column), limit.hours_back)
            return np.asarray(inches_from_mm(fallen))
        return self._hourly(limit)

    def _daily(self, limit: Limit, column: int) -> Values:
        ground = self.ground
        if limit.quantity is Quantity.DD60_SUM:
            return ground.dd60_f
        if limit.quantity is Quantity.AIR_MIN:
            celsius: Values = ground.air_min_c
        elif limit.quantity is Quantity.SOIL_HOUR:
            celsius = ground.soil_at_hour(limit.depth_in or 0.0, limit.hour or 0.0, column=column)
        else:
            celsius = ground.soil_mean_at(limit.depth_in or 0.0, column=column)
        return np.asarray(fahrenheit_from_celsius(celsius))

    def _hourly(self, limit: Limit) -> Values:
        ground, quantity = self.ground, limit.quantity
        if quantity is Quantity.RAIN_HOUR:
            return np.asarray(inches_from_mm(ground.rain_hour_mm))
        if quantity is Quantity.RAIN_AHEAD:
            return np.asarray(inches_from_mm(_sum_ahead(ground.rain_hour_mm, limit.hours_ahead)))
        if quantity is Quantity.AIR_AHEAD:
            lowest = _lowest_ahead(ground.air_hour_c, limit.hours_ahead)
            return np.asarray(fahrenheit_from_celsius(lowest))
        if quantity is Quantity.AIR_BEHIND:
            backwards = self._air_before(limit.hours_back)[::-1]
            lowest = _lowest_ahead(backwards, limit.hours_back)[: len(ground.air_hour_c)][::-1]
            return np.asarray(fahrenheit_from_celsius(lowest))
        if quantity is Quantity.WIND:
            # labels mean wind at the boom: each side is held against the height that shuts it sooner
            wind = ground.wind_hour_m_s * (WIND_10_TO_2_M if limit.is_floor else 1.0)
            return np.asarray(mph_from_m_s(wind))
        if quantity is Quantity.INVERSION:
            return ground.inversion_hour
        if quantity is Quantity.HUMIDITY:
            return ground.humidity_hour_pct
        if quantity is Quantity.DEW:
            return _above_dewpoint_f(ground.air_hour_c, ground.humidity_hour_pct)
        raise ValueError(f"{quantity} is not looked up in the ground")

    @cached_property
    def _rained_alike(self) -> list[int]:
        """Return for each column the first one with the same rain; EVERYWHERE where it is the farm's."""
        ground = self.ground
        firsts: dict[bytes, int] = {ground.weather.rain_mm.tobytes(): EVERYWHERE}
        return [
            firsts.setdefault(np.ascontiguousarray(fallen).tobytes(), column)
            if column not in ground.hours_read
            else column
            for column, fallen in enumerate(ground.field_rain_mm.T)
        ]

    def _rain_with_before(self, hours: int, column: int) -> Values:
        """Return a column's rain by the hour with so many hours before the grid's, each a part of its day's."""
        ground = self.ground
        told, ahead = ground.weather.rain_mm, ground.rain_hour_mm
        if column != EVERYWHERE:
            told = ground.field_rain_mm[:, column]
            ahead = self._as_read(column)
        days = ground.grid_day_offset - 1 - np.arange(hours) // HOURS_OF_DAY
        by_day = np.where(days >= 0, told[np.maximum(days, 0)], 0.0) / HOURS_OF_DAY
        return _before(np.nan_to_num(by_day)[::-1], ahead)

    def _as_read(self, column: int) -> Values:
        """Return the rain by the hour; on days read at the field its own amount, shared out as the farm's is, and of a day
        that is not over the hours that its gauge tells of.
        """
        ground = self.ground
        rain = ground.rain_hour_mm.copy()
        read = ground.hours_read.get(column, ())
        for one in read:
            rain[one.hours] = one.rain_mm[:, np.newaxis]
        not_over = {one.day for one in read}
        for day in np.flatnonzero([source != "" for source in ground.rain_source[column]]):
            if day in not_over:
                continue
            hours = self._day_rows == day
            if hours.any():
                total = rain[hours].sum(axis=0)
                even = np.full(rain[hours].shape, 1 / hours.sum())
                share = np.divide(rain[hours], total, out=even, where=total > 0)
                rain[hours] = share * ground.field_rain_mm[day, column]
        return rain

    def _air_before(self, hours: int) -> Values:
        """Return the air by the hour with so many hours before the grid's: each day's lowest at dawn, nothing else."""
        ground = self.ground
        back = np.arange(hours)
        days = ground.grid_day_offset - 1 - back // HOURS_OF_DAY
        is_dawn = (HOURS_OF_DAY - 1 - back % HOURS_OF_DAY == DAWN_H) & (days >= 0)
        lows = np.where(is_dawn, ground.weather.temp_min_c[np.maximum(days, 0)], np.inf)
        return _before(lows[::-1], ground.air_hour_c)


def bound_of(limit: Limit, soil: ZoneSoil) -> float:
    """Return the number that a limit is held against on a zone: in m³/m³ for topsoil and pan, else in its own unit."""
    number, texture = limit.number, soil.texture
    if limit.quantity is Quantity.TRAFFIC:
        of_texture = float(traffic_limit_m3_m3(texture=texture, wheel_load_lb=number))
        own_share = soil.workable_below_m3_m3 / float(workable_limit_m3_m3(texture=texture))
        return min(own_share * of_texture, texture.saturation_m3_m3)
    if limit.unit == "share_of_workable":
        return number * soil.workable_below_m3_m3
    if limit.unit == "share_of_dry":
        return number * soil.dry_below_m3_m3
    if limit.unit == "share_of_field_capacity":
        return number * texture.field_capacity_m3_m3
    return number


def _seed_share(limit: Limit, seed_m3_m3: Values, texture: Texture) -> Values:
    """Return how much of the water at the seed is left: 1 drained after a soaking, 0 at the dry end of the unit."""
    wilting, full = texture.wilting_point_m3_m3, texture.field_capacity_m3_m3
    dry = wilting if limit.unit == "share_of_plant_water" else wilting / 2
    share: Values = np.maximum((seed_m3_m3 - dry) / (full - dry), 0)
    return share


def _middle(values: Values) -> float:
    """Return the median; of all that are known, where some are not."""
    known = values[~np.isnan(values)]
    half = len(known) // 2
    if not half:
        return float(known[0]) if len(known) else float("nan")
    places = (half,) if len(known) % 2 else (half - 1, half)
    return float(np.partition(known, places)[list(places)].mean())


def _before(rows: Values, hours: Values) -> Values:
    members = hours.shape[1]
    return np.concatenate([np.broadcast_to(rows[:, np.newaxis], (len(rows), members)), hours])


def _sum_ahead(rain: Values, hours: int) -> Values:
    total = np.concatenate([np.zeros((1, rain.shape[1])), np.cumsum(rain, axis=0, dtype=np.float64)])
    now = np.arange(len(rain))
    result: Values = total[np.minimum(now + hours, len(rain))] - total[now]
    return result


def _sum_behind(rain: Values, hours: int) -> Values:
    """Return the sum over the hours before each of the hours from `hours` on."""
    total = np.concatenate([np.zeros((1, rain.shape[1])), np.cumsum(rain, axis=0, dtype=np.float64)])
    now = np.arange(hours, len(rain))
    result: Values = total[now] - total[now - hours]
    return result


def _lowest_ahead(air: Values, hours: int) -> Values:
    """Return the lowest of each hour and those up to `hours` after it."""
    lowest = air.astype(np.float64, copy=True)
    for step in range(1, min(hours, len(air) - 1) + 1):
        np.fmin(lowest[:-step], air[step:], out=lowest[:-step])
    return lowest


def _above_dewpoint_f(air_c: Values, humidity_pct: Values) -> Values:
    """Return by how much the air is warmer than its dewpoint, °F of difference."""
    is_known = ~np.isnan(humidity_pct)
    humidity = np.where(is_known, np.maximum(humidity_pct, 1.0), 100.0)
    above_f = above_dewpoint_c(temp_c=air_c, humidity_pct=humidity) * FAHRENHEIT_PER_CELSIUS
    return np.where(is_known, above_f, np.nan)


def _over_days(daily: Values, limit: Limit) -> Values:
    """Take the lowest, highest or sum over the days that the limit spans; at the ends over the days there are."""
    before, after = limit.days_back - 1, limit.days_ahead
    is_sum = limit.quantity is Quantity.DD60_SUM
    take: Callable[..., Values] = np.add if is_sum else np.fmin if limit.is_floor else np.fmax
    nothing = 0.0 if is_sum else np.inf if limit.is_floor else -np.inf
    padded = np.pad(daily, ((before, after), (0, 0)), constant_values=nothing)
    spans: Values = padded[: len(daily)].copy()
    for step in range(1, before + after + 1):
        take(spans, padded[step : step + len(daily)], out=spans)
    return spans
