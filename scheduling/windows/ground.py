"""The ground of a farm's soil zones: water by the hour, warmth and heat by the day, for every weather member.

Days up to `as_of` are as they were read; from the day after on the members part (see `members`). Water runs hour by
hour through the whole time, so that the hours judged and the days shown come from one balance.
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt

from farmops.science.heat_units import dd60_f
from farmops.science.radiation import sunrise_sunset_h
from farmops.science.soil_temperature import daily_mean_soil_temp_c
from farmops.science.textures import Texture
from farmops.science.topsoil_hours import WaterState, at_field_capacity, daylight_shares, water_hours
from farmops.science.units import fahrenheit_from_celsius
from scheduling.windows.day_weather import Place, WeatherDays, bare_coefficient_by_day, reference_et_by_day
from scheduling.windows.hours import HourGrid, hour_grid
from scheduling.windows.members import MEMBERS, deal_members, hour_shares

Values = npt.NDArray[np.float64]
SPIN_UP_DAYS = 90
WARM_UP_DAYS = 7
"""The soil starts as warm as the air of its first week; 90 days later nothing of that is left."""
NOON = dt.time(12)
MORNING_H = 8.0
SHOWER_FIRST_H, SHOWER_LAST_H = 14.0, 20.0
"""When rain falls on a day ahead of which only the amount is told: a shower, not a day of drizzle. Farm judgement."""
DAYS_BEYOND = 5
"""How many days after the last one are looked at, for limits that look ahead."""


@dataclass(frozen=True)
class ZoneSoil:
    """One soil zone of a field."""

    field: str
    name: str
    texture: Texture
    workable_below_m3_m3: float
    soil_depth_in: float


@dataclass(frozen=True)
class Ground:
    """Hours from `grid` on (hours × columns × members), days from `weather.days[0]` on (days × members).

    Zones of one texture share a column: `columns` has each zone's. `topsoil_day_m3_m3` and `subsoil_day_m3_m3`
    (days × columns) are the members' middle at each day's end.
    """

    place: Place
    as_of: dt.date
    zones: tuple[ZoneSoil, ...]
    columns: tuple[int, ...]
    weather: WeatherDays
    grid: HourGrid
    grid_day_offset: int
    topsoil_m3_m3: Values
    subsoil_m3_m3: Values
    rain_hour_mm: Values
    et0_mm: Values
    soil_mean_c: Values
    air_min_c: Values
    dd60_f: Values
    topsoil_morning_m3_m3: Values
    topsoil_day_m3_m3: Values
    subsoil_day_m3_m3: Values

    @property
    def members(self) -> int:
        """Return how many members there are."""
        return int(self.rain_hour_mm.shape[1])


@dataclass(frozen=True)
class _WaterRun:
    """One stretch of the water balance: its hours, the rain in them, and where it ended."""

    topsoil_m3_m3: Values
    subsoil_m3_m3: Values
    rain_mm: Values
    end: WaterState


def spin_up_first(*, first: dt.date, as_of: dt.date) -> dt.date:
    """Return the first day of weather that a run over `first`.. needs."""
    return _members_part_on(first, as_of) - dt.timedelta(days=SPIN_UP_DAYS)


def work_out(
    *,
    place: Place,
    zones: Sequence[ZoneSoil],
    weather: WeatherDays,
    as_of: dt.date,
    first: dt.date,
    rain_weight_at: Mapping[dt.datetime, float],
    members: int = MEMBERS,
) -> Ground:
    """Work out the ground over the weather's days; hours are kept from `first`, or from where the members part.

    `rain_weight_at` says by hour (UTC) how a day's rain shares itself out; an hour that it lacks counts 0, and the
    rain of a day without any is shared out evenly, or falls in the afternoon if the day is still ahead. The ground starts drained and not dried, `SPIN_UP_DAYS` earlier.
    """
    parted = weather.days.index(_members_part_on(first, as_of))
    ordinals = np.array([day.toordinal() for day in weather.days], dtype=np.int64)
    dealt = deal_members(
        day_ordinals=ordinals,
        rain_if_wet_mm=weather.rain_if_wet_mm,
        rain_chance=weather.rain_chance,
        days_ahead=ordinals - as_of.toordinal(),
        members=members,
    )
    et0_mm = reference_et_by_day(place=place, weather=weather)
    demand_mm = et0_mm * bare_coefficient_by_day(weather=weather)
    textures = list(dict.fromkeys(zone.texture for zone in zones))
    past_grid = hour_grid(first=weather.days[0], last=weather.days[parted - 1], zone=place.zone)
    grid = hour_grid(first=weather.days[parted], last=weather.days[-1], zone=place.zone)
    drained = at_field_capacity(zones=len(textures), members=1)
    past_rain = dealt.rain_mm[:parted, :1]
    past = _run(
        place,
        textures,
        past_grid,
        demand_mm[:parted],
        past_rain,
        _weights(past_grid, rain_weight_at, as_of),
        drained,
    )
    weights = _weights(grid, rain_weight_at, as_of)
    ahead = _run(place, textures, grid, demand_mm[parted:], dealt.rain_mm[parted:], weights, past.end)
    low_c = weather.temp_min_c[:, np.newaxis] + dealt.temp_shift_c
    high_c = weather.temp_max_c[:, np.newaxis] + dealt.temp_shift_c
    mean_c = (low_c + high_c) / 2
    return Ground(
        place=place,
        as_of=as_of,
        zones=tuple(zones),
        columns=tuple(textures.index(zone.texture) for zone in zones),
        weather=weather,
        grid=grid,
        grid_day_offset=parted,
        topsoil_m3_m3=ahead.topsoil_m3_m3,
        subsoil_m3_m3=ahead.subsoil_m3_m3,
        rain_hour_mm=ahead.rain_mm,
        et0_mm=et0_mm,
        soil_mean_c=daily_mean_soil_temp_c(air_mean_c=mean_c, start_c=mean_c[:WARM_UP_DAYS].mean(axis=0)),
        air_min_c=low_c,
        dd60_f=dd60_f(temp_max_f=fahrenheit_from_celsius(high_c), temp_min_f=fahrenheit_from_celsius(low_c)),
        topsoil_morning_m3_m3=np.concatenate(
            [_at_mornings(past.topsoil_m3_m3, past_grid), _at_mornings(ahead.topsoil_m3_m3, grid)]
        ),
        topsoil_day_m3_m3=np.concatenate(
            [_at_day_ends(past.topsoil_m3_m3, past_grid), _at_day_ends(ahead.topsoil_m3_m3, grid)]
        ),
        subsoil_day_m3_m3=np.concatenate(
            [_at_day_ends(past.subsoil_m3_m3, past_grid), _at_day_ends(ahead.subsoil_m3_m3, grid)]
        ),
    )


def _members_part_on(first: dt.date, as_of: dt.date) -> dt.date:
    return min(first, as_of + dt.timedelta(days=1))


def _weights(grid: HourGrid, rain_weight_at: Mapping[dt.datetime, float], as_of: dt.date) -> Values:
    """Return how a day's rain shares itself out; on a day ahead without hours of its own it is an afternoon's shower."""
    weight = np.array([rain_weight_at.get(hour, 0.0) for hour in grid.starts])
    is_told = np.bincount(grid.day_index, weights=weight, minlength=len(grid.days)) > 0
    is_ahead = np.array([day > as_of for day in grid.days])
    shower = (grid.clock_h >= SHOWER_FIRST_H) & (grid.clock_h < SHOWER_LAST_H)
    unknown: Values = np.where((is_ahead & ~is_told)[grid.day_index] & shower, 1.0, weight)
    return unknown


def _run(
    place: Place,
    textures: Sequence[Texture],
    grid: HourGrid,
    demand_mm: Values,
    rain_mm: Values,
    weight: Values,
    start: WaterState,
) -> _WaterRun:
    shares = hour_shares(day_index=grid.day_index, minutes=grid.minutes, weight=weight, days=len(grid.days))
    rain_hour_mm = rain_mm[grid.day_index] * shares[:, np.newaxis]
    by_daylight = _daylight(place, grid)
    hours = water_hours(
        textures=textures,
        rain_mm=rain_hour_mm,
        demand_mm=demand_mm[grid.day_index] * by_daylight,
        hour_share_of_day=grid.minutes / 1440,
        start=start,
    )
    return _WaterRun(hours.topsoil_m3_m3, hours.subsoil_m3_m3, rain_hour_mm, hours.end)


def _daylight(place: Place, grid: HourGrid) -> Values:
    clock = ZoneInfo(place.zone)
    rises, sets = [], []
    for day in grid.days:
        offset = dt.datetime.combine(day, NOON, tzinfo=clock).utcoffset() or dt.timedelta()
        sunrise_h, sunset_h = sunrise_sunset_h(
            latitude_deg=place.latitude_deg,
            longitude_deg=place.longitude_deg,
            day_of_year=day.timetuple().tm_yday,
            utc_offset_h=offset.total_seconds() / 3600,
        )
        rises.append(float(sunrise_h))
        sets.append(float(sunset_h))
    return daylight_shares(
        clock_h=grid.clock_h,
        hours_long=grid.minutes / 60,
        sunrise_h=np.array(rises)[grid.day_index],
        sunset_h=np.array(sets)[grid.day_index],
    )


def _at_mornings(hours: Values, grid: HourGrid) -> Values:
    before = np.flatnonzero(grid.clock_h < MORNING_H)
    last_before = before[np.flatnonzero(np.diff(grid.day_index[before], append=len(grid.days)) > 0)]
    middle: Values = np.median(hours[last_before], axis=2)
    return middle


def _at_day_ends(hours: Values, grid: HourGrid) -> Values:
    last_hours = np.flatnonzero(np.diff(grid.day_index, append=len(grid.days)) > 0)
    middle: Values = np.median(hours[last_hours], axis=2)
    return middle
