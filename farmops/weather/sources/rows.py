"""What every reader hands on."""

import datetime as dt
from dataclasses import dataclass, field

REQUIRED = ("temp_min_c", "temp_max_c", "rain_mm")
OPTIONAL = ("solar_mj_m2", "wind_m_s", "humidity_min_pct", "humidity_max_pct")
QUANTITIES = REQUIRED + OPTIONAL


class UnreadableFile(ValueError):
    """The file as a whole is not what it should be; the message is a sentence for a person."""


@dataclass(frozen=True)
class Reading:
    """One value of one day, and the line it stands on; wind at 2 m."""

    line: int
    station: str
    day: dt.date
    quantity: str
    value: float


@dataclass(frozen=True, order=True)
class BadRow:
    """A row that cannot stand: its line (0 for a JSON file), where it is, and why."""

    line: int
    where: str
    says: str

    def __str__(self) -> str:
        return f"{self.where}: {self.says}"


def bad_line(line: int, says: str) -> BadRow:
    """Return a bad row of a file that is read line by line."""
    return BadRow(line=line, where=f"line {line}", says=says)


@dataclass(frozen=True)
class StationFacts:
    """What a file says about a station, if anything."""

    code: str
    name: str = ""
    latitude_deg: float | None = None
    longitude_deg: float | None = None
    elevation_m: float | None = None


@dataclass
class DayFile:
    """Everything that was read from a file of days."""

    readings: list[Reading] = field(default_factory=list)
    bad: list[BadRow] = field(default_factory=list)
    stations: dict[str, StationFacts] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)
