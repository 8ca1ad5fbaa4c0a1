"""Machines, implements, hands, pumps and pivots from a table: read with each bad cell named, then kept, all or nothing.

The rules are those of the farm's files: a row becomes an object as `farm.json` has it and is read by the same reader.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from django.utils.translation import gettext as _

from farmops.farms.models import Farm, Field, FuelTank, Hand, Implement, Machine, Pivot, Pump, StartKind
from farmops.farms.services.cell_values import (
    NotUnderstood,
    days_said,
    hour_said,
    language_said,
    number_said,
    one_of_named,
    plain_word,
    work_said,
    yes_said,
)
from farmops.farms.services.cells import BadCell, Cells
from farmops.farms.services.code_names import code_of
from farmops.farms.services.farm_files import FarmFacts, read_pivot, read_pump
from farmops.farms.services.farm_rows import Row
from farmops.farms.services.loading import LoadReport, put_rows
from farmops.farms.services.outfit_files import (
    HAND_WORK,
    IMPLEMENT_WORK,
    read_hand,
    read_implement,
    read_machine,
)
from farmops.farms.services.table_columns import KINDS, CellIs, Column
from farmops.farms.services.table_text import Line, TableRefused, read_table

Progress = Callable[[int, int], None]
COUNTED: dict[StartKind, Any] = {
    StartKind.MACHINES: Machine,
    StartKind.IMPLEMENTS: Implement,
    StartKind.HANDS: Hand,
    StartKind.PUMPS: Pump,
}
"""Things that have a code of the farm, each of which names one of them only."""
STRETCHES = (("from", "to"), ("sat_from", "sat_to"), ("rest_from", "rest_to"))


@dataclass(frozen=True)
class RowRead:
    """One row: its line, its cells as typed, what is wrong with some of them, and what it says where nothing is."""

    line: int
    cells: Mapping[str, str]
    wrong: Mapping[str, str]
    row: Row | None
    is_known: bool


@dataclass(frozen=True)
class TableRead:
    """A table that was read: its columns in their order and its rows."""

    kind: StartKind
    columns: list[str]
    rows: list[RowRead] = field(default_factory=list)

    @property
    def wrong_count(self) -> int:
        return sum(len(row.wrong) for row in self.rows)


def template_text(kind: StartKind) -> str:
    """Return the table to begin with: the columns and rows that show how they are filled."""
    table = KINDS[kind]
    lines = [",".join(table.names)]
    lines += [",".join(row.get(name, "") for name in table.names) for row in table.examples]
    return "\r\n".join(lines) + "\r\n"


def read_facts(*, farm: Farm, kind: StartKind, text: str) -> TableRead:
    """Return a table with each bad cell named by its row and column. Raises TableRefused for what is no such table."""
    table = KINDS[kind]
    found = read_table(text, known=table.names, needed=table.needed)
    reading = _Reading(farm, kind, found.columns)
    return TableRead(kind, found.columns, [reading.row(line) for line in found.lines])


def keep_facts(*, farm: Farm, kind: StartKind, text: str, progress: Progress | None = None) -> LoadReport:
    """Store the rows of a table, all of them or none; a row whose code is known brings that one up to what it says."""
    table = read_facts(farm=farm, kind=kind, text=text)
    for read in table.rows:
        for column, says in read.wrong.items():
            raise TableRefused(
                _("Row {row}, column {column}: {says}.").format(row=read.line, column=column, says=says)
            )
    rows = [read.row for read in table.rows if read.row is not None]
    if progress is not None:
        progress(0, len(rows))
    facts = FarmFacts(farm=Row(key={}, values={}))
    getattr(facts, kind.value).extend(rows)
    return put_rows(farm=farm, facts=facts)


class _Reading:
    def __init__(self, farm: Farm, kind: StartKind, columns: list[str]) -> None:
        self.kind, self.columns = kind, columns
        self.by_name = {column.name: column for column in KINDS[kind].columns}
        self.examples = [dict(row) for row in KINDS[kind].examples]
        own = COUNTED.get(kind)
        self.known: dict[str, str] = {}
        self.elsewhere: set[str] = set()
        for model in (Machine, Implement, Hand, Pump, FuelTank):
            named = dict(model._default_manager.filter(farm=farm).values_list("code", "name"))
            if model is own:
                self.known = named
            else:
                self.elsewhere |= set(named)
        self.fields: dict[str, str] = {}
        self.pumps: dict[str, str] = {}
        self.on_pivot: set[str] = set()
        if kind == StartKind.PIVOTS:
            self.fields = dict(Field.objects.filter(farm=farm).values_list("code", "name"))
            self.pumps = dict(Pump.objects.filter(farm=farm).values_list("code", "name"))
            self.on_pivot = set(Pivot.objects.filter(farm=farm).values_list("field__code", flat=True))
        self.seen: dict[str, int] = {}

    def row(self, line: Line) -> RowRead:
        wrong: dict[str, str] = {}
        said = {name: self._said(name, text, wrong) for name, text in line.cells.items() if text}
        if {name: text for name, text in line.cells.items() if text} in self.examples:
            wrong[self.columns[0]] = _(
                "this is still the row that shows how the table is filled; put your own in its place"
            )
        if self.kind == StartKind.HANDS:
            said = _with_shifts(said, wrong)
        if self.kind != StartKind.PIVOTS:
            said.setdefault("code", self._code(line.cells.get("name", "")))
        node = Cells(
            {name: value for name, value in said.items() if value is not None}, path=Path(), wrong_cells=wrong
        )
        row: Row | None = None
        try:
            row = self._read(node)
        except BadCell as error:
            if not wrong:
                node.note(error)
        code = row.points_to["field"] if row and self.kind == StartKind.PIVOTS else str(said.get("code", ""))
        self._once(code, line, wrong)
        is_known = code in (self.on_pivot if self.kind == StartKind.PIVOTS else self.known)
        if wrong or row is None:
            return RowRead(line.number, line.cells, wrong, None, is_known)
        return RowRead(line.number, line.cells, {}, self._only_said(row) if is_known else row, is_known)

    def _read(self, node: Cells) -> Row:
        if self.kind == StartKind.PIVOTS:
            return read_pivot(node, list(self.fields), list(self.pumps))
        readers: dict[StartKind, Callable[[Any], Row]] = {
            StartKind.MACHINES: read_machine,
            StartKind.IMPLEMENTS: read_implement,
            StartKind.HANDS: read_hand,
            StartKind.PUMPS: read_pump,
        }
        return readers[self.kind](node)

    def _said(self, name: str, text: str, wrong: dict[str, str]) -> Any:
        try:
            return self._value(self.by_name[name], text)
        except NotUnderstood as error:
            wrong[name] = str(error)
            return None

    def _value(self, column: Column, text: str) -> Any:
        if column.cells == CellIs.NUMBER:
            return number_said(text)
        if column.cells == CellIs.YES_OR_NO:
            return yes_said(text)
        if column.cells == CellIs.LANGUAGE:
            return language_said(text)
        if column.cells == CellIs.WORK:
            return work_said(text, IMPLEMENT_WORK if self.kind == StartKind.IMPLEMENTS else HAND_WORK)
        if column.cells == CellIs.DAYS:
            return days_said(text)
        if column.cells == CellIs.HOUR:
            return hour_said(text)
        if column.cells == CellIs.ONE_WORD:
            return plain_word(text)
        if column.cells == CellIs.FIELD:
            return one_of_named(text, self.fields, says=_("no field is called “{text}”; known are: {known}"))
        if column.cells == CellIs.PUMP:
            return one_of_named(text, self.pumps, says=_("no pump is called “{text}”; known are: {known}"))
        return text

    def _code(self, name: str) -> str:
        """Return the code of what has that name already, else one made of it."""
        for code, known in self.known.items():
            if plain_word(known) == plain_word(name):
                return code
        return code_of(
            name, taken=self.elsewhere | set(self.known), otherwise=self.kind.value.removesuffix("s")
        )

    def _once(self, code: str, line: Line, wrong: dict[str, str]) -> None:
        column = "field" if self.kind == StartKind.PIVOTS else "code" if line.cells.get("code") else "name"
        if code in self.elsewhere:
            wrong.setdefault(column, _("something else of the farm has the code {code}").format(code=code))
        if code in self.seen:
            wrong.setdefault(column, _("row {row} says the same").format(row=self.seen[code]))
        self.seen.setdefault(code, line.number)

    def _only_said(self, row: Row) -> Row:
        """Return a row that changes what its columns say and leaves the rest of what is known."""
        rows = {
            "skills": row.rows.get("skills"),
            "shifts": row.rows.get("shifts"),
            "operations": row.rows.get("operations"),
        }
        return replace(
            row,
            values={name: value for name, value in row.values.items() if name in self.columns},
            rows={name: kept for name, kept in rows.items() if kept is not None},
        )


def _with_shifts(said: dict[str, Any], wrong: dict[str, str]) -> dict[str, Any]:
    """Return what a hand's row says with its hours as stretches of days; hours of Saturdays may differ."""
    rest = {name: value for name, value in said.items() if not any(name in pair for pair in STRETCHES)}
    days = rest.pop("days", None)
    hours = {name: said.get(name) for pair in STRETCHES for name in pair}
    for first, last in STRETCHES:
        if bool(hours[first]) != bool(hours[last]) and first not in wrong and last not in wrong:
            wrong[last if hours[first] else first] = _("is missing: a stretch of hours has two ends")
    for name, value in (("days", days), ("from", hours["from"]), ("to", hours["to"])):
        if value is None:
            wrong.setdefault(name, _("is missing"))
    if wrong.keys() & {"days", *hours}:
        return rest
    weekdays = [day for day in days or [] if day != "sat" or not hours["sat_from"]]
    begin, end = ("from", hours["from"]), ("to", hours["to"])
    if hours["rest_from"] is None:
        stretches = [_stretch(weekdays, begin, end)]
    else:
        stretches = [
            _stretch(weekdays, begin, ("rest_from", hours["rest_from"])),
            _stretch(weekdays, ("rest_to", hours["rest_to"]), end),
        ]
        if hours["rest_to"] < hours["rest_from"]:
            wrong["rest_to"] = _("the rest ends before it begins")
    if hours["sat_from"]:
        stretches.append(_stretch(["sat"], ("sat_from", hours["sat_from"]), ("sat_to", hours["sat_to"])))
    return {**rest, "shifts": [one for one in stretches if one["days"]]}


def _stretch(days: list[str], begin: tuple[str, Any], end: tuple[str, Any]) -> dict[str, Any]:
    return {
        "days": days,
        "from": begin[1],
        "to": end[1],
        "_columns": {"days": "days", "from": begin[0], "to": end[0]},
    }
