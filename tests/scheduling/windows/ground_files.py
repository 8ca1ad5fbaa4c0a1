"""Weather files and the `ground` command run over them."""

import csv
import datetime as dt
from io import StringIO
from pathlib import Path

import numpy as np
from django.core.management import call_command

HEADER = "date,temp_min_c,temp_max_c,rain_mm,solar_mj_m2,wind_m_s,humidity_min_pct,humidity_max_pct"
COLUMNS = (
    "date et0_mm runoff_mm evaporation_mm drainage_mm topsoil_m3_m3 rootzone_depletion_mm soil_temp_mean_c "
    "soil_temp_8am_c heat_units_dd60_f heat_units_86_50_f gaps"
).split()
FIRST = dt.date(2026, 3, 1)
HERE = ("--latitude", "31.5", "--elevation", "105", "--texture", "sandy_loam")


def day_line(
    index: int, *, low: str = "10", high: str = "24", rain: str = "0", rest: str = "18,2,40,90"
) -> str:
    return f"{FIRST + dt.timedelta(days=index)},{low},{high},{rain},{rest}"


def weather_file(folder: Path, lines: list[str]) -> Path:
    path = folder / "weather.csv"
    path.write_text("\n".join([HEADER, *lines]) + "\n", encoding="utf-8")
    return path


def ground(
    path: Path, *more: str, out: Path | None = None, format: str = "daily-csv"
) -> list[dict[str, str]]:
    out = out or path.with_name("ground.csv")
    call_command(
        "ground",
        "--weather",
        str(path),
        "--format",
        format,
        *HERE,
        *more,
        "--csv",
        str(out),
        stdout=StringIO(),
    )
    with out.open(encoding="utf-8", newline="") as handle:
        return list(csv.DictReader(handle))


def numbers(rows: list[dict[str, str]], name: str) -> np.ndarray:
    return np.array([float(row[name]) for row in rows])


def rainy(count: int = 60) -> list[str]:
    return [day_line(index, rain="25" if index % 9 == 4 else "0") for index in range(count)]
