"""What a sheet is made from: plain values, already read, in the farm's own clock. Pure: no Django."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal

from farmops.farms.operations import Operation
from scheduling.slips.facts import BossWord, GroundToday, ShutHours


@dataclass(frozen=True)
class SheetTask:
    """One task of a hand's day."""

    operation: Operation
    field_name: str
    entrance: str
    road_address: str
    latitude_deg: Decimal
    longitude_deg: Decimal
    starts_at: dt.datetime
    ends_at: dt.datetime
    work_min: int
    area_ac: Decimal
    part_no: int = 1
    part_count: int = 1
    is_strip: bool = False
    water_in: Decimal | None = None
    machine_name: str = ""
    implement_name: str = ""
    wide_on_road: bool = False
    ground: GroundToday | None = None
    open_chance: float | None = None
    shut: tuple[ShutHours, ...] = ()
    boss_words: tuple[BossWord, ...] = ()


@dataclass(frozen=True)
class SheetService:
    """One service stop of a hand's day: what is done to which machine or implement, where and when."""

    what: str
    tool_name: str
    is_at_yard: bool
    starts_at: dt.datetime
    ends_at: dt.datetime
    work_min: int


@dataclass(frozen=True)
class SheetDay:
    """A hand's day: whom it is for, the tasks in their order, and whom to call."""

    farm_name: str
    hand_name: str
    day: dt.date
    tasks: tuple[SheetTask, ...]
    services: tuple[SheetService, ...] = ()
    boss_name: str = ""
    boss_phone: str = ""
    emergency_number: str = "911"
    farm_address: str = ""
    temp_max_f: float | None = None
    rain_chance: float | None = None
    known_on: dt.date | None = None
    is_late: bool = False
