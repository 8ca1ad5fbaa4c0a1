"""A table handed in as a file or pasted from a spreadsheet: its text, its header, its rows. Nothing is read into it."""

import csv
import io
from collections.abc import Collection
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

from django.utils.translation import gettext as _

from farmops.core.problems import DomainError

MOST_BYTES = 1024 * 1024
MOST_ROWS = 500
SIGNS = ("\t", ";", ",")


class TableRefused(DomainError):
    """A table that cannot be read or kept; the sentence says what to do, and nothing of it was kept."""

    code = "table_refused"


@dataclass(frozen=True)
class Line:
    """One row with the number of its line and its cells by column, without the white space around them."""

    number: int
    cells: dict[str, str]


@dataclass(frozen=True)
class Table:
    """The columns in their order and the rows that have anything in them."""

    columns: list[str]
    lines: list[Line]


def decoded(content: bytes) -> str:
    """Return the text of a file: UTF-8, UTF-16 with its mark, or what else spreadsheets of this country write."""
    if len(content) > MOST_BYTES:
        raise TableRefused(_("The table has more than 1 MB. Hand in the rows alone, as CSV."))
    if content.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")):
        raise TableRefused(
            _("That is a workbook of a spreadsheet. Save the sheet as CSV, or copy its rows and paste them.")
        )
    try:
        if content.startswith((b"\xff\xfe", b"\xfe\xff")):
            return content.decode("utf-16")
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("cp1252", "replace")


def read_table(text: str, *, known: Collection[str], needed: Collection[str]) -> Table:
    """Return the table of a text whose first line names the columns. Raises TableRefused."""
    if "\0" in text:
        raise TableRefused(_("That is no table: it holds signs that no text has."))
    text = text.lstrip("\ufeff")
    first = next((line for line in text.splitlines() if line.strip()), "")
    sign = max(SIGNS, key=first.count)
    try:
        rows = [
            (number, [cell.strip() for cell in cells])
            for number, cells in _numbered(
                csv.reader(io.StringIO(text, newline=""), delimiter=sign, strict=True)
            )
            if any(cell.strip() for cell in cells)
        ]
    except csv.Error as error:
        raise TableRefused(
            _("The table cannot be read: look whether each quotation mark is closed.")
        ) from error
    if not rows:
        raise TableRefused(_("The table is empty. Its first line names the columns."))
    (_number, header), *body = rows
    columns = _columns(header, known=known, needed=needed)
    if not body:
        raise TableRefused(_("The table has its columns and no rows yet."))
    if len(body) > MOST_ROWS:
        raise TableRefused(
            _("The table has {count} rows; at most {most} are taken at once.").format(
                count=len(body), most=MOST_ROWS
            )
        )
    lines = []
    for number, cells in body:
        if any(cells[len(columns) :]):
            raise TableRefused(
                _("Row {row} has {count} cells, and the first line names {columns} columns.").format(
                    row=number, count=len(cells), columns=len(columns)
                )
            )
        filled = [*cells, *[""] * len(columns)][: len(columns)]
        lines.append(Line(number, dict(zip(columns, filled, strict=True))))
    return Table(columns, lines)


def _numbered(rows: Any) -> list[tuple[int, list[str]]]:
    """Return each row of a csv reader with the number of the line it begins at."""
    found = []
    begins = 1
    for cells in rows:
        found.append((begins, cells))
        begins = rows.line_num + 1
    return found


def _columns(header: list[str], *, known: Collection[str], needed: Collection[str]) -> list[str]:
    names = [" ".join(name.lower().split()).replace(" ", "_").replace("-", "_") for name in header]
    while names and not names[-1]:
        names.pop()
    if not set(names) & set(known):
        raise TableRefused(
            _("The first line must name the columns: {columns}.").format(columns=", ".join(known))
        )
    for name in names:
        if name not in known:
            near = get_close_matches(name, known, n=1)
            says = (
                _("No column is called “{name}”; is {near} meant?").format(name=name[:40], near=near[0])
                if near
                else _("No column is called “{name}”. The columns are {columns}.").format(
                    name=name[:40], columns=", ".join(known)
                )
            )
            raise TableRefused(says)
        if names.count(name) > 1:
            raise TableRefused(_("The column “{name}” stands twice.").format(name=name))
    missing = [name for name in needed if name not in names]
    if missing:
        raise TableRefused(
            _("These columns are missing in the first line: {columns}.").format(columns=", ".join(missing))
        )
    return names
