"""The daily station archive (GHCN-Daily), in its two CSV layouts.

* Long, without a header: `ID, YYYYMMDD, ELEMENT, VALUE, M-FLAG, Q-FLAG, S-FLAG, OBS-TIME`, one value a line.
* Wide, with a header: `STATION, DATE, LATITUDE, LONGITUDE, ELEVATION, NAME`, then `ELEMENT, ELEMENT_ATTRIBUTES`
  pairs, one day a line; the attributes are the same flags parted by commas.

Source: the archive's station readme (public); the wide layout and what is said "from memory" from memory.

Values are whole numbers: temperatures, rain and wind in tenths of °C, mm and m/s, humidity in percent. A
value with a quality flag failed a check and is left out; -9999 and an absent line are missing, which is not
zero. `T` marks a trace, which is zero rain. `P` marks a missing value presumed zero, `A` a total of several
days (from memory): both are left out.

Rain and high that are read in the morning belong mostly to the day before (24 hours ending at, say, 7 am) and
are booked there, as gridded daily data sets do (from memory); the low of that morning stays.
"""

import datetime as dt
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from farmops.science.atmosphere import wind_2m_m_s
from farmops.science.ranges import OutOfRange
from farmops.weather.sources.daily_csv import YEARS
from farmops.weather.sources.ranges import off_the_globe
from farmops.weather.sources.rows import DayFile, Reading, StationFacts, UnreadableFile, bad_line
from farmops.weather.sources.text import csv_rows


def _tenths(value: int) -> float:
    return value / 10


def _wind(value: int) -> float:
    return float(wind_2m_m_s(wind_m_s=value / 10, height_m=10.0))


ELEMENTS: Mapping[str, tuple[str, Callable[[int], float]]] = {
    "TMIN": ("temp_min_c", _tenths),
    "TMAX": ("temp_max_c", _tenths),
    "PRCP": ("rain_mm", _tenths),
    "AWND": ("wind_m_s", _wind),
    "RHMN": ("humidity_min_pct", float),
    "RHMX": ("humidity_max_pct", float),
}
BOOKED_BACK = ("TMAX", "PRCP")
LEFT_OUT_MARKS = {"P": "missing, presumed zero", "A": "a total of several days"}
MISSING = -9999
STATION = re.compile(r"[A-Z]{2}[A-Z0-9_-]{9}")
WHOLE = re.compile(r"[+-]?\d{1,6}(\.0*)?", re.ASCII)
FRACTION = re.compile(r"[+-]?\d*\.\d+", re.ASCII)
DAY = re.compile(r"(\d{4})-?(\d{2})-?(\d{2})", re.ASCII)
CLOCK = re.compile(r"([01]\d|2[0-4])[0-5]\d", re.ASCII)
FIXED_WIDTH = re.compile(r"[A-Z]{2}[A-Z0-9_-]{9}\d{6}[A-Z]{4}[ \d-]{5}")
NOON = 1200
HIGHEST_M = 9000
DEGREES = re.compile(r"[+-]?\d{1,6}(\.\d{1,12})?", re.ASCII)


@dataclass(frozen=True)
class _Cell:
    """One value with its flags, as it stands in either layout."""

    line: int
    station: str
    day: dt.date
    element: str
    value: str
    marks: tuple[str, ...]
    """measurement, quality, source, time of observation"""


def read(*, text: str) -> DayFile:
    """Return the readings of either layout; the layout is told by the first line."""
    file = DayFile()
    rows = csv_rows(text)
    line, cells = next(rows)
    head = [cell.strip().upper() for cell in cells]
    if "STATION" in head and "DATE" in head:
        values = _wide(rows, head, file)
    elif head[0] == "ID" or (len(head) >= 4 and STATION.fullmatch(head[0])):
        first = [] if head[0] == "ID" else [(line, cells)]
        values = _long(first, rows, file)
    elif FIXED_WIDTH.match(head[0]):
        raise UnreadableFile("is the fixed-width layout (.dly); take one of the two CSV layouts")
    else:
        raise UnreadableFile(
            "is neither layout of ghcn-daily: line 1 is no header with STATION and DATE, "
            "and does not begin with a station's eleven signs"
        )
    _keep(values, file)
    if not file.readings and not file.bad:
        raise UnreadableFile(f"holds none of {', '.join(ELEMENTS)} that passed the archive's checks")
    return file


def _long(
    first: list[tuple[int, list[str]]], rows: Iterator[tuple[int, list[str]]], file: DayFile
) -> Iterator[_Cell]:
    for source in (iter(first), rows):
        for line, cells in source:
            cells = [cell.strip() for cell in cells]
            if not 4 <= len(cells) <= 8:
                file.bad.append(bad_line(line, f"has {len(cells)} cells; this layout has 8"))
                continue
            station, date, element, value, *marks = cells
            if not STATION.fullmatch(station):
                file.bad.append(bad_line(line, f"{station!r} is no station of eleven signs"))
                continue
            file.stations.setdefault(station, StationFacts(code=station))
            day = _day(date, line, file)
            if day is not None:
                yield _Cell(line, station, day, element.upper(), value, (*marks, "", "", "", "")[:4])


def _wide(rows: Iterator[tuple[int, list[str]]], head: list[str], file: DayFile) -> Iterator[_Cell]:
    present = [name for name in ELEMENTS if name in head]
    if not present:
        raise UnreadableFile(f"has no column {', '.join(ELEMENTS)} (line 1)")
    doubled = sorted({name for name in head if head.count(name) > 1})
    if doubled:
        raise UnreadableFile(f"names {', '.join(doubled)} twice (line 1)")
    for line, cells in rows:
        if len(cells) != len(head):
            file.bad.append(bad_line(line, f"has {len(cells)} cells, the header names {len(head)}"))
            continue
        row = {name: cell.strip() for name, cell in zip(head, cells)}
        station = row["STATION"]
        if not STATION.fullmatch(station):
            file.bad.append(bad_line(line, f"{station!r} is no station of eleven signs"))
            continue
        if station not in file.stations:
            file.stations[station] = _facts(station, row, line)
        day = _day(row["DATE"], line, file)
        if day is None:
            continue
        for name in present:
            marks = tuple(mark.strip() for mark in row.get(f"{name}_ATTRIBUTES", "").split(","))
            yield _Cell(line, station, day, name, row[name], (*marks, "", "", "", "")[:4])


def _keep(cells: Iterator[_Cell], file: DayFile) -> None:
    """Turn cells into readings: leave out what failed, bring into units, book back what was read in the
    morning.
    """
    failed = left_out = back = several_days = 0
    moved: list[Reading] = []
    spoiled: set[int] = set()
    for cell in cells:
        several_days += cell.element == "MDPR"
        if cell.element not in ELEMENTS or not cell.value:
            continue
        value = _whole(cell, file)
        if value is None:
            spoiled.add(cell.line)
            continue
        measurement, quality, _source, clock = cell.marks
        if value == MISSING:
            continue
        if quality:
            failed += 1
            continue
        if measurement in LEFT_OUT_MARKS:
            left_out += 1
            continue
        quantity, convert = ELEMENTS[cell.element]
        day = cell.day
        is_moved = cell.element in BOOKED_BACK and _is_morning(clock)
        if is_moved:
            day -= dt.timedelta(days=1)
            back += 1
        try:
            number = 0.0 if measurement == "T" and quantity == "rain_mm" else convert(value)
        except OutOfRange as error:
            file.bad.append(bad_line(cell.line, f"{cell.element} {value} is out of range: {error}"))
            spoiled.add(cell.line)
            continue
        reading = Reading(cell.line, cell.station, day, quantity, number)
        (moved if is_moved else file.readings).append(reading)
    taken = {(reading.station, reading.day, reading.quantity) for reading in file.readings}
    crowded = [reading for reading in moved if (reading.station, reading.day, reading.quantity) in taken]
    file.readings += [
        reading for reading in moved if (reading.station, reading.day, reading.quantity) not in taken
    ]
    file.readings = [reading for reading in file.readings if reading.line not in spoiled]
    file.readings.sort(key=lambda reading: reading.line)
    for count, says in (
        (failed, "Left out, having failed the archive's quality checks"),
        (left_out, f"Left out, being {' or '.join(LEFT_OUT_MARKS.values())}"),
        (back, "Rain and high that were read in the morning, booked to the day before"),
        (len(crowded), "Left out, being booked back to a day that has a reading of its own"),
        (several_days, "Left out, being rain over several days (MDPR)"),
    ):
        if count:
            file.notes.append(f"{says}: {count} {'value' if count == 1 else 'values'}.")


def _whole(cell: _Cell, file: DayFile) -> int | None:
    if WHOLE.fullmatch(cell.value):
        return int(cell.value.partition(".")[0])
    if FRACTION.fullmatch(cell.value):
        raise UnreadableFile(
            f"gives {cell.element} as {cell.value} (line {cell.line}): this layout counts whole tenths of °C and mm. "
            "It seems to be converted already; take the file without conversion"
        )
    file.bad.append(bad_line(cell.line, f"{cell.element} {cell.value!r} is not a whole number"))
    return None


def _is_morning(clock: str) -> bool:
    return bool(CLOCK.fullmatch(clock)) and int(clock) < NOON


def _day(text: str, line: int, file: DayFile) -> dt.date | None:
    match = DAY.fullmatch(text)
    try:
        day = dt.date(*(int(part) for part in match.groups())) if match else None
    except ValueError:
        day = None
    if day is None or day.year not in YEARS:
        file.bad.append(
            bad_line(line, f"date {text!r} is not a day of the calendar from {YEARS[0]} to {YEARS[-1]}")
        )
        return None
    return day


def _facts(code: str, row: Mapping[str, str], line: int) -> StationFacts:
    latitude_deg = _degrees(row, "LATITUDE", line)
    longitude_deg = _degrees(row, "LONGITUDE", line)
    if latitude_deg is not None and longitude_deg is not None:
        says = off_the_globe(latitude_deg=latitude_deg, longitude_deg=longitude_deg)
        if says is not None:
            raise UnreadableFile(f"gives station {code} {says} (line {line})")
    return StationFacts(
        code=code,
        name=row.get("NAME", ""),
        latitude_deg=latitude_deg,
        longitude_deg=longitude_deg,
        elevation_m=_elevation_m(row.get("ELEVATION", "")),
    )


def _degrees(row: Mapping[str, str], name: str, line: int) -> float | None:
    text = row.get(name, "")
    if not text:
        return None
    if not DEGREES.fullmatch(text):
        raise UnreadableFile(f"gives the {name} {text!r}, which is no number of degrees (line {line})")
    return float(text)


def _elevation_m(text: str) -> float | None:
    """Return the elevation; the archive writes -999.9 where it knows none."""
    try:
        value = float(text)
    except ValueError:
        return None
    return value if abs(value) <= HIGHEST_M and value != -999.9 else None
