"""A hand's day as plain facts."""

import datetime as dt
from decimal import Decimal
from typing import Any

from farmops.digests.facts import SheetDay
from farmops.farms.operations import Operation
from scheduling.slips.checks import checks_for_work
from scheduling.slips.facts import CallFor, FieldPlace, GroundToday, Hours, Tool
from scheduling.slips.slip import JobSlip
from scheduling.slips.words import Said
from tests.factories import SQUARE
from tests.farmops.digests.planned import MONDAY, at

LATITUDE_DEG, LONGITUDE_DEG = Decimal("31.601800"), Decimal("-83.517900")
OF_FIELD = ("entrance", "road_address")
OF_HOURS = ("work_min", "ground", "shut", "open_chance", "boss_words")


def task(operation: Operation = Operation.DISK, hours: tuple[int, int] = (7, 12), **facts: Any) -> JobSlip:
    """Return the slip of one pass; what is said of its field and its hours may be given by name."""
    name = facts.pop("field_name", "Pond 80")
    place: dict[str, Any] = {"entrance": "north road, gate 3", "road_address": "2140 Cane Branch Road"}
    place |= {key: facts.pop(key) for key in OF_FIELD if key in facts}
    window: dict[str, Any] = {"work_min": 60 * (hours[1] - hours[0]), "ground": GroundToday("a", 0.15, 0.185)}
    window |= {key: facts.pop(key) for key in OF_HOURS if key in facts}
    tools = {kind: facts.pop(f"{kind}_name", said) for kind, said in TOOLS.items()}
    defaults: dict[str, Any] = {
        "task_id": 1,
        "pass_id": 1,
        "operation": operation,
        "number": 1,
        "count": 1,
        "field": FieldPlace(
            code="pond-80",
            name=name,
            boundary={**SQUARE},
            latitude_deg=LATITUDE_DEG,
            longitude_deg=LONGITUDE_DEG,
            **place,
        ),
        "hours": Hours(starts_at=at(MONDAY, hours[0]), ends_at=at(MONDAY, hours[1]), **window),
        "area_ac": Decimal("62.50"),
        "call": CallFor(
            emergency_number="911",
            road_address=place["road_address"],
            latitude_deg=LATITUDE_DEG,
            longitude_deg=LONGITUDE_DEG,
            boss_name="Marlene",
            boss_phone="555-0142",
        ),
        "temp_max_f": 75.0,
        "rain_chance": 0.0,
        "checks": checks_for_work(operation=operation, machine=None, implement=None, facts=None, rules=()),
        **{kind: Tool(kind, Said(said, said)) if said else None for kind, said in tools.items()},
    }
    return JobSlip(**{**defaults, **facts})


TOOLS = {"machine": "Tractor 2", "implement": "Disk 1"}


def sheet_day(*slips: JobSlip, **facts: Any) -> SheetDay:
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
    return SheetDay(slips=slips, **{**defaults, **facts})
