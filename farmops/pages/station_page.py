"""A weather station: where it stands, what it has told lately, and where days are missing or filled in.

What it is for: to know how far the weather that every window rests on can be trusted. Its user decides there whether
to bring in newer days, or to read the gauges at the fields instead.
"""

import datetime as dt
import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from django.db.models import Avg, Count, Max, Min, Sum
from django.db.models.functions import TruncMonth
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.farms.models import Farm
from farmops.pages import words
from farmops.pages.plots.day_panels import bars_panel, range_panel
from farmops.science.units import (
    KM_PER_MILE,
    fahrenheit_from_celsius,
    feet_from_m,
    inches_from_mm,
    mph_from_m_s,
)
from farmops.weather.models import DailyWeather, Station
from farmops.weather.selectors.interpolation import distances_km

DAYS_SHOWN = 30
MONTHS_SHOWN = 13


def station_facts(*, farm: Farm, station: Station, today: dt.date) -> dict[str, Any]:
    """Return a station's facts, its last days drawn and as a table, and its months; a fixed number of queries."""
    known = DailyWeather.objects.filter(farm=farm, station=station)
    ends = known.aggregate(first=Min("day"), last=Max("day"), count=Count("id"))
    facts: dict[str, Any] = {"station": station, "away_mi": _away_mi(farm, station), **_altitude(station)}
    if ends["last"] is None:
        return facts | {
            "headline": words.capital(_("{station} has told nothing yet.").format(station=station)),
            "days": [],
            "months": [],
        }
    last: dt.date = ends["last"]
    span = [last - dt.timedelta(days=back) for back in range(DAYS_SHOWN - 1, -1, -1)]
    rows = {row.day: row for row in known.filter(day__gte=span[0])}
    days = [(day, rows.get(day)) for day in span]
    begins = _months_back(last, MONTHS_SHOWN - 1)
    missing = sum(1 for _day, row in days if row is None)
    filled = sum(1 for _day, row in days if row is not None and row.is_filled)
    return facts | {
        "headline": words.capital(_headline(station, last, today)),
        "is_old": last < today - dt.timedelta(days=1),
        "known": _("{count} days are kept, {first} to {last}.").format(
            count=f"{ends['count']:,}", first=words.full_date(ends["first"]), last=words.full_date(last)
        ),
        "holes": _holes(missing, filled),
        "rain": _rain(days),
        "warmth": _warmth(days),
        "days": [_row(day, row) for day, row in reversed(days)],
        "months": _months(known.filter(day__gte=begins)),
    }


def stations_facts(*, farm: Farm, today: dt.date) -> dict[str, Any]:
    """Return the farm's stations, the one that told last first, each with how far its days reach; one query."""
    told = Station.objects.filter(farm=farm).annotate(last=Max("days__day"), count=Count("days"))
    rows = sorted(told, key=lambda one: (one.last or dt.date.min, one.code), reverse=True)
    return {
        "headline": _stations_headline(rows, today),
        "rows": [
            {
                "station": one,
                "away_mi": _away_mi(farm, one),
                "last": words.full_date(one.last) if one.last else "",
                "is_old": one.last is not None and one.last < today - dt.timedelta(days=1),
                "count": f"{one.count:,}",
            }
            for one in rows
        ],
    }


def _stations_headline(rows: Sequence[Any], today: dt.date) -> str:
    """Return in a sentence how fresh the weather of the stations is."""
    if not rows:
        return _("No weather station is known yet.")
    last = rows[0].last
    if last is None:
        return _("No station has told anything yet.")
    if last < today - dt.timedelta(days=1):
        return _("The newest day of any station is {day}.").format(day=words.full_date(last))
    fresh = sum(1 for one in rows if one.last == last)
    return ngettext(
        "{count} of {all} station has told to {day}.", "{count} of {all} stations have told to {day}.", fresh
    ).format(
        count=words.capital(words.count_word(fresh)),
        all=words.count_word(len(rows)),
        day=words.long_date(last),
    )


def _headline(station: Station, last: dt.date, today: dt.date) -> str:
    behind = (today - last).days
    if behind <= 1:
        return _("{station} has told of every day to {day}.").format(
            station=station, day=words.long_date(last)
        )
    return ngettext(
        "{station} last told of {day}, {count} day ago.",
        "{station} last told of {day}, {count} days ago.",
        behind,
    ).format(
        station=station,
        day=_("{weekday}, {date}").format(weekday=words.weekday(last), date=words.full_date(last)),
        count=f"{behind:,}",
    )


def _holes(missing: int, filled: int) -> str:
    if not missing and not filled:
        return _("None of its last 30 days is missing or filled in.")
    return _("Of its last 30 days, missing: {missing}; with something filled in: {filled}.").format(
        missing=words.count_word(missing), filled=words.count_word(filled)
    )


def _away_mi(farm: Farm, station: Station) -> str:
    if station.latitude_deg is None or station.longitude_deg is None:
        return ""
    far = distances_km(
        latitude_deg=float(farm.latitude_deg),
        longitude_deg=float(farm.longitude_deg),
        latitudes_deg=np.array([float(station.latitude_deg)]),
        longitudes_deg=np.array([float(station.longitude_deg)]),
    )
    miles = float(far[0]) / KM_PER_MILE
    return f"{miles:.1f}"


def _altitude(station: Station) -> dict[str, str]:
    return {
        "elevation_ft": ""
        if station.elevation_m is None
        else f"{float(feet_from_m(x_m=float(station.elevation_m))):,.0f}"
    }


def _rain(days: list[tuple[dt.date, DailyWeather | None]]) -> Any:
    inches = [math.nan if row is None else _inches(row.rain_mm) for _day, row in days]
    total = math.fsum(one for one in inches if math.isfinite(one))
    return bars_panel(
        [day for day, _row_of in days],
        inches,
        key="rain",
        title=_("Rain, inches a day, {first} to {last}").format(
            first=words.short_date(days[0][0]), last=words.short_date(days[-1][0])
        ),
        desc=_("{total} in these days; the table says each day.").format(total=f"{total:.2f} in"),
        step=0.5,
        told=[row is not None and "rain_mm" in row.filled_names.split() for _day, row in days],
    )


def _warmth(days: list[tuple[dt.date, DailyWeather | None]]) -> Any:
    lows = [math.nan if row is None else _fahrenheit(row.temp_min_c) for _day, row in days]
    highs = [math.nan if row is None else _fahrenheit(row.temp_max_c) for _day, row in days]
    known = [one for one in (*lows, *highs) if math.isfinite(one)]
    return range_panel(
        [day for day, _row_of in days],
        lows,
        highs,
        key="warmth",
        title=_("Air, lowest and highest of the day, °F, {first} to {last}").format(
            first=words.short_date(days[0][0]), last=words.short_date(days[-1][0])
        ),
        desc=_("From {low} to {high} °F; the table says each day.").format(
            low=f"{min(known):.0f}", high=f"{max(known):.0f}"
        )
        if known
        else "",
        step=10.0,
    )


def _row(day: dt.date, row: DailyWeather | None) -> dict[str, Any]:
    if row is None:
        return {"day": words.short_date(day), "is_missing": True}
    return {
        "day": words.short_date(day),
        "rain": _said(_inches(row.rain_mm), 2),
        "low": _said(_fahrenheit(row.temp_min_c), 0),
        "high": _said(_fahrenheit(row.temp_max_c), 0),
        "wind": _said(math.nan if row.wind_m_s is None else float(mph_from_m_s(row.wind_m_s)), 0),
        "is_filled": row.is_filled,
    }


def _months(rows: Any) -> list[dict[str, str]]:
    by_month = (
        rows.annotate(month=TruncMonth("day"))
        .values("month")
        .order_by("-month")
        .annotate(rain=Sum("rain_mm"), low=Avg("temp_min_c"), high=Avg("temp_max_c"), count=Count("id"))
    )
    return [
        {
            "month": words.capital(words.month_and_year(one["month"])),
            "rain": _said(_inches(one["rain"]), 2),
            "low": _said(_fahrenheit(one["low"]), 0),
            "high": _said(_fahrenheit(one["high"]), 0),
            "days": f"{one['count']}",
        }
        for one in by_month
    ]


def _months_back(day: dt.date, count: int) -> dt.date:
    months = day.year * 12 + day.month - 1 - count
    return dt.date(months // 12, months % 12 + 1, 1)


def _inches(rain_mm: float | None) -> float:
    return math.nan if rain_mm is None else float(inches_from_mm(x_mm=rain_mm))


def _fahrenheit(temp_c: float | None) -> float:
    return math.nan if temp_c is None else float(fahrenheit_from_celsius(temp_c=temp_c))


def _said(value: float, places: int) -> str:
    return f"{value:.{places}f}" if math.isfinite(value) else "–"
