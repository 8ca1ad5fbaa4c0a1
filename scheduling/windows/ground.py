"""The ground of a farm's soil zones: water by the hour, warmth and heat by the day, for every weather member.

Days that were read are the same in all members; after them the members part (see `members`). Water runs in one balance
from months ago to the days beyond the last one shown: in daily steps up to some days before the members part, then
hour by hour, so that the hours judged and the days shown are the same water. Each zone has its own rain, water, crop,
remarks and thermometer readings; zones of which the same is known share a column.
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from farmops.science.column_parts import MOST_ET0_MM
from farmops.science.heat_units import dd60_f
from farmops.science.soil_temperature import daily_mean_at_depth_c, soil_temp_at_hour_c
from farmops.science.units import cm_from_inches, fahrenheit_from_celsius
from scheduling.windows.air import ToldHour, air_hours
from scheduling.windows.columns import Column, ZoneFacts, ZoneSoil, nothing_known, share_columns
from scheduling.windows.crops_ahead import crops_ahead
from scheduling.windows.day_weather import Place, Values, WeatherDays, reference_et_mm
from scheduling.windows.history import PastDays
from scheduling.windows.hours import HourGrid
from scheduling.windows.members import MEMBERS, MemberDays, deal_members
from scheduling.windows.so_far import HoursRead, hours_read, with_own_days
from scheduling.windows.timeline import Timeline, days_ahead_of, spin_up_first, timeline
from scheduling.windows.warmth import BlockWarmth, soil_warmth, sun_or_usual
from scheduling.windows.water import MORNING_H, Driving, empty_hours, run_water

__all__ = ["DAYS_BEYOND", "MORNING_H", "Ground", "ZoneFacts", "ZoneSoil", "spin_up_first", "work_out"]

Floats = npt.NDArray[np.floating]
DAYS_BEYOND = 5
"""How many days after the last one are looked at, for limits that look ahead."""
BLOCK_CELLS = 4_000
"""Columns × members worked on at a time: enough for NumPy, little enough to stay in the processor's cache."""


@dataclass(frozen=True)
class Ground:
    """Hours from `grid` on (hours × columns × members), days from `weather.days[0]` on (days × columns × members).

    `columns` has each zone's column. Arrays by hour or day without columns are the farm's (… × members), those by day
    without members are the members' middle (days × columns); `topsoil_low_m3_m3` and `topsoil_high_m3_m3` are the
    tenths of the morning's, at 8 am. Hours of days beyond the last one asked for stand still at their day's end.
    `soil_mean_c` is the daily mean at 10 cm with what thermometers add to it, `thermometer_c`. Root zone values are
    nan, and `stage` is "bare", without a crop. `remark_shift_m3_m3` is what remarks add to the topsoil. `hours_read`
    has the hours, by their places in `grid`, that a column's gauge tells of on days that are not over.
    """

    place: Place
    as_of: dt.date
    zones: tuple[ZoneSoil, ...]
    columns: tuple[int, ...]
    weather: WeatherDays
    grid: HourGrid
    grid_day_offset: int
    topsoil_m3_m3: Floats
    subsoil_m3_m3: Floats
    seed_m3_m3: Floats
    rain_hour_mm: Values
    air_hour_c: Values
    humidity_hour_pct: Values
    wind_hour_m_s: Values
    inversion_hour: Values
    sunrise_h: Values
    sunset_h: Values
    air_min_c: Values
    air_max_c: Values
    dd60_f: Values
    et0_mm: Values
    soil_mean_c: Values
    thermometer_c: Values
    surface_amplitude_c: Values
    topsoil_morning_m3_m3: Values
    topsoil_day_m3_m3: Values
    topsoil_low_m3_m3: Values
    topsoil_high_m3_m3: Values
    subsoil_day_m3_m3: Values
    seed_morning_m3_m3: Values
    rootzone_depletion_mm: Values
    rootzone_allowed_mm: Values
    rootzone_total_mm: Values
    root_depth_m: Values
    stage: tuple[tuple[str, ...], ...]
    watered_mm: Values
    field_rain_mm: Values
    rain_source: tuple[tuple[str, ...], ...]
    remark_shift_m3_m3: Values
    hours_read: Mapping[int, tuple[HoursRead, ...]]

    @property
    def members(self) -> int:
        """Return how many members there are."""
        return int(self.rain_hour_mm.shape[1])

    def soil_mean_at(self, depth_in: float, *, column: int | None = None) -> Values:
        """Return the soil's daily mean at a depth of 0 to 11.8 in, °C, (days, columns, members), or of one column."""
        chosen = slice(None) if column is None else slice(column, column + 1)
        mean_c = daily_mean_at_depth_c(
            mean_10_cm_c=self.soil_mean_c[:, chosen],
            depth_cm=float(cm_from_inches(depth_in)),
            thermometer_c=self.thermometer_c[:, chosen, np.newaxis],
        )
        return mean_c if column is None else mean_c[:, 0]

    def soil_at_hour(self, depth_in: float, clock_h: float, *, column: int | None = None) -> Values:
        """Return the soil's temperature at a depth and an hour of the clock, °C, shaped as `soil_mean_at`."""
        swing_c = self.surface_amplitude_c if column is None else self.surface_amplitude_c[:, column]
        return np.asarray(
            soil_temp_at_hour_c(
                daily_mean_c=self.soil_mean_at(depth_in, column=column),
                surface_amplitude_c=swing_c,
                depth_cm=float(cm_from_inches(depth_in)),
                hour=clock_h,
            )
        )


def work_out(
    *,
    place: Place,
    zones: Sequence[ZoneSoil],
    weather: WeatherDays,
    as_of: dt.date,
    first: dt.date,
    rain_weight_at: Mapping[dt.datetime, float],
    last: dt.date | None = None,
    facts: Sequence[ZoneFacts] | None = None,
    past: PastDays | None = None,
    told_hours: Mapping[dt.datetime, ToldHour] | None = None,
    members: int = MEMBERS,
) -> Ground:
    """Work out the ground over the weather's days; hours are kept from `first`, or from where the members part.

    `rain_weight_at` says by hour (UTC) how a day's rain shares itself out; an hour that it lacks counts 0, and the
    rain of a day without any is shared out evenly, or falls in the afternoon if the day is still ahead. `facts` are
    those of each zone, `past` the days from which members take theirs beyond the forecast, `told_hours` the
    forecast's hours (UTC). The ground starts drained and not dried on the weather's first day.
    """
    line = timeline(
        place=place, weather=weather, as_of=as_of, first=first, last=last, rain_weight_at=rain_weight_at
    )
    dealt = deal_members(weather=weather, days_ahead=days_ahead_of(line), members=members, past=past)
    known = list(facts) if facts is not None else [nothing_known(len(weather.days))] * len(zones)
    columns, places = share_columns(zones, [with_own_days(one, line) for one in known])
    crops = crops_ahead(columns=columns, weather=weather)
    driving = Driving(
        rain_mm=dealt.rain_mm, told_rain_mm=weather.rain_mm, et0_mm=_et0_mm(place, weather, dealt)
    )
    sun = sun_or_usual(place=place, line=line, dealt=dealt)
    hours = empty_hours(line=line, columns=len(columns), members=members)
    by_days: list[dict[str, Values]] = []
    warmths: list[BlockWarmth] = []
    block = max(BLOCK_CELLS // members, 1)
    for start in range(0, len(columns), block):
        end = min(start + block, len(columns))
        mine, grown = columns[start:end], crops.of(range(start, end))
        water = run_water(columns=mine, crops=grown, driving=driving, line=line, hours=hours.of(start, end))
        by_days.append(water.by_day)
        warmth = soil_warmth(
            columns=mine, crops=grown, dealt=dealt, sun_mj_m2=sun, wet_m3_m3=water.end_m3_m3, line=line
        )
        warmths.append(warmth.since(line.days_from))  # of the months before nothing is told
    air = air_hours(place=place, weather=weather, dealt=dealt, line=line, told=told_hours or {})
    kept = slice(line.days_from, None)
    read = {place: hours_read(column, line) for place, column in enumerate(columns) if column.facts.so_far}
    shown = slice(line.kept_from, None)

    def by_day(name: str) -> Values:
        return np.concatenate([values[name] for values in by_days], axis=1)[kept]

    rooted = ~np.isnan(crops.total_mm[kept])
    return Ground(
        place=place,
        as_of=as_of,
        zones=tuple(zones),
        columns=places,
        weather=_from_day(weather, line),
        grid=line.kept_hours(),
        grid_day_offset=line.kept_from - line.days_from,
        topsoil_m3_m3=hours.topsoil_m3_m3,
        subsoil_m3_m3=hours.subsoil_m3_m3,
        seed_m3_m3=hours.seed_m3_m3,
        rain_hour_mm=air.rain_mm,
        air_hour_c=air.temp_c,
        humidity_hour_pct=air.humidity_pct,
        wind_hour_m_s=air.wind_m_s,
        inversion_hour=air.inversion,
        sunrise_h=line.sunrise_h[shown],
        sunset_h=line.sunset_h[shown],
        air_min_c=dealt.temp_min_c[kept],
        air_max_c=dealt.temp_max_c[kept],
        dd60_f=np.asarray(
            dd60_f(
                temp_max_f=fahrenheit_from_celsius(dealt.temp_max_c[kept]),
                temp_min_f=fahrenheit_from_celsius(dealt.temp_min_c[kept]),
            )
        ),
        et0_mm=driving.et0_mm[kept],
        soil_mean_c=np.concatenate([one.mean_c for one in warmths], axis=1),
        thermometer_c=np.concatenate([one.thermometer_c for one in warmths], axis=1),
        surface_amplitude_c=np.concatenate([one.amplitude_c for one in warmths], axis=1),
        topsoil_morning_m3_m3=by_day("topsoil_morning"),
        topsoil_day_m3_m3=by_day("topsoil_day"),
        topsoil_low_m3_m3=by_day("topsoil_low"),
        topsoil_high_m3_m3=by_day("topsoil_high"),
        subsoil_day_m3_m3=by_day("subsoil_day"),
        seed_morning_m3_m3=by_day("seed_morning"),
        rootzone_depletion_mm=np.where(rooted, by_day("rootzone_depletion"), np.nan),
        rootzone_allowed_mm=crops.allowed_mm[kept],
        rootzone_total_mm=crops.total_mm[kept],
        root_depth_m=np.where(rooted, crops.days.root_depth_m[kept], np.nan),
        stage=tuple(words[kept] for words in crops.stage),
        watered_mm=np.array([column.facts.watered_mm[kept] for column in columns]).T,
        field_rain_mm=_field_rain_mm(columns, weather, read)[kept],
        rain_source=tuple(column.facts.rain_source[kept] for column in columns),
        remark_shift_m3_m3=by_day("remark_shift"),
        hours_read={
            place: tuple(one.moved(days=line.days_from, hours=line.first_kept_hour) for one in mine)
            for place, mine in read.items()
        },
    )


def _et0_mm(place: Place, weather: WeatherDays, dealt: MemberDays) -> Values:
    """Return what the reference evaporates, at most what the balance takes: in a desert's storm members may pass it."""
    et0_mm = reference_et_mm(
        place=place,
        days=weather.days,
        temp_min_c=dealt.temp_min_c,
        temp_max_c=dealt.temp_max_c,
        solar_mj_m2=dealt.solar_mj_m2,
        wind_m_s=dealt.wind_m_s,
        humidity_min_pct=dealt.humidity_min_pct,
        humidity_max_pct=dealt.humidity_max_pct,
    )
    return np.minimum(et0_mm, MOST_ET0_MM)


def _field_rain_mm(
    columns: Sequence[Column], weather: WeatherDays, so_far: Mapping[int, Sequence[HoursRead]]
) -> Values:
    """Return the rain of each day and column: what was read there, of an unfinished day so far, else the farm's."""
    read = np.array([column.facts.rain_mm for column in columns]).T
    fallen: Values = np.where(np.isnan(read), weather.rain_mm[:, np.newaxis], read)
    for place, days in so_far.items():
        for one in days:
            fallen[one.day, place] = one.rain_mm.sum()
    return fallen


def _from_day(weather: WeatherDays, line: Timeline) -> WeatherDays:
    parts = {name: getattr(weather, name)[line.days_from :] for name in WeatherDays.__dataclass_fields__}
    return WeatherDays(**parts)
