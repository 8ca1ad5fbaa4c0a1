"""Forecasts as they were known on a day: the hours of the newest issue, and days made from hours."""

import datetime as dt
import math
from dataclasses import dataclass
from zoneinfo import ZoneInfo

import numpy as np

from farmops.farms.models import Farm
from farmops.science.atmosphere import humidity_pct, vapor_pressure_from_dewpoint_kpa, wind_2m_m_s
from farmops.weather.models import ForecastHour, ForecastIssue
from farmops.weather.selectors.interpolation import Values
from farmops.weather.sources.rows import QUANTITIES

LAYERS = ("temp_c", "dewpoint_c", "humidity_pct", "wind_m_s", "sky_cover_pct", "rain_chance_pct", "rain_mm")
ISSUES_LOOKED_AT = 4
HOURS_THAT_MAKE_A_DAY = 20


@dataclass(frozen=True)
class HourlySeries:
    """The hours of one forecast issue, in order; nan where the issue lacks a layer.

    `hour_at` is the start of each hour in UTC (so that differences are elapsed time), `wind_m_s` is at 10 m,
    `rain_mm` the amount of that hour: a total over several hours has been spread evenly over them.
    """

    source: str
    issued_at: dt.datetime
    hour_at: list[dt.datetime]
    temp_c: Values
    dewpoint_c: Values
    humidity_pct: Values
    wind_m_s: Values
    sky_cover_pct: Values
    rain_chance_pct: Values
    rain_mm: Values


@dataclass(frozen=True)
class ForecastDay:
    """A day of the farm's clock made from hours; `rain_mm` and `rain_chance` are nan where the issue says
    nothing.
    """

    values: Values
    rain_chance: float
    issued_at: dt.datetime


def hourly_forecast(*, farm: Farm, as_of: dt.date) -> HourlySeries | None:
    """Return the newest issue that was out before the end of `as_of` on the farm's clock, or None."""
    issues = _issues(farm, as_of)[:1]
    return _series(issues)[0] if issues else None


def forecast_days(*, farm: Farm, as_of: dt.date | None) -> dict[dt.date, ForecastDay]:
    """Return the days that the newest issues cover, each from the newest issue that has at least 20 of its
    hours.

    Lows, highs and air humidity are the extremes of the hours, wind is their mean brought from 10 m to 2 m,
    rain is their sum. The chance of rain is the highest chance in the day: neighboring hours share one
    chance, so multiplying them would count it twice.
    """
    days: dict[dt.date, ForecastDay] = {}
    zone = ZoneInfo(farm.zone)
    for series in _series(_issues(farm, as_of)):
        local = np.array([hour.astimezone(zone).date().toordinal() for hour in series.hour_at])
        for ordinal in np.unique(local):
            day = dt.date.fromordinal(int(ordinal))
            hours = local == ordinal
            if day not in days and _known(series.temp_c[hours]):
                days[day] = _day(series, hours)
    return days


def _day(series: HourlySeries, hours: np.ndarray) -> ForecastDay:
    row = dict.fromkeys(QUANTITIES, math.nan)
    temp = series.temp_c[hours]
    row["temp_min_c"], row["temp_max_c"] = float(np.nanmin(temp)), float(np.nanmax(temp))
    if _known(series.rain_mm[hours]):
        row["rain_mm"] = float(np.nansum(series.rain_mm[hours]))
    if _known(series.wind_m_s[hours]):
        mean_m_s = float(np.nanmean(series.wind_m_s[hours]))
        row["wind_m_s"] = float(wind_2m_m_s(wind_m_s=mean_m_s, height_m=10.0))
    humidity = _humidity_pct(series, hours)
    if _known(humidity):
        row["humidity_min_pct"], row["humidity_max_pct"] = (
            float(np.nanmin(humidity)),
            float(np.nanmax(humidity)),
        )
    chance = series.rain_chance_pct[hours]
    return ForecastDay(
        values=np.array([row[name] for name in QUANTITIES]),
        rain_chance=float(np.nanmax(chance)) / 100 if _known(chance) else math.nan,
        issued_at=series.issued_at,
    )


def _humidity_pct(series: HourlySeries, hours: np.ndarray) -> Values:
    """The issue's own air humidity; where it lacks one, that of its dewpoint (FAO-56 eqs. 10 and 14)."""
    told = series.humidity_pct[hours]
    temp, dewpoint = series.temp_c[hours], series.dewpoint_c[hours]
    worked = np.isnan(told) & ~np.isnan(temp) & ~np.isnan(dewpoint)
    if worked.any():
        vapor = vapor_pressure_from_dewpoint_kpa(dewpoint_c=np.minimum(dewpoint[worked], temp[worked]))
        told = told.copy()
        told[worked] = humidity_pct(temp_c=temp[worked], vapor_pressure_kpa=vapor)
    return told


def _known(values: Values) -> bool:
    return int(np.count_nonzero(~np.isnan(values))) >= HOURS_THAT_MAKE_A_DAY


def _issues(farm: Farm, as_of: dt.date | None) -> list[ForecastIssue]:
    issues = ForecastIssue.objects.filter(farm=farm).order_by("-issued_at", "source")
    if as_of is not None:
        next_day = dt.datetime.combine(as_of + dt.timedelta(days=1), dt.time(), tzinfo=ZoneInfo(farm.zone))
        issues = issues.filter(issued_at__lt=next_day)
    return list(issues[:ISSUES_LOOKED_AT])


def _series(issues: list[ForecastIssue]) -> list[HourlySeries]:
    rows: dict[int, list[tuple]] = {issue.pk: [] for issue in issues}
    hours = ForecastHour.objects.filter(issue__in=issues).order_by("issue", "hour_at")
    for issue_id, hour_at, *numbers in hours.values_list("issue_id", "hour_at", *LAYERS):
        rows[issue_id].append((hour_at, *(math.nan if number is None else number for number in numbers)))
    made = []
    for issue in issues:
        table = np.array([row[1:] for row in rows[issue.pk]], dtype=np.float64).reshape(-1, len(LAYERS))
        made.append(
            HourlySeries(
                source=issue.source,
                issued_at=issue.issued_at,
                hour_at=[row[0].astimezone(dt.UTC) for row in rows[issue.pk]],
                **{name: table[:, index] for index, name in enumerate(LAYERS)},
            )
        )
    return made
