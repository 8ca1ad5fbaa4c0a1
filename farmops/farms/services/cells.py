"""A row of a table read as an object of a farm's file is, so that one rule holds for both; each bad cell is told.

A refusal ends the reading of a cell and not of the row: the cell is noted with why, something that passes stands in its
place, and the reading goes on to the next.
"""

import datetime as dt
from collections.abc import Callable, Collection, Iterator, Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any, TypeVar

from farmops.farms.services.json_facts import BadFarmFile, Node

Value = TypeVar("Value")
STANDS_IN = "x"


class BadCell(BadFarmFile):
    """A cell that cannot stand; noted where its row is read, and told by the page of the table."""

    code = "bad_cell"

    def __init__(self, says: str, column: str) -> None:
        super().__init__(says, fields={column: says})
        self.column = column


class Cells(Node):
    """The cells of one row by their columns; `wrong_cells` has a sentence for each that is wrong.

    `columns` names the column of a key that is called otherwise in a list within the row.
    """

    def __init__(
        self,
        value: Any,
        *,
        path: Path,
        at: str = "",
        wrong_cells: dict[str, str] | None = None,
        columns: Mapping[str, str] | None = None,
    ) -> None:
        self.wrong_cells: dict[str, str] = {} if wrong_cells is None else wrong_cells
        self.columns = columns or {}
        super().__init__(value, path=path, at=at)

    def wrong(self, says: str, key: str = "") -> BadCell:
        """Return the refusal of a cell, to be raised."""
        name = key.partition("[")[0]
        return BadCell(says, self.columns.get(name, name))

    def note(self, error: BadCell) -> None:
        """Note a cell that is wrong; the first that is said of it counts."""
        self.wrong_cells.setdefault(error.column, error.says)

    def text(self, key: str, *, most: int, default: str | None = None) -> str:
        return self._read(key, lambda: super(Cells, self).text(key, most=most, default=default), STANDS_IN)

    def code(self, key: str, *, known: Collection[str] | None = None, what: str = "code") -> str:
        return self._read(key, lambda: super(Cells, self).code(key, known=known, what=what), STANDS_IN)

    def choice(self, key: str, choices: Collection[str], *, default: str | None = None) -> str:
        stands_in = default or next(iter(choices))
        return self._read(key, lambda: super(Cells, self).choice(key, choices, default=default), stands_in)

    def number(
        self, key: str, *, least: float, most: float, decimals: int, default: Decimal | None = None
    ) -> Decimal:
        def read() -> Decimal:
            return super(Cells, self).number(key, least=least, most=most, decimals=decimals, default=default)

        return self._read(key, read, Decimal(str(least)))

    def optional_number(self, key: str, *, least: float, most: float, decimals: int) -> Decimal | None:
        def read() -> Decimal | None:
            return super(Cells, self).optional_number(key, least=least, most=most, decimals=decimals)

        return self._read(key, read, None)

    def date(self, key: str) -> dt.date:
        return self._read(key, lambda: super(Cells, self).date(key), dt.date.min)

    def words(self, key: str, choices: Collection[str]) -> list[str]:
        return self._read(key, lambda: super(Cells, self).words(key, choices), [])

    def nodes(self, key: str, *, required: bool = False) -> Iterator[Node]:
        """Yield the objects of a list, whose keys are called as `_columns` in each of them says."""
        for item in self.raw(key) or []:
            named = dict(item)
            columns = named.pop("_columns")
            yield Cells(named, path=self.path, wrong_cells=self.wrong_cells, columns=columns)

    def _read(self, key: str, read: Callable[[], Value], stands_in: Value) -> Value:
        column = self.columns.get(key, key)
        if column in self.wrong_cells:
            self.raw(key)
            return stands_in
        try:
            return read()
        except BadCell as error:
            self.note(error)
            return stands_in
