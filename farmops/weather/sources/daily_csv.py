"""Our own plain CSV of days, with the units in the column names.

Temperatures and rain may stand in °F and inches as well, under names that say so; they are kept in °C and mm.
"""

import datetime as dt
import math
import re
from collections.abc import Callable, Mapping

from farmops.science.units import celsius_from_fahrenheit, mm_from_inches
from farmops.weather.sources.rows import QUANTITIES, REQUIRED, DayFile, Reading, UnreadableFile, bad_line
from farmops.weather.sources.text import csv_rows

NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)", re.ASCII)
DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
YEARS = range(1800, 2201)


def _from_fahrenheit(value: float) -> float:
    return round(float(celsius_from_fahrenheit(temp_f=value)), 2)


def _from_inches(value: float) -> float:
    return round(float(mm_from_inches(value)), 2)


ALSO: Mapping[str, tuple[str, Callable[[float], float]]] = {
    "temp_min_f": ("temp_min_c", _from_fahrenheit),
    "temp_max_f": ("temp_max_c", _from_fahrenheit),
    "rain_in": ("rain_mm", _from_inches),
}
"""Columns in the units of the country, with what they become."""


def read(*, text: str, station: str) -> DayFile:
    """Return the readings of a `daily-csv` text, all of them at `station`."""
    file = DayFile()
    rows = csv_rows(text)
    line, header = next(rows)
    names = [name.strip() for name in header]
    _check_header(names)
    for line, cells in rows:
        if len(cells) != len(names):
            file.bad.append(bad_line(line, f"has {len(cells)} cells, the header names {len(names)}"))
            continue
        try:
            file.readings += _readings(dict(zip(names, cells)), line, station)
        except ValueError as error:
            file.bad.append(bad_line(line, str(error)))
    if not file.readings and not file.bad:
        raise UnreadableFile("holds a header and no days")
    return file


def _check_header(names: list[str]) -> None:
    if len(names) == 1 and ";" in names[0]:
        raise UnreadableFile("is parted by semicolons; daily-csv is parted by commas (line 1)")
    unknown = [name for name in names if name not in ("date", *QUANTITIES, *ALSO)]
    kept = [ALSO[name][0] if name in ALSO else name for name in names]
    doubled = sorted({name for name in kept if kept.count(name) > 1})
    missing = [name for name in ("date", *REQUIRED) if name not in kept]
    says = [
        *(f"{name!r} is no column of daily-csv" for name in unknown),
        *(f"{name!r} stands twice" for name in doubled),
        *(f"{name!r} is missing" for name in missing),
    ]
    if says:
        raise UnreadableFile(
            f"has another header than daily-csv (line 1): {'; '.join(says)}. "
            f"Required: {', '.join(('date', *REQUIRED))}; known besides: {', '.join(QUANTITIES[len(REQUIRED) :])}; "
            f"in °F and inches: {', '.join(ALSO)}"
        )


def _readings(row: dict[str, str], line: int, station: str) -> list[Reading]:
    day = date(row["date"].strip())
    found = []
    for name in row:
        text = row[name].strip()
        if name == "date" or not text:
            continue
        quantity, turned = ALSO.get(name, (name, float))
        found.append(
            Reading(line=line, station=station, day=day, quantity=quantity, value=turned(number(text, name)))
        )
    return found


def date(text: str) -> dt.date:
    """Return the date of YYYY-MM-DD; ValueError with a sentence otherwise."""
    if not DATE.fullmatch(text):
        raise ValueError(f"date {text!r} is not of the form YYYY-MM-DD")
    try:
        day = dt.date.fromisoformat(text)
    except ValueError as error:
        raise ValueError(f"date {text!r} is not in the calendar") from error
    if day.year not in YEARS:
        raise ValueError(f"date {text!r} is not between {YEARS[0]} and {YEARS[-1]}")
    return day


def number(text: str, name: str) -> float:
    """Return a plain decimal number; ValueError with a sentence otherwise."""
    if not NUMBER.fullmatch(text):
        raise ValueError(f"{name} {text!r} is not a number")
    value = float(text)
    if not math.isfinite(value):
        raise ValueError(f"{name} {text!r} is not a number")
    return value
