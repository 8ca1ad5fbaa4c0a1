"""How a run goes through its days: by the day long ago, by the hour lately and ahead, with members from a day on."""

import datetime as dt
from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

import numpy as np

from farmops.science.radiation import sunrise_sunset_h
from farmops.science.soil_column import daylight_shares
from scheduling.windows.day_weather import Place, Values, WeatherDays
from scheduling.windows.hours import HourGrid, hour_grid
from scheduling.windows.members import hour_shares

SPIN_UP_DAYS = 90
"""At least so many days are run before the first one shown; nothing of a start is left by then."""
MOST_DAYS_BEFORE = 400
HOURLY_DAYS_BEFORE = 10
"""So many days before the members part are run by the hour, so that a morning's water is that of the night's rain."""
DAYS_KEPT_BEFORE = 21
"""So many days before the first hour stay with the ground, for limits that look back."""
UNREAD_DAYS_MOST = 14
"""Days of which nothing was read part the members early, at most so many."""
SHOWER_FIRST_H, SHOWER_LAST_H = 14.0, 20.0
"""When rain falls on a day ahead of which only the amount is told: a shower, not a day of drizzle. Farm judgement."""
NOON = dt.time(12)
READ = frozenset({"observed", "filled"})


@dataclass(frozen=True)
class Timeline:
    """Places in `days`: daily steps up to `hourly_from`, hours up to `hourly_until`, daily steps after that.

    Members part at `members_from`; hours are kept from `kept_from` on, days from `days_from` on. `hours` are those
    from `hourly_from` to the end, with the share of its day's rain and of its day's evapotranspiration in each.
    """

    days: tuple[dt.date, ...]
    days_from: int
    hourly_from: int
    members_from: int
    kept_from: int
    hourly_until: int
    hours: HourGrid
    rain_share: Values
    daylight_share: Values
    sunrise_h: Values
    sunset_h: Values

    def hour_of(self, instant: dt.datetime) -> int:
        """Return the place of an instant's hour among `hours`; negative before them."""
        return bisect_right(self.hours.starts, instant.astimezone(dt.UTC)) - 1

    def day_of(self, instant: dt.datetime) -> int:
        """Return the place of an instant's local day among `days`; negative before them."""
        return (instant.astimezone(ZoneInfo(self.hours.zone)).date() - self.days[0]).days

    def clock_of(self, instant: dt.datetime) -> float:
        """Return what the local clock shows at an instant, hours."""
        local = instant.astimezone(ZoneInfo(self.hours.zone))
        return local.hour + local.minute / 60

    def hours_of(self, first: int, last: int) -> slice:
        """Return the places of the hours of the days `first` up to, not with, `last`."""
        begins, ends = np.searchsorted(
            self.hours.day_index, [first - self.hourly_from, last - self.hourly_from]
        )
        return slice(int(begins), int(ends))

    @property
    def first_kept_hour(self) -> int:
        """Return the place of the first hour that is kept."""
        return self.hours_of(self.kept_from, self.kept_from).start

    def kept_hours(self) -> HourGrid:
        """Return the hours from the first kept day on."""
        return hour_grid(first=self.days[self.kept_from], last=self.days[-1], zone=self.hours.zone)


def spin_up_first(*, first: dt.date, as_of: dt.date, planted_on: dt.date | None = None) -> dt.date:
    """Return the first day of weather that a run over `first`.. needs: from planting on, if that was longer ago."""
    parts = min(first, as_of + dt.timedelta(days=1))
    begins = parts - dt.timedelta(days=SPIN_UP_DAYS)
    if planted_on is None:
        return begins
    return max(min(begins, planted_on), parts - dt.timedelta(days=MOST_DAYS_BEFORE))


def timeline(
    *,
    place: Place,
    weather: WeatherDays,
    as_of: dt.date,
    first: dt.date,
    last: dt.date | None,
    rain_weight_at: Mapping[dt.datetime, float],
) -> Timeline:
    """Lay out a run that keeps the hours from `first` (or from where the members part) and looks closely up to `last`."""
    days = weather.days
    if (days[-1] - days[0]).days != len(days) - 1:
        raise ValueError(
            f"{len(days)} days of weather from {days[0]} to {days[-1]}: some lack or stand twice"
        )
    kept_from = days.index(min(first, as_of + dt.timedelta(days=1)))
    members_from = _members_part(weather, as_of)
    hourly_from = max(min(kept_from, members_from) - HOURLY_DAYS_BEFORE, 0)
    hourly_until = len(days) if last is None else min(days.index(last) + 2, len(days))
    hourly_until = max(hourly_until, members_from)
    hours = hour_grid(first=days[hourly_from], last=days[-1], zone=place.zone)
    sunrise_h, sunset_h = sun_of_days(place, days)
    mine = hours.day_index + hourly_from
    return Timeline(
        days=days,
        days_from=max(min(kept_from, members_from) - DAYS_KEPT_BEFORE, 0),
        hourly_from=hourly_from,
        members_from=members_from,
        kept_from=kept_from,
        hourly_until=hourly_until,
        hours=hours,
        rain_share=hour_shares(
            day_index=hours.day_index,
            minutes=hours.minutes,
            weight=_weights(hours, rain_weight_at, days[members_from - 1] if members_from else None),
            days=len(hours.days),
        ),
        daylight_share=daylight_shares(
            clock_h=hours.clock_h,
            hours_long=hours.minutes / 60,
            sunrise_h=sunrise_h[mine],
            sunset_h=sunset_h[mine],
        ),
        sunrise_h=sunrise_h,
        sunset_h=sunset_h,
    )


def days_ahead_of(line: Timeline) -> np.ndarray:
    """Return by day how far ahead it is: 0 for days that were read, 1 for the first that was not."""
    ahead: np.ndarray = np.maximum(np.arange(len(line.days)) - line.members_from + 1, 0)
    return ahead


def sun_of_days(place: Place, days: Sequence[dt.date]) -> tuple[Values, Values]:
    """Return each day's sunrise and sunset on the place's clock, hours."""
    clock = ZoneInfo(place.zone)
    offsets = [dt.datetime.combine(day, NOON, tzinfo=clock).utcoffset() or dt.timedelta() for day in days]
    sunrise_h, sunset_h = sunrise_sunset_h(
        latitude_deg=place.latitude_deg,
        longitude_deg=place.longitude_deg,
        day_of_year=np.array([day.timetuple().tm_yday for day in days], dtype=np.float64),
        utc_offset_h=np.array([offset.total_seconds() / 3600 for offset in offsets]),
    )
    return np.asarray(sunrise_h), np.asarray(sunset_h)


def _members_part(weather: WeatherDays, as_of: dt.date) -> int:
    """Return the first day that was not read: the day after `as_of`, or sooner where its weather is not in yet."""
    known = weather.days.index(as_of) + 1 if as_of < weather.days[-1] else len(weather.days)
    soonest = max(known - UNREAD_DAYS_MOST, 1)
    while known > soonest and weather.kind[known - 1] not in READ:
        known -= 1
    return known


def _weights(
    hours: HourGrid, rain_weight_at: Mapping[dt.datetime, float], read_until: dt.date | None
) -> Values:
    """Return how a day's rain shares itself out; on a day ahead without hours of its own it is an afternoon's shower."""
    weight = np.array([rain_weight_at.get(hour, 0.0) for hour in hours.starts])
    is_told = np.bincount(hours.day_index, weights=weight, minlength=len(hours.days)) > 0
    is_ahead = np.array([read_until is None or day > read_until for day in hours.days])
    shower = (hours.clock_h >= SHOWER_FIRST_H) & (hours.clock_h < SHOWER_LAST_H)
    unknown: Values = np.where((is_ahead & ~is_told)[hours.day_index] & shower, 1.0, weight)
    return unknown
