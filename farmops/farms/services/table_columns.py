"""The columns of the tables by which a farm's machines, implements, hands and pivots are entered, with example rows.

The names are the keys of `farm.json`; a column says what its cells are, and in words what belongs into it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from django.utils.translation import gettext_noop

from farmops.farms.models import StartKind


class CellIs(StrEnum):
    TEXT = "text"
    NUMBER = "number"
    YES_OR_NO = "yes or no"
    ONE_WORD = "one word"
    LANGUAGE = "language"
    WORK = "work"
    DAYS = "days"
    HOUR = "hour"
    FIELD = "field"
    PUMP = "pump"


@dataclass(frozen=True)
class Column:
    """One column: its name, what its cells are, what it is for, and whether a cell may stay empty."""

    name: str
    cells: CellIs
    says: str
    is_needed: bool = False


@dataclass(frozen=True)
class TableKind:
    """The columns of a kind of table, and rows to show how they are filled."""

    columns: tuple[Column, ...]
    examples: tuple[Mapping[str, str], ...]

    @property
    def names(self) -> list[str]:
        return [column.name for column in self.columns]

    @property
    def needed(self) -> list[str]:
        return [column.name for column in self.columns if column.is_needed]


_CODE = Column(
    "code", CellIs.TEXT, gettext_noop("short name without spaces; left empty, it is made of the name")
)
_NAME_ES = Column("name_es", CellIs.TEXT, gettext_noop("its name in Spanish, for the sheets of the crew"))

KINDS: dict[StartKind, TableKind] = {
    StartKind.MACHINES: TableKind(
        (
            Column("name", CellIs.TEXT, gettext_noop("what everybody calls it"), True),
            Column(
                "kind",
                CellIs.ONE_WORD,
                gettext_noop("tractor, truck, sprayer, combine or picker; empty: tractor"),
            ),
            Column("power_hp", CellIs.NUMBER, gettext_noop("horsepower at the power take-off"), True),
            Column("meter_start_h", CellIs.NUMBER, gettext_noop("what the hour meter shows today"), True),
            Column("road_speed_mph", CellIs.NUMBER, gettext_noop("miles an hour on the road; empty: 15")),
            Column("fuel", CellIs.ONE_WORD, gettext_noop("diesel, gasoline or propane; empty: diesel")),
            Column(
                "noise_dba",
                CellIs.NUMBER,
                gettext_noop("loudness at the driver's ear, where it was measured"),
            ),
            _NAME_ES,
            _CODE,
        ),
        (
            {
                "name": "big tractor",
                "kind": "tractor",
                "power_hp": "250",
                "meter_start_h": "2104.6",
                "road_speed_mph": "18",
            },
            {
                "name": "small tractor",
                "kind": "tractor",
                "power_hp": "140",
                "meter_start_h": "5310",
                "road_speed_mph": "18",
            },
        ),
    ),
    StartKind.IMPLEMENTS: TableKind(
        (
            Column("name", CellIs.TEXT, gettext_noop("what everybody calls it"), True),
            Column(
                "does", CellIs.WORK, gettext_noop("the work it does, several with a semicolon between"), True
            ),
            Column("width_ft", CellIs.NUMBER, gettext_noop("working width in feet"), True),
            Column("speed_min_mph", CellIs.NUMBER, gettext_noop("slowest speed at work"), True),
            Column("speed_mph", CellIs.NUMBER, gettext_noop("usual speed at work"), True),
            Column("speed_max_mph", CellIs.NUMBER, gettext_noop("fastest speed at work"), True),
            Column(
                "efficiency_pct",
                CellIs.NUMBER,
                gettext_noop(
                    "share of the time that it really works, turns and filling taken off; mostly 60 to 85"
                ),
                True,
            ),
            Column(
                "power_needed_hp", CellIs.NUMBER, gettext_noop("horsepower that it needs to go out"), True
            ),
            Column(
                "carried_by",
                CellIs.ONE_WORD,
                gettext_noop("the kind of machine it goes with; empty: tractor"),
            ),
            Column(
                "road_factor",
                CellIs.NUMBER,
                gettext_noop("slower on the road by; 1.5 takes half as long again; empty: 1"),
            ),
            Column("wide_on_road", CellIs.YES_OR_NO, gettext_noop("yes: on the road by daylight only")),
            _NAME_ES,
            _CODE,
        ),
        (
            {
                "name": "28 ft disk",
                "does": "disk",
                "width_ft": "28",
                "speed_min_mph": "4",
                "speed_mph": "5",
                "speed_max_mph": "6",
                "efficiency_pct": "80",
                "power_needed_hp": "175",
                "road_factor": "1.4",
                "wide_on_road": "yes",
                "name_es": "rastra de 28 pies",
            },
            {
                "name": "8-row planter",
                "does": "plant",
                "width_ft": "24",
                "speed_min_mph": "3.5",
                "speed_mph": "4.5",
                "speed_max_mph": "5.5",
                "efficiency_pct": "65",
                "power_needed_hp": "120",
                "road_factor": "1.3",
                "wide_on_road": "yes",
                "name_es": "sembradora de 8 surcos",
            },
        ),
    ),
    StartKind.HANDS: TableKind(
        (
            Column("name", CellIs.TEXT, gettext_noop("first and last name"), True),
            Column(
                "may_do",
                CellIs.WORK,
                gettext_noop("the work the hand may do, several with a semicolon between, or all"),
                True,
            ),
            Column("days", CellIs.DAYS, gettext_noop("days of work, such as mon-fri"), True),
            Column("from", CellIs.HOUR, gettext_noop("start on those days, such as 7:00"), True),
            Column("to", CellIs.HOUR, gettext_noop("end on those days, such as 18:00 or 6 pm"), True),
            Column("rest_from", CellIs.HOUR, gettext_noop("start of the rest at noon")),
            Column("rest_to", CellIs.HOUR, gettext_noop("end of the rest at noon")),
            Column("sat_from", CellIs.HOUR, gettext_noop("start on Saturdays, where other than above")),
            Column("sat_to", CellIs.HOUR, gettext_noop("end on Saturdays")),
            Column("email", CellIs.TEXT, gettext_noop("for the morning sheet; without one it is printed")),
            Column("phone", CellIs.TEXT, gettext_noop("for the boss to call")),
            Column("language", CellIs.LANGUAGE, gettext_noop("English or Spanish; empty: English")),
            Column("is_owner", CellIs.YES_OR_NO, gettext_noop("yes: own hours, not paid as wages")),
            _CODE,
        ),
        (
            {
                "name": "First Last",
                "may_do": "disk; plant",
                "days": "mon-fri",
                "from": "7:00",
                "to": "18:00",
                "rest_from": "12:00",
                "rest_to": "12:30",
                "sat_from": "7:00",
                "sat_to": "12:00",
                "email": "first@farm.example",
                "phone": "555-0100",
                "language": "English",
            },
        ),
    ),
    StartKind.PUMPS: TableKind(
        (
            Column("name", CellIs.TEXT, gettext_noop("what everybody calls it"), True),
            Column("flow_gpm", CellIs.NUMBER, gettext_noop("gallons a minute"), True),
            _CODE,
        ),
        ({"name": "well 1", "flow_gpm": "1150"},),
    ),
    StartKind.PIVOTS: TableKind(
        (
            Column("field", CellIs.FIELD, gettext_noop("the field it stands on"), True),
            Column("pump", CellIs.PUMP, gettext_noop("the well or pump that feeds it"), True),
            Column("name", CellIs.TEXT, gettext_noop("what everybody calls it"), True),
            Column(
                "last_tower_radius_ft",
                CellIs.NUMBER,
                gettext_noop("feet from the middle to the last tower"),
                True,
            ),
            Column(
                "walk_ft_per_min",
                CellIs.NUMBER,
                gettext_noop("feet a minute of the last tower, dry, at 100 %"),
                True,
            ),
            Column("tower_count", CellIs.NUMBER, gettext_noop("how many towers"), True),
            Column(
                "parking_angle_deg",
                CellIs.NUMBER,
                gettext_noop("where it parks, degrees clockwise from north"),
                True,
            ),
        ),
        (
            {
                "field": "Pond",
                "pump": "well 1",
                "name": "Pond pivot",
                "last_tower_radius_ft": "1234",
                "walk_ft_per_min": "9.2",
                "tower_count": "8",
                "parking_angle_deg": "45",
            },
        ),
    ),
}
