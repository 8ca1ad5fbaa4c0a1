"""Rows of a file of bills, read strictly: what does not fit is named by file, line and column."""

import codecs
import csv
import datetime as dt
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from farmops.core.problems import DomainError

MOST_BYTES = 20_000_000
MOST_ROWS = 100_000
DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
YEAR = re.compile(r"[0-9]{4}")


class BillsFileRefused(DomainError):
    """A file of bills that cannot be entered; nothing of it was, unless the rest was wanted alone."""

    code = "bills_file_refused"


@dataclass(frozen=True)
class FileRow:
    """One row with its place; a column that the file does not have is empty."""

    file: str
    line: int
    cells: dict[str, str]

    def cell(self, name: str) -> str:
        """Return a cell without the white space around it."""
        return self.cells.get(name, "")

    def date(self, name: str) -> dt.date:
        """Return a cell as a date."""
        text = self.cell(name)
        try:
            return dt.date.fromisoformat(text if DATE.fullmatch(text) else "")
        except ValueError as error:
            raise self.refused(f"{text!r} is not a date such as 2026-01-31.", name) from error

    def whole(self, name: str) -> int:
        """Return a cell as a year."""
        text = self.cell(name)
        if not YEAR.fullmatch(text):
            raise self.refused(f"{text!r} is not a year such as 2026.", name)
        return int(text)

    def refused(self, says: str, column: str = "") -> BillsFileRefused:
        """Return a refusal with the place of what is wrong."""
        place = f", column {column}" if column in self.cells else ""
        return BillsFileRefused(f"{self.file}, line {self.line}{place}: {says}")


def read_rows(path: Path, needed: Sequence[str], extras: Sequence[str]) -> list[FileRow]:
    """Return the rows of a CSV file with these columns; raises BillsFileRefused."""
    reader = csv.reader(io.StringIO(_text(path), newline=""), strict=True)
    rows: list[FileRow] = []
    try:
        header = next(reader, [])
        _check_header(path.name, header, needed, extras)
        for cells in reader:
            if not any(cell.strip() for cell in cells):
                continue
            if len(cells) != len(header):
                raise BillsFileRefused(
                    f"{path.name}, line {reader.line_num}: {len(cells)} cells where the header has {len(header)}."
                )
            stripped = dict(zip(header, (cell.strip() for cell in cells), strict=True))
            rows.append(FileRow(path.name, reader.line_num, stripped))
            if len(rows) > MOST_ROWS:
                raise BillsFileRefused(f"{path.name} has more than {MOST_ROWS:,} rows; cut it into parts.")
    except csv.Error as error:
        raise BillsFileRefused(f"{path.name}, line {reader.line_num}: {error}.") from error
    if not rows:
        raise BillsFileRefused(f"{path.name} holds a header and no rows.")
    return rows


def _text(path: Path) -> str:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise BillsFileRefused(f"{path.name} has more than {MOST_BYTES // 1_000_000} MB.")
        content = path.read_bytes()
    except OSError as error:
        raise BillsFileRefused(f"{path} cannot be read: {error.strerror}.") from error
    if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        raise BillsFileRefused(f"{path.name} is UTF-16 text; save it as CSV in UTF-8.")
    if b"\0" in content:
        raise BillsFileRefused(f"{path.name} holds zero bytes; it is not a text file.")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BillsFileRefused(
            f"{path.name} is not UTF-8 text (byte {error.start + 1}), maybe Windows-1252; save it as CSV in UTF-8."
        ) from error


def _check_header(name: str, header: list[str], needed: Sequence[str], extras: Sequence[str]) -> None:
    missing = [column for column in needed if column not in header]
    strange = [column for column in header if column not in needed and column not in extras]
    if len(header) == 1 and ";" in header[0]:
        raise BillsFileRefused(
            f"{name}, line 1: cells are set apart by semicolons; save it with commas between cells and a point in "
            "numbers."
        )
    if missing or strange or len(set(header)) != len(header):
        told = [f"missing {', '.join(missing)}"] if missing else []
        told += [f"not known {', '.join(map(repr, strange))}"] if strange else []
        raise BillsFileRefused(
            f"{name}, line 1: the header does not fit ({'; '.join(told) or 'a column twice'}); "
            f"it has {', '.join(needed)} and may have {', '.join(extras)}."
        )
