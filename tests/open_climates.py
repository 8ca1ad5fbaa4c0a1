"""Open daily climates that ship as text files with the package aquacrop (MIT), read without importing it.

Columns of a file: Day, Month, Year, Tmin (°C), Tmax (°C), Prcp (mm), Et0 (mm). Champion is Champion, Nebraska.
"""

import datetime as dt
import importlib.util
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from pathlib import Path

CHAMPION_STATION = "US1NECHAMP1"


@dataclass(frozen=True)
class ClimateDay:
    """One line of a climate file, its numbers as they are printed."""

    day: dt.date
    temp_min_c: Decimal
    temp_max_c: Decimal
    rain_mm: Decimal


def climate_files() -> dict[str, Path]:
    """Return the climate files by name."""
    spec = importlib.util.find_spec("aquacrop")
    assert spec is not None
    assert spec.submodule_search_locations
    folder = Path(next(iter(spec.submodule_search_locations))) / "data"
    return {path.stem.removesuffix("_climate"): path for path in sorted(folder.glob("*_climate.txt"))}


@cache
def climate(name: str) -> tuple[ClimateDay, ...]:
    """Return the days of a climate file."""
    lines = climate_files()[name].read_text(encoding="ascii").splitlines()[1:]
    days = []
    for line in lines:
        day, month, year, low, high, rain, _et0 = line.split()
        days.append(
            ClimateDay(dt.date(int(year), int(month), int(day)), Decimal(low), Decimal(high), Decimal(rain))
        )
    return tuple(days)


def as_ghcn_long(days: tuple[ClimateDay, ...], station: str = CHAMPION_STATION) -> str:
    """Return days in the daily archive's long layout: no header, one element a line, whole tenths."""
    lines = []
    for row in days:
        for element, value in (("TMAX", row.temp_max_c), ("TMIN", row.temp_min_c), ("PRCP", row.rain_mm)):
            lines.append(f"{station},{row.day:%Y%m%d},{element},{tenths(value)},,,7,2400")
    return "\n".join(lines) + "\n"


def tenths(value: Decimal) -> int:
    """Return a value in whole tenths, rounded half to even."""
    return round(value * 10)
