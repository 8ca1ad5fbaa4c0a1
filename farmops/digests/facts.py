"""What a sheet is made from: plain values, already read, in the farm's own clock. Pure: no Django."""

import datetime as dt
from dataclasses import dataclass

from scheduling.slips.slip import JobSlip


@dataclass(frozen=True)
class SheetService:
    """One service stop of a hand's day: what is done to which machine or implement, where and when."""

    what: str
    tool_name: str
    is_at_yard: bool
    starts_at: dt.datetime
    ends_at: dt.datetime
    work_min: int
    field_name: str = ""
    is_of_pivot: bool = False
    is_brought: bool = False


@dataclass(frozen=True)
class SheetDay:
    """A hand's day: whom it is for, the slips of its passes in their order, and whom to call.

    `report_at` is the address to report at (empty: none is known); `is_own_link` says that it signs the hand in.
    `is_metric`: the hand reads warmth in °C. `has_changed`: it is not what stood last evening.
    """

    farm_name: str
    hand_name: str
    day: dt.date
    slips: tuple[JobSlip, ...]
    services: tuple[SheetService, ...] = ()
    boss_name: str = ""
    boss_phone: str = ""
    emergency_number: str = "911"
    farm_address: str = ""
    temp_max_f: float | None = None
    rain_chance: float | None = None
    known_on: dt.date | None = None
    is_late: bool = False
    report_at: str = ""
    is_own_link: bool = False
    is_metric: bool = False
    has_changed: bool = False
