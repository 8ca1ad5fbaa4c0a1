"""The forms of CSV: plain for programs, and two that a spreadsheet opens by a double click."""

import csv
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

BOM = "\ufeff"
TOLD_EACH = 500
"""After so many rows whoever waits for a file is told how far it is."""
Told = Callable[[int], object]


@dataclass(frozen=True)
class CsvForm:
    """How a table is written as text: RFC 4180 in UTF-8, with or without a byte order mark."""

    delimiter: str
    decimal_mark: str
    has_bom: bool

    def number(self, value: Decimal | None) -> str:
        """Return a number without thousands marks; nothing for None."""
        return "" if value is None else f"{value:f}".replace(".", self.decimal_mark)


PLAIN = CsvForm(",", ".", False)
SPREADSHEET = CsvForm(",", ".", True)
SEMICOLON = CsvForm(";", ",", True)
"""For spreadsheets set to a language that writes decimals with a comma."""


def csv_form(*, for_spreadsheet: bool, semicolon: bool) -> CsvForm:
    """Return the form that is asked for; semicolons are for spreadsheets only."""
    if semicolon:
        return SEMICOLON
    return SPREADSHEET if for_spreadsheet else PLAIN


@contextmanager
def csv_writer(path: Path, form: CsvForm) -> Iterator[Any]:
    """Give a writer of rows into a file of a form."""
    with path.open("w", encoding="utf-8", newline="") as file:
        if form.has_bom:
            file.write(BOM)
        yield csv.writer(file, delimiter=form.delimiter, lineterminator="\r\n")
