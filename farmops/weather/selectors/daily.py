"""The days of a farm in one row: read, filled, forecast, and usual beyond the forecast."""

import datetime as dt
import math
from dataclasses import dataclass

import numpy as np
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext

from farmops.core.clock import local_date
from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm
from farmops.weather.selectors.climatology import RAIN, WET_DAY_MM, Climatology, UsualDay
from farmops.weather.selectors.forecasts import ForecastDay, forecast_days
from farmops.weather.selectors.interpolation import Flags, Values
from farmops.weather.selectors.observed import REQUIRED, observed_days
from farmops.weather.sources.gaps import LONGEST_DAYS
from farmops.weather.sources.rows import QUANTITIES

OBSERVED, FILLED, FORECAST, CLIMATOLOGY = "observed", "filled", "forecast", "climatology"
LOW, HIGH = QUANTITIES.index("temp_min_c"), QUANTITIES.index("temp_max_c")
MOST_NAMED = 6
SAID_OF = {
    "temp_min_c": gettext_noop("the day's lowest temperature"),
    "temp_max_c": gettext_noop("the day's highest temperature"),
    "rain_mm": gettext_noop("the rain"),
}


class NoWeather(DomainError):
    """The farm has no weather to go by."""

    code = "no_weather"
    kind = Kind.CONFLICT


@dataclass(frozen=True)
class DailySeries:
    """One value a day and quantity, all of equal length; nan where nothing is known.

    `rain_mm` is what fell, what is forecast, or the long-run mean of all days; `rain_if_wet_mm` is the amount
    in case it does rain (the same, but for usual days the mean of the wet ones), so that chance times amount
    is the mean. `rain_chance` is 0..1, and for days that were read 1 where it rained. `wind_m_s` is at 2 m.
    `kind` says where a day comes from: observed, filled (from its neighbors), forecast, climatology. `notes`
    are sentences for people.
    """

    days: list[dt.date]
    temp_min_c: Values
    temp_max_c: Values
    rain_mm: Values
    rain_if_wet_mm: Values
    rain_chance: Values
    solar_mj_m2: Values
    wind_m_s: Values
    humidity_min_pct: Values
    humidity_max_pct: Values
    kind: list[str]
    notes: tuple[str, ...]


@dataclass
class _Rows:
    """The series while it is put together."""

    values: Values
    if_wet: Values
    chance: Values
    kind: list[str]
    notes: list[str]


def daily_series(*, farm: Farm, first: dt.date, last: dt.date, as_of: dt.date | None = None) -> DailySeries:
    """Return the weather of `first`..`last` as it was known at the end of `as_of` (None: all that is known).

    Days that were read count up to and including `as_of`; others come from the newest forecast that was out
    by then, else from the farm's own usual weather (see `Climatology`).
    """
    if last < first:
        raise ValueError(f"last {last} is before first {first}")
    days = [first + dt.timedelta(days=offset) for offset in range((last - first).days + 1)]
    until = last if as_of is None else min(last, as_of)
    read = observed_days(farm=farm, first=first, last=until)
    forecast = forecast_days(farm=farm, as_of=as_of) if len(read) < len(days) else {}
    rows = _Rows(
        values=np.full((len(days), len(QUANTITIES)), math.nan),
        if_wet=np.full(len(days), math.nan),
        chance=np.full(len(days), math.nan),
        kind=[CLIMATOLOGY] * len(days),
        notes=[],
    )
    for index, day in enumerate(days):
        if day in read:
            rows.values[index] = read[day].values
            rows.kind[index] = FILLED if read[day].is_filled else OBSERVED
        elif day in forecast:
            _put_forecast(rows, index, forecast[day])
    _say_age(rows, days, forecast, farm, as_of)
    if np.isnan(rows.values[:, :REQUIRED]).any():
        known = observed_days(farm=farm, first=None, last=as_of)
        if not known:
            raise NoWeather(
                _("No weather is known for {farm}. Import some with import_weather.").format(farm=farm.name)
            )
        _put_usual(rows, days, Climatology(known))
        _refuse_unread(rows, farm)
        _say_holes(rows, days, min(known), until if as_of is not None else max(known))
    _finish_rain(rows)
    columns = {name: rows.values[:, index] for index, name in enumerate(QUANTITIES)}
    return DailySeries(
        days=days,
        **columns,
        rain_if_wet_mm=rows.if_wet,
        rain_chance=rows.chance,
        kind=rows.kind,
        notes=tuple(rows.notes),
    )


def _refuse_unread(rows: _Rows, farm: Farm) -> None:
    """Refuse weather of which a quantity that the ground needs was never read."""
    unread = [
        name
        for name, column in zip(QUANTITIES[:REQUIRED], rows.values.T, strict=False)
        if np.isnan(column).any()
    ]
    if unread:
        said = _(SAID_OF[unread[0]])
        for name in unread[1:]:
            said = _("{some} and {last}").format(some=said, last=_(SAID_OF[name]))
        told = ngettext(
            "Of the weather of {farm}, {what} was never read; the ground needs it. Import it with import_weather.",
            "Of the weather of {farm}, {what} were never read; the ground needs it. Import it with import_weather.",
            len(unread),
        )
        raise NoWeather(told.format(farm=farm.name, what=said))


def _put_forecast(rows: _Rows, index: int, day: ForecastDay) -> None:
    rows.values[index] = day.values
    rows.kind[index] = FORECAST
    rain_mm = day.values[RAIN]
    rows.if_wet[index] = rain_mm
    rows.chance[index] = day.rain_chance
    if math.isnan(day.rain_chance) and not math.isnan(rain_mm):
        rows.chance[index] = float(rain_mm >= WET_DAY_MM)


def _put_usual(rows: _Rows, days: list[dt.date], climatology: Climatology) -> None:
    off_season: list[dt.date] = []
    in_part: list[dt.date] = []
    for index, day in enumerate(days):
        missing = np.isnan(rows.values[index])
        if not missing[:REQUIRED].any():
            continue
        usual = climatology.usual(day)
        if not usual.is_of_season:
            off_season.append(day)
        if rows.kind[index] == CLIMATOLOGY:
            rows.values[index] = usual.values
            rows.chance[index], rows.if_wet[index] = usual.rain_chance, usual.rain_if_wet_mm
        elif rows.kind[index] == FORECAST:
            _put_forecast_rain(rows, index, usual)
        else:
            needed = missing & (np.arange(len(QUANTITIES)) < REQUIRED)
            rows.values[index] = np.where(needed, usual.values, rows.values[index])
            _keep_order(rows.values[index], usual.values, missing)
            rows.kind[index] = FILLED
            in_part.append(day)
    rows.notes += [
        f"{stretch}: not all was read; the usual of the season stands in." for stretch in _stretches(in_part)
    ]
    if off_season:
        rows.notes.append(
            f"{len(off_season)} days from {off_season[0]} on: too little history for that time of year; "
            "the mean of the nearest 14 known days stands in, for rain of the nearest 60. Bet no day on them."
        )


def _put_forecast_rain(rows: _Rows, index: int, usual: UsualDay) -> None:
    """An issue gives chances for a week, amounts for about three days: beyond, those of a usual wet day."""
    if math.isnan(rows.chance[index]):
        rows.chance[index] = usual.rain_chance
    rows.if_wet[index] = usual.rain_if_wet_mm
    rows.values[index, RAIN] = rows.chance[index] * usual.rain_if_wet_mm


def _finish_rain(rows: _Rows) -> None:
    for index, kind in enumerate(rows.kind):
        if kind in (OBSERVED, FILLED):
            rows.if_wet[index] = rows.values[index, RAIN]
            rows.chance[index] = float(rows.values[index, RAIN] > 0)


def _keep_order(values: Values, usual: Values, missing: Flags) -> None:
    """Where the usual low is above the high that was read, or the other way round, keep the usual spread instead."""
    spread = usual[HIGH] - usual[LOW]
    if values[LOW] > values[HIGH]:
        if missing[LOW]:
            values[LOW] = values[HIGH] - spread
        else:
            values[HIGH] = values[LOW] + spread


def _say_holes(rows: _Rows, days: list[dt.date], first_known: dt.date, until: dt.date) -> None:
    """Name the days too many to be made from neighbors on which nothing was read, though days before were."""
    unread = [day for day, kind in zip(days, rows.kind) if kind == CLIMATOLOGY and first_known < day <= until]
    rows.notes += [
        f"{stretch}: nothing was read; the usual weather stands in."
        for stretch in _stretches(unread, least_days=LONGEST_DAYS + 1)
    ]


def _stretches(days: list[dt.date], *, least_days: int = 1) -> list[str]:
    """Return neighboring days in words, one text a stretch; at most a few, then how many more."""
    found: list[tuple[dt.date, dt.date]] = []
    for day in days:
        if found and (day - found[-1][1]).days == 1:
            found[-1] = (found[-1][0], day)
        else:
            found.append((day, day))
    told = [
        f"{first}" if first == last else f"{first} to {last} ({(last - first).days + 1} days)"
        for first, last in found
        if (last - first).days + 1 >= least_days
    ]
    more = len(told) - MOST_NAMED
    return told if more <= 0 else [*told[:MOST_NAMED], f"{more} more stretches of days"]


def _say_age(
    rows: _Rows,
    days: list[dt.date],
    forecast: dict[dt.date, ForecastDay],
    farm: Farm,
    as_of: dt.date | None,
) -> None:
    """Say that the forecast is old, or that what forecast there is has run out before the days ahead."""
    if as_of is None or not forecast:
        return
    used = [forecast[day].issued_at for day, kind in zip(days, rows.kind) if kind == FORECAST]
    issued_on = local_date(max(used or (day.issued_at for day in forecast.values())), farm.zone)
    if days[-1] > as_of and max(forecast) <= as_of:
        rows.notes.append(
            f"The newest forecast is of {issued_on} and tells no day after {as_of}; the usual weather stands in."
        )
    elif used and (as_of - issued_on).days > 1:
        rows.notes.append(f"The newest forecast is of {issued_on}, more than a day before {as_of}.")
