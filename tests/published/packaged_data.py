"""Public weather that installed packages carry, found without importing them (one builds a database on import)."""

import csv
import datetime as dt
import importlib.util
import io
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from farmops.science.ranges import Array


def packaged_file(package: str, *parts: str) -> Path:
    """Return the path of a file inside an installed package."""
    spec = importlib.util.find_spec(package)
    assert spec is not None
    assert spec.submodule_search_locations is not None
    return Path(spec.submodule_search_locations[0], *parts)


@dataclass(frozen=True)
class TypicalYear:
    """A typical meteorological year by day."""

    latitude_deg: float
    longitude_deg: float
    utc_offset_h: float
    elevation_m: float
    day_of_year: Array
    temp_min_c: Array
    temp_max_c: Array
    dewpoint_c: Array
    wind_2m_m_s: Array
    solar_mj_m2_d: Array
    hourly_temp_c: Array
    hourly_dewpoint_c: Array
    hourly_wind_m_s: Array
    hourly_solar_mj_m2: Array


def greensboro() -> TypicalYear:
    """Return the typical year of Greensboro, North Carolina (TMY3 file of the US renewable energy laboratory)."""
    lines = packaged_file("pvlib", "data", "723170TYA.CSV").read_text(encoding="utf-8").splitlines()
    place = lines[0].split(",")
    rows = list(csv.DictReader(io.StringIO("\n".join(lines[1:]))))

    def by_day(name: str) -> Array:
        return np.array([float(row[name]) for row in rows]).reshape(365, 24)

    temp_c, dewpoint_c = by_day("Dry-bulb (C)"), by_day("Dew-point (C)")
    wind_m_s, solar = by_day("Wspd (m/s)"), by_day("GHI (W/m^2)") * 3600 / 1e6
    log_profile = 4.87 / np.log(67.8 * 10 - 5.42)
    return TypicalYear(
        latitude_deg=float(place[4]),
        longitude_deg=float(place[5]),
        utc_offset_h=float(place[3]),
        elevation_m=float(place[6]),
        day_of_year=np.arange(1.0, 366.0),
        temp_min_c=temp_c.min(axis=1),
        temp_max_c=temp_c.max(axis=1),
        dewpoint_c=dewpoint_c.mean(axis=1),
        wind_2m_m_s=wind_m_s.mean(axis=1) * log_profile,
        solar_mj_m2_d=solar.sum(axis=1),
        hourly_temp_c=temp_c,
        hourly_dewpoint_c=dewpoint_c,
        hourly_wind_m_s=wind_m_s * log_profile,
        hourly_solar_mj_m2=solar,
    )


@dataclass(frozen=True)
class ReferenceSeries:
    """Daily weather of a station with the reference evapotranspiration that a European service computed of it."""

    day_of_year: Array
    temp_min_c: Array
    temp_max_c: Array
    vapor_pressure_kpa: Array
    solar_mj_m2_d: Array
    wind_10m_m_s: Array
    et0_mm_d: Array


def european_series(name: str) -> ReferenceSeries:
    """Return the complete days of one of the stations that `pcse` carries for its own tests."""
    numbers, days = [], []
    with packaged_file("pcse", "tests", "test_data", f"{name}.csv").open(
        encoding="utf-8", newline=""
    ) as handle:
        for row in csv.DictReader(handle):
            cells = [row[key].strip(" );") for key in list(row)[2:8]]
            if all(cells):
                numbers.append([float(cell) for cell in cells])
                days.append(
                    dt.datetime.strptime(row["DAY"], "%d-%b-%y").replace(tzinfo=dt.UTC).timetuple().tm_yday
                )
    low, high, vapor_hpa, solar_kj, wind, et0 = np.array(numbers).T
    return ReferenceSeries(
        day_of_year=np.array(days, dtype=np.float64),
        temp_min_c=low,
        temp_max_c=high,
        vapor_pressure_kpa=vapor_hpa / 10,
        solar_mj_m2_d=solar_kj / 1000,
        wind_10m_m_s=wind,
        et0_mm_d=et0,
    )


@dataclass(frozen=True)
class OpenYears:
    """Daily temperatures, rain and reference evapotranspiration of a place."""

    year: Array
    month: Array
    day: Array
    temp_min_c: Array
    temp_max_c: Array
    rain_mm: Array
    et0_mm: Array


def open_years(name: str) -> OpenYears:
    """Return one of the daily records that `aquacrop` carries, such as champion (Nebraska, 1982-2018) and tunis."""
    path = packaged_file("aquacrop", "data", f"{name}_climate.txt")
    table = np.loadtxt(path, skiprows=1, dtype=np.float64)
    day, month, year, low, high, rain, et0 = table.T
    return OpenYears(
        year=year, month=month, day=day, temp_min_c=low, temp_max_c=high, rain_mm=rain, et0_mm=et0
    )
