"""Work out the ground under a weather file, without a database."""

import datetime as dt
import os
import tempfile
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from farmops.science.ranges import OutOfRange
from farmops.science.textures import TEXTURES, Texture
from farmops.weather.sources import daily_csv, gaps, ghcn_daily
from farmops.weather.sources.days import Day, assemble, columns_of, first_jump
from farmops.weather.sources.ranges import suspicions
from farmops.weather.sources.rows import DayFile, UnreadableFile
from farmops.weather.sources.text import decoded, refuse_size
from scheduling.windows.day_weather import Place
from scheduling.windows.ground_csv import GroundDayRow, csv_text, ground_rows

FORMATS = ("daily-csv", "ghcn-daily")
SHOWN = 20
MOST_LATITUDE_DEG = 90.0
ELEVATION_M = (-450.0, 6000.0)
DEPTH_CM = (0.0, 30.0)
FAR_KM, KM_PER_DEGREE = 400, 111.2
"""As far as a station may stand from a farm at import."""


class Command(BaseCommand):
    help = (
        "Work out bare ground day by day from a weather file and write it as CSV; no database is needed. Water is that "
        "of the top 15 cm, run from the file's first day on; soil temperature is that at --depth-cm. A day that "
        "lacks what is needed keeps its row, with empty cells; without wind and humidity, evapotranspiration goes by "
        "temperature alone, and without sun by its daily range. The last column, gaps, names what was missing, what "
        "was made from neighbors (up to three days), and where the unknown start still matters. "
        "Exit codes: 0 written, 1 refused and nothing written, 2 wrong usage."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--weather", required=True, type=Path, metavar="FILE", help="the weather file")
        parser.add_argument(
            "--format", required=True, choices=FORMATS, help="its format, as import_weather reads it"
        )
        parser.add_argument("--latitude", required=True, type=float, metavar="DEG", help="degrees north")
        parser.add_argument(
            "--elevation", required=True, type=float, metavar="M", help="meters above the sea"
        )
        parser.add_argument("--texture", required=True, metavar="T", help=", ".join(TEXTURES))
        parser.add_argument("--depth-cm", type=float, default=10.0, metavar="N", help="0 to 30; 10")
        parser.add_argument(
            "--from", dest="first", metavar="DATE", help="first day to write; the file's first"
        )
        parser.add_argument("--to", dest="last", metavar="DATE", help="last day to write; the file's last")
        parser.add_argument("--station", metavar="CODE", help="which station, where the file holds several")
        parser.add_argument(
            "--units-are-right",
            action="store_true",
            help="take a column that looks like another unit as it is",
        )
        parser.add_argument("--csv", required=True, type=Path, metavar="OUT", help="the file to write")

    def handle(self, *args: Any, **options: Any) -> None:
        texture = _texture(options["texture"])
        latitude_deg = _between("--latitude", options["latitude"], -MOST_LATITUDE_DEG, MOST_LATITUDE_DEG)
        elevation_m = _between("--elevation", options["elevation"], *ELEVATION_M)
        depth_cm = _between("--depth-cm", options["depth_cm"], *DEPTH_CM)
        first, last = _date("--from", options["first"]), _date("--to", options["last"])
        if first is not None and last is not None and first > last:
            raise CommandError(f"--from {first} is after --to {last}.")
        path, out = options["weather"], _place(options["csv"], options["weather"])
        file = _file(path, options["format"], options["station"])
        facts = _station(path, file, options["station"], latitude_deg)
        days = _days(path, file, facts, options["units_are_right"])
        _inside(path, days, first, last)
        read = {day.day: day.values for day in days}
        made, long_gaps = gaps.fill(read)
        try:
            rows = ground_rows(
                place=Place(latitude_deg, 0.0, elevation_m, "UTC"),
                read=read,
                made=made,
                texture=texture,
                depth_cm=depth_cm,
                first=first,
                last=last,
            )
        except OutOfRange as error:
            raise CommandError(f"{path} cannot be worked out: {error}.") from error
        _write(out, csv_text(rows))
        self.stdout.write(_summary(rows, out))
        for says in (*file.notes, *gaps.spans(long_gaps)):
            self.stdout.write(f"  {says}")


def _summary(rows: list[GroundDayRow], out: Path) -> str:
    empty = sum(row.topsoil_m3_m3 is None for row in rows)
    without = f", {empty} of them without the ground's water" if empty else ""
    count = "1 day" if len(rows) == 1 else f"{len(rows)} days"
    return f"{count}, {rows[0].date} to {rows[-1].date}{without}. Written to {out}."


def _texture(text: str) -> Texture:
    found = TEXTURES.get(text.strip().lower().replace(" ", "_").replace("-", "_"))
    if found is None:
        raise CommandError(f"--texture {text!r} is not known; known are {', '.join(TEXTURES)}.")
    return found


def _between(option: str, value: float, low: float, high: float) -> float:
    if not low <= value <= high:
        raise CommandError(f"{option} is {value:g}; it must be from {low:g} to {high:g}.")
    return value


def _date(option: str, text: str | None) -> dt.date | None:
    try:
        return None if text is None else dt.date.fromisoformat(text)
    except ValueError as error:
        raise CommandError(f"{option} is {text!r}; give a date such as 2026-04-20.") from error


def _file(path: Path, format: str, station: str | None) -> DayFile:
    try:
        refuse_size(path.stat().st_size)
        text = decoded(path.read_bytes())
        if format == "ghcn-daily":
            return ghcn_daily.read(text=text)
        return daily_csv.read(text=text, station=station or "farm")
    except FileNotFoundError as error:
        raise CommandError(f"There is no file {path}.") from error
    except OSError as error:
        raise CommandError(f"{path} cannot be read: {error.strerror}.") from error
    except UnreadableFile as error:
        raise CommandError(f"{path} {error}.") from error


def _station(path: Path, file: DayFile, wanted: str | None, latitude_deg: float) -> str:
    """Return the station that is meant; the file must hold it, and near the latitude where it tells its own."""
    held = sorted({reading.station for reading in file.readings})
    named = ", ".join(held[:SHOWN])
    if wanted is not None and held and wanted not in held:
        raise CommandError(f"{path} holds no station {wanted!r}; it holds {named}.")
    if wanted is None and len(held) > 1:
        raise CommandError(f"{path} holds {len(held)} stations ({named}); choose one with --station.")
    code = wanted or (held[0] if held else "")
    facts = file.stations.get(code)
    if facts is not None and facts.latitude_deg is not None:
        km = abs(facts.latitude_deg - latitude_deg) * KM_PER_DEGREE
        if km > FAR_KM:
            raise CommandError(
                f"Station {code} of {path} stands at latitude {facts.latitude_deg:g}, {km:.0f} km from --latitude "
                f"{latitude_deg:g}; beyond {FAR_KM} km it tells nothing about that place."
            )
    return code


def _days(path: Path, file: DayFile, station: str, units_are_right: bool) -> list[Day]:
    """Return the days of one station; a line that cannot stand refuses the file."""
    readings = [reading for reading in file.readings if reading.station == station]
    days, bad = assemble(readings)
    doubts = [] if units_are_right else suspicions(columns_of(readings))
    jump = None if units_are_right else first_jump(days, known_c={})
    if jump is not None:
        doubts.append(jump)
    if doubts:
        raise CommandError(
            f"{path} looks like other units: {' '.join(doubts)} If the units are right, say --units-are-right."
        )
    refused = sorted([*file.bad, *bad])
    if refused:
        count = "1 row" if len(refused) == 1 else f"{len(refused)} rows"
        named = "; ".join(str(row) for row in refused[:SHOWN])
        more = f"; and {len(refused) - SHOWN} more" if len(refused) > SHOWN else ""
        raise CommandError(f"{path}: {count} cannot stand: {named}{more}.")
    return days


def _inside(path: Path, days: list[Day], first: dt.date | None, last: dt.date | None) -> None:
    begins, ends = days[0].day, days[-1].day
    for option, day in (("--from", first), ("--to", last)):
        if day is not None and not begins <= day <= ends:
            raise CommandError(f"{option} {day} is outside of {path}, which reaches from {begins} to {ends}.")


def _place(out: Path, weather: Path) -> Path:
    if out.is_dir():
        raise CommandError(f"{out} is a folder; --csv names a file.")
    if out.exists() and weather.exists() and out.samefile(weather):
        raise CommandError(f"{out} is the weather file itself; --csv names another file.")
    if not out.parent.is_dir() or not os.access(out.parent, os.W_OK):
        raise CommandError(f"{out} cannot be written: there is no such folder to write in.")
    return out


def _write(out: Path, text: str) -> None:
    """Write a file whole or not at all."""
    draft = None
    try:
        with tempfile.NamedTemporaryFile(
            "w", encoding="utf-8", newline="", dir=out.parent, prefix=f".{out.name}.", delete=False
        ) as handle:
            draft = Path(handle.name)
            handle.write(text)
        draft.chmod(0o644)
        draft.replace(out)
    except OSError as error:
        if draft is not None:
            draft.unlink(missing_ok=True)
        raise CommandError(f"{out} cannot be written: {error.strerror or error}.") from error
