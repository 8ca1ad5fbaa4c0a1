"""The national weather service's forecast grid as JSON, from a file.

A grid has `properties.updateTime` and layers, each with a unit (`uom`) and values that hold from a start for
an ISO 8601 duration: `{"validTime": "2026-04-19T22:00:00+00:00/PT3H", "value": 18.3}`. A value of most layers
holds in each hour of its span (equal neighbors are joined); one of `quantitativePrecipitation` is a total
over its span and is spread evenly over the hours. A layer or a value that is not there is missing, which is
not zero.
"""

import datetime as dt
import json
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from farmops.science.units import celsius_from_fahrenheit, m_s_from_km_h
from farmops.weather.sources.ranges import off_the_globe
from farmops.weather.sources.rows import BadRow, UnreadableFile

LONGEST_H = 16 * 24
SPAN = re.compile(r"P(?:(?P<days>\d+)D)?(?:T(?:(?P<hours>\d+)H)?(?:(?P<minutes>\d+)M)?)?", re.ASCII)
GRID = re.compile(r"[A-Za-z0-9]{1,10}/\d{1,6},\d{1,6}", re.ASCII)
UNIT = re.compile(r"^(?:wmoUnit|unit|nwsUnit|uc):")
Convert = Callable[[float], float]


def _same(value: float) -> float:
    return value


def _celsius(value: float) -> float:
    return float(celsius_from_fahrenheit(value))


def _m_s(value: float) -> float:
    return float(m_s_from_km_h(value))


TEMPERATURE: Mapping[str, Convert] = {"degC": _same, "degF": _celsius}
PERCENT: Mapping[str, Convert] = {"percent": _same}
WIND: Mapping[str, Convert] = {"km_h-1": _m_s, "m_s-1": _same}
RAIN: Mapping[str, Convert] = {"mm": _same}


@dataclass(frozen=True)
class Layer:
    """A layer that is read: the name here, the units known, and what is possible after conversion."""

    name: str
    units: Mapping[str, Convert]
    low: float
    high: float
    is_total: bool = False


LAYERS: Mapping[str, Layer] = {
    "temperature": Layer("temp_c", TEMPERATURE, -60, 57),
    "dewpoint": Layer("dewpoint_c", TEMPERATURE, -60, 40),
    "relativeHumidity": Layer("humidity_pct", PERCENT, 1, 100),
    "windSpeed": Layer("wind_m_s", WIND, 0, 100),
    "skyCover": Layer("sky_cover_pct", PERCENT, 0, 100),
    "probabilityOfPrecipitation": Layer("rain_chance_pct", PERCENT, 0, 100),
    "quantitativePrecipitation": Layer("rain_mm", RAIN, 0, 500, is_total=True),
}


@dataclass
class GridFile:
    """One issue of a forecast: values by hour (its start, UTC) and layer."""

    source: str
    issued_at: dt.datetime
    latitude_deg: float | None
    longitude_deg: float | None
    hours: dict[dt.datetime, dict[str, float]] = field(default_factory=dict)
    bad: list[BadRow] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def read(*, text: str) -> GridFile:
    """Return the hours of a forecast grid."""
    document = _document(text)
    properties = document.get("properties")
    if not isinstance(properties, dict):
        raise UnreadableFile("has no object at /properties; it is no forecast grid")
    if "periods" in properties:
        raise UnreadableFile("holds a forecast in periods; take the grid itself (forecastGridData)")
    latitude_deg, longitude_deg = _place(document.get("geometry"))
    file = GridFile(
        source=_source(properties),
        issued_at=_instant(properties.get("updateTime"), "/properties/updateTime"),
        latitude_deg=latitude_deg,
        longitude_deg=longitude_deg,
    )
    for key, layer in LAYERS.items():
        if key in properties:
            _read_layer(properties[key], key, layer, file)
        else:
            file.notes.append(f"The layer {key} is not there.")
    if not any("temp_c" in hour for hour in file.hours.values()) and not file.bad:
        raise UnreadableFile("has no temperature in any hour (/properties/temperature)")
    file.hours = {hour: file.hours[hour] for hour in sorted(file.hours)}
    return file


def _document(text: str) -> dict[str, Any]:
    try:
        document = json.loads(text, parse_constant=_refuse_constant)
    except json.JSONDecodeError as error:
        raise UnreadableFile(
            f"is not whole JSON: {error.msg} (line {error.lineno}, sign {error.colno})"
        ) from error
    except UnreadableFile:
        raise
    except (RecursionError, ValueError) as error:
        raise UnreadableFile(
            "is nested too deeply or holds numbers too long to be a forecast grid"
        ) from error
    if not isinstance(document, dict):
        raise UnreadableFile("is JSON, but no object; it is no forecast grid")
    if "properties" not in document and {"title", "status"} <= document.keys():
        raise UnreadableFile(
            f"holds the weather service's refusal instead of a forecast: {document['title']} "
            f"({document['status']}). {document.get('detail', '')} Fetch it again later".replace("  ", " ")
        )
    return document


def _refuse_constant(name: str) -> float:
    raise UnreadableFile(f"holds {name}, which is no number of JSON")


def _source(properties: Mapping[str, Any]) -> str:
    parts = [properties.get(name) for name in ("gridId", "gridX", "gridY")]
    if not all(isinstance(part, (str, int)) and not isinstance(part, bool) for part in parts):
        raise UnreadableFile("does not say its grid (/properties/gridId, gridX and gridY)")
    source = f"{parts[0]}/{parts[1]},{parts[2]}"
    if not GRID.fullmatch(source):
        raise UnreadableFile(
            f"names a grid that cannot be: {source[:60]!r} (/properties/gridId, gridX and gridY)"
        )
    return source


def _place(geometry: Any) -> tuple[float | None, float | None]:
    """Return the middle of the cell's ring, or nothing when there is no ring of numbers."""
    try:
        ring = [(float(east), float(north)) for east, north, *_ in geometry["coordinates"][0]]
    except (TypeError, ValueError, KeyError, IndexError, OverflowError):
        return None, None
    for east, north in ring:
        says = off_the_globe(latitude_deg=north, longitude_deg=east)
        if says is not None:
            raise UnreadableFile(f"gives its cell {says} (/geometry/coordinates)")
    if not ring:
        return None, None
    return sum(north for _, north in ring) / len(ring), sum(east for east, _ in ring) / len(ring)


def _read_layer(content: Any, key: str, layer: Layer, file: GridFile) -> None:
    at = f"/properties/{key}"
    if not isinstance(content, dict) or not isinstance(content.get("values"), list):
        file.bad.append(BadRow(0, at, "is no layer with values"))
        return
    if not content["values"]:
        file.notes.append(f"The layer {key} is empty.")
        return
    unit = content.get("uom")
    convert = layer.units.get(UNIT.sub("", unit)) if isinstance(unit, str) else None
    if convert is None:
        known = ", ".join(f"wmoUnit:{name}" for name in layer.units)
        file.bad.append(BadRow(0, f"{at}/uom", f"is {unit!r}; known units: {known}"))
        return
    seen: dict[dt.datetime, int] = {}
    for index, entry in enumerate(content["values"]):
        try:
            hours, value = _entry(entry, layer, convert)
            twice = next((hour for hour in hours if hour in seen), None)
            if twice is not None:
                raise ValueError(f"covers {twice:%Y-%m-%dT%H:%MZ} again, after values/{seen[twice]}")
        except (ValueError, OverflowError) as error:
            file.bad.append(BadRow(0, f"{at}/values/{index}", str(error)))
            continue
        seen.update(dict.fromkeys(hours, index))
        if value is not None:
            for hour in hours:
                file.hours.setdefault(hour, {})[layer.name] = value


def _entry(entry: Any, layer: Layer, convert: Convert) -> tuple[list[dt.datetime], float | None]:
    if not isinstance(entry, dict):
        raise ValueError("is no value with a validTime")
    hours = list(_span(entry.get("validTime")))
    value = entry.get("value")
    if value is None:
        return hours, None
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise ValueError(f"has the value {value!r}, which is not a number")
    number = convert(float(value))
    if not layer.low <= number <= layer.high:
        raise ValueError(
            f"has the value {value:g}; possible is {layer.low:g} to {layer.high:g} ({layer.name})"
        )
    return hours, number / len(hours) if layer.is_total else number


def _span(text: Any) -> Iterator[dt.datetime]:
    start_text, slash, span_text = text.partition("/") if isinstance(text, str) else ("", "", "")
    match = SPAN.fullmatch(span_text)
    if not slash or match is None:
        raise ValueError(
            f"has the validTime {text!r}; wanted is a start, a slash and a duration such as PT3H"
        )
    start = _instant(start_text, "validTime")
    parts = {name: int(part) for name, part in match.groupdict(default="0").items()}
    hours, rest = divmod(parts["days"] * 1440 + parts["hours"] * 60 + parts["minutes"], 60)
    if rest or not 1 <= hours <= LONGEST_H or (start.minute, start.second, start.microsecond) != (0, 0, 0):
        raise ValueError(
            f"has the validTime {text!r}; wanted are 1 to {LONGEST_H} whole hours from a full hour on"
        )
    return (start + dt.timedelta(hours=hour) for hour in range(hours))


def _instant(text: Any, at: str) -> dt.datetime:
    try:
        instant = dt.datetime.fromisoformat(text)
        in_utc = instant.astimezone(dt.UTC)
    except (TypeError, ValueError, OverflowError) as error:
        raise UnreadableFile(f"has no instant at {at}, but {text!r}") from error
    if instant.tzinfo is None:
        raise UnreadableFile(f"has an instant without an offset from UTC at {at}: {text!r}")
    return in_utc
