"""A hand's day as plain facts."""

import datetime as dt
from decimal import Decimal
from typing import Any

from farmops.digests.facts import SheetDay, SheetTask
from farmops.farms.operations import Operation
from scheduling.slips.facts import GroundToday
from tests.farmops.digests.planned import MONDAY, at


def task(operation: Operation = Operation.DISK, hours: tuple[int, int] = (7, 12), **facts: Any) -> SheetTask:
    defaults: dict[str, Any] = {
        "operation": operation,
        "field_name": "Pond 80",
        "entrance": "north road, gate 3",
        "road_address": "2140 Cane Branch Road",
        "latitude_deg": Decimal("31.601800"),
        "longitude_deg": Decimal("-83.517900"),
        "starts_at": at(MONDAY, hours[0]),
        "ends_at": at(MONDAY, hours[1]),
        "work_min": 60 * (hours[1] - hours[0]),
        "area_ac": Decimal("62.50"),
        "machine_name": "Tractor 2",
        "implement_name": "Disk 1",
        "ground": GroundToday("low end", 0.15, 0.185),
    }
    return SheetTask(**{**defaults, **facts})


def sheet_day(*tasks: SheetTask, **facts: Any) -> SheetDay:
    defaults: dict[str, Any] = {
        "farm_name": "Heron Slough",
        "hand_name": "Imani",
        "day": MONDAY,
        "boss_name": "Marlene",
        "boss_phone": "555-0142",
        "farm_address": "1 Slough Road",
        "temp_max_f": 75.0,
        "rain_chance": 0.0,
        "known_on": MONDAY - dt.timedelta(days=1),
    }
    return SheetDay(tasks=tasks, **{**defaults, **facts})
