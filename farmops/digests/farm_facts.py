"""What the mail to managers and bookkeepers is made from: plain values, in the farm's own clock. Pure: no Django."""

import datetime as dt
from dataclasses import dataclass

from farmops.digests.facts import SheetService
from farmops.farms.operations import Operation
from scheduling.slips.slip import JobSlip
from scheduling.slips.words import Said


@dataclass(frozen=True)
class CrewHand:
    """A hand and what that hand does today, by the clock."""

    name: str
    slips: tuple[JobSlip, ...] = ()
    services: tuple[SheetService, ...] = ()
    is_on_paper: bool = False

    @property
    def is_out(self) -> bool:
        """Return whether there is anything to do."""
        return bool(self.slips or self.services)


@dataclass(frozen=True)
class ShutPart:
    """Hours of the working day in which a limit does not hold, with the limit's sentence."""

    starts_at: dt.datetime
    ends_at: dt.datetime
    says: Said


@dataclass(frozen=True)
class ShutField:
    """A field whose next work is shut for a part of the working day, or all of it."""

    field_name: str
    operation: Operation
    parts: tuple[ShutPart, ...]
    is_all_day: bool


@dataclass(frozen=True)
class CareAheadSaid:
    """A service: of what, what is done, when it is likely to fall due (None: over already) and when it is planned."""

    tool_name: str
    what: str
    expected_on: dt.date | None
    planned_at: dt.datetime | None = None


@dataclass(frozen=True)
class ParkedSaid:
    """A report that waits for the manager, in the manager's language."""

    hand_name: str
    kind: str
    came_on: dt.date
    why: str


@dataclass(frozen=True)
class DayAhead:
    """One day's weather as far as it is known."""

    day: dt.date
    low_f: float | None
    high_f: float | None
    rain_chance: float | None
    rain_if_wet_in: float | None


@dataclass(frozen=True)
class TroubleSaid:
    """Something that is wrong with the mail: its kind, how many sheets it is about, of whom or what, and of which day."""

    kind: str
    count: int
    about: str = ""
    day: dt.date | None = None


@dataclass(frozen=True)
class DigestDay:
    """A manager's morning: who goes where, what is shut, what is due, what waits, and the weather.

    `shut` is None where no weather is known; `waiting_costs` are sentences in the reader's language. `out` says who is
    away and what is down.
    """

    farm_name: str
    manager_name: str
    day: dt.date
    has_plan: bool
    crew: tuple[CrewHand, ...] = ()
    shut: tuple[ShutField, ...] | None = ()
    care: tuple[CareAheadSaid, ...] = ()
    parked: tuple[ParkedSaid, ...] = ()
    parked_count: int = 0
    waiting_costs: tuple[str, ...] = ()
    waiting_costs_count: int = 0
    weather: tuple[DayAhead, ...] = ()
    known_on: dt.date | None = None
    troubles: tuple[TroubleSaid, ...] = ()
    undelivered_count: int = 0
    is_late: bool = False
    units: str = ""
    farm_at: str = ""
    out: tuple[Said, ...] = ()

    @property
    def is_quiet(self) -> bool:
        """Return whether there is nothing that a manager has to know or do."""
        has_work = any(one.is_out for one in self.crew)
        waits = self.parked_count or self.waiting_costs_count or self.undelivered_count
        return not (has_work or self.care or self.troubles or waits)
