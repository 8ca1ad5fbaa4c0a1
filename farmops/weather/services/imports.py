"""Bringing a weather file in: all of it or, when asked, what can stand; the same file twice changes nothing."""

import datetime as dt
import re
from collections.abc import Sequence
from dataclasses import asdict, dataclass, field, replace
from enum import StrEnum
from pathlib import Path
from typing import Any

from django.db import transaction

from farmops.core.problems import DomainError
from farmops.farms.models import Farm
from farmops.weather.services import storing_days, storing_forecasts
from farmops.weather.sources import daily_csv, ghcn_daily, nws_grid
from farmops.weather.sources.days import Day, assemble, columns_of, first_jump
from farmops.weather.sources.ranges import off_the_globe, suspicions
from farmops.weather.sources.rows import BadRow, DayFile, StationFacts, UnreadableFile
from farmops.weather.sources.text import decoded, refuse_size

SHOWN = 20
Place = tuple[float, float]
STATION = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._-]{0,39}")


class Format(StrEnum):
    """The formats that are read; see `farmops.weather.sources`."""

    GHCN_DAILY = "ghcn-daily"
    DAILY_CSV = "daily-csv"
    NWS_GRID = "nws-grid"


class ImportRefused(DomainError):
    """A weather file was not taken; nothing of it was written."""

    code = "weather_refused"

    def __init__(self, says: str, *, refused: Sequence[BadRow] = ()) -> None:
        super().__init__(says, fields={row.where: row.says for row in refused[:SHOWN]})
        self.refused = tuple(refused)


@dataclass
class ImportReport:
    """What an import did. `same` counts days or hours that were known already, `replaced` made days now read."""

    format: str
    file: str
    source: str = ""
    first: dt.date | None = None
    last: dt.date | None = None
    issued_at: dt.datetime | None = None
    new: int = 0
    completed: int = 0
    replaced: int = 0
    same: int = 0
    filled: int = 0
    new_rain_mm: float = 0.0
    refused: list[BadRow] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    is_dry_run: bool = False

    @property
    def changes(self) -> int:
        return self.new + self.completed + self.replaced + self.filled

    def to_json(self) -> dict[str, Any]:
        """Return the report for `--json`."""
        document = asdict(self)
        for name in ("first", "last", "issued_at"):
            document[name] = document[name].isoformat() if document[name] is not None else None
        document["new_rain_mm"] = round(self.new_rain_mm, 3)
        document["refused"] = [{"where": row.where, "says": row.says} for row in self.refused]
        return document


class _DryRun(Exception):
    """Ends the transaction of a dry run."""


def import_weather(
    *,
    farm: Farm,
    format: str,
    path: Path,
    station: str | None = None,
    partial: bool = False,
    dry_run: bool = False,
    units_are_right: bool = False,
    latitude_deg: float | None = None,
    longitude_deg: float | None = None,
    far_station: bool = False,
    today: dt.date | None = None,
) -> ImportReport:
    """Read a weather file into a farm.

    A row that cannot stand (impossible, contradicting itself or what is known) is named; then nothing is
    written (`ImportRefused`), or with `partial` all the rest. A column that looks like another unit is
    refused whole unless `units_are_right`. `station` names the station of a daily-csv (else "farm"), and
    picks one from a file of several; `latitude_deg` and `longitude_deg` say where it stands when the file does not.
    A station or grid cell more than 400 km from the farm is refused unless `far_station`. With `today` given, days
    that have not come yet and forecasts older than a day are noted.
    """
    report = ImportReport(format=format, file=path.name, is_dry_run=dry_run)
    try:
        kind = Format(format)
    except ValueError as error:
        raise ImportRefused(f"{format!r} is no weather format; known: {', '.join(Format)}.") from error
    if station is not None and not STATION.fullmatch(station):
        raise ImportRefused(
            f"{station!r} is no code of a station: 1 to 40 letters, digits, spaces, points, hyphens and underscores."
        )
    place = _place(kind, latitude_deg, longitude_deg)
    try:
        refuse_size(path.stat().st_size)
        text = decoded(path.read_bytes())
        with transaction.atomic():
            Farm.objects.select_for_update().get(pk=farm.pk)
            if kind == Format.NWS_GRID:
                grid = nws_grid.read(text=text)
                storing_forecasts.store(
                    farm=farm, grid=grid, text=text, far_station=far_station, today=today, report=report
                )
            else:
                file = (
                    ghcn_daily.read(text=text)
                    if kind == Format.GHCN_DAILY
                    else daily_csv.read(text=text, station=station or "farm")
                )
                days, facts = _taken(farm, file, station, place, units_are_right, today, report)
                storing_days.store(farm=farm, facts=facts, days=days, far_station=far_station, report=report)
            _refuse(report, path, partial)
            if dry_run:
                raise _DryRun
    except _DryRun:
        pass
    except FileNotFoundError as error:
        raise ImportRefused(f"There is no file {path}.") from error
    except OSError as error:
        raise ImportRefused(f"{path} cannot be read: {error.strerror}.") from error
    except UnreadableFile as error:
        raise ImportRefused(f"{path} {error}.") from error
    return report


def _place(kind: Format, latitude_deg: float | None, longitude_deg: float | None) -> Place | None:
    if latitude_deg is None and longitude_deg is None:
        return None
    if latitude_deg is None or longitude_deg is None:
        raise ImportRefused("--latitude and --longitude go together.")
    says = off_the_globe(latitude_deg=latitude_deg, longitude_deg=longitude_deg)
    if says is not None:
        raise ImportRefused(f"The place of the station has {says}.")
    if kind == Format.NWS_GRID:
        raise ImportRefused("A forecast grid says its own place; leave --latitude and --longitude out.")
    return latitude_deg, longitude_deg


def _taken(
    farm: Farm,
    file: DayFile,
    wanted: str | None,
    place: Place | None,
    units_are_right: bool,
    today: dt.date | None,
    report: ImportReport,
) -> tuple[list[Day], StationFacts]:
    facts = _chosen(file, wanted)
    if place is not None:
        if facts.latitude_deg is not None and facts.longitude_deg is not None:
            raise UnreadableFile(
                f"says itself where station {facts.code} stands; leave --latitude and --longitude out"
            )
        facts = replace(facts, latitude_deg=place[0], longitude_deg=place[1])
    readings = [reading for reading in file.readings if reading.station == facts.code]
    report.source = facts.code
    report.notes += file.notes
    days, bad = assemble(readings)
    if not units_are_right:
        _refuse_doubts([*suspicions(columns_of(readings)), *_jumps(farm, facts.code, days)])
    ahead = [day for day in days if today is not None and day.day > today]
    if ahead:
        report.notes.append(
            f"{len(ahead)} {'day has' if len(ahead) == 1 else 'days have'} not come yet (today is {today}): "
            f"{ahead[0].day} on line {ahead[0].line}, for one. Is the year right?"
        )
    report.refused += sorted([*file.bad, *bad])
    return days, facts


def _refuse_doubts(doubts: Sequence[str]) -> None:
    if doubts:
        raise UnreadableFile(
            f"looks like other units: {' '.join(doubts)} Nothing was written. "
            "If the units are right, say --units-are-right"
        )


def _jumps(farm: Farm, code: str, days: Sequence[Day]) -> list[str]:
    """Doubt a day that is far warmer than what its station read in the days before, in this file or earlier."""
    if not days:
        return []
    known_c = storing_days.known_means_c(farm=farm, code=code, first=days[0].day, last=days[-1].day)
    says = first_jump(days, known_c=known_c)
    return [] if says is None else [says]


def _chosen(file: DayFile, wanted: str | None) -> StationFacts:
    if not file.stations:
        codes = {reading.station for reading in file.readings}
        file.stations.update({code: StationFacts(code=code) for code in codes or {wanted or "farm"}})
    known = ", ".join(sorted(file.stations)[:SHOWN])
    if wanted is not None:
        if wanted not in file.stations:
            raise UnreadableFile(f"holds no station {wanted!r}; it holds {known}")
        return file.stations[wanted]
    if len(file.stations) > 1:
        raise UnreadableFile(f"holds {len(file.stations)} stations ({known}); choose one with --station")
    return next(iter(file.stations.values()))


def _refuse(report: ImportReport, path: Path, partial: bool) -> None:
    if not report.refused or partial:
        return
    count = len(report.refused)
    named = "; ".join(str(row) for row in report.refused[:SHOWN])
    more = f"; and {count - SHOWN} more" if count > SHOWN else ""
    raise ImportRefused(
        f"{path}: {count} {'row' if count == 1 else 'rows'} cannot stand: {named}{more}. "
        "Nothing was written; --partial keeps the rest.",
        refused=report.refused,
    )
