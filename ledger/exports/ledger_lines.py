"""Every line that was booked in a calendar year, as CSV: streamed, so that memory stays flat as lines grow.

The database writes the text of each row: PostgreSQL by its own copy-out, SQLite through a cursor. Both give the same
bytes. Dollars are made of whole cents in whole numbers; minutes stay minutes.
"""

import csv
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from django.db import DEFAULT_DB_ALIAS, connections

from farmops.farms.models import Farm
from ledger.exports.about import About, about, head_of
from ledger.exports.cells import FORMULA_STARTS, MARK, text_cell
from ledger.exports.csv_forms import BOM, PLAIN, TOLD_EACH, CsvForm, Told
from ledger.exports.whole import ExportRefused, whole_file

FORM = "lines/1"
CHUNK_ROWS = 2_000


@dataclass(frozen=True)
class Column:
    """A column of the file: its name, and what it is made of: text, a day, a whole number, or ten-to-the-minus places."""

    name: str
    source: str
    kind: str


COLUMNS = (
    Column("entry", "e.number", "whole"),
    Column("line_no", "l.line_no", "whole"),
    Column("happened_on", "e.happened_on", "day"),
    Column("booked_on", "e.booked_on", "day"),
    Column("source_kind", "e.source_kind", "word"),
    Column("source_key", "e.source_key", "text"),
    Column("why", "e.why", "text"),
    Column("account", "l.account", "word"),
    Column("subject", "l.subject", "text"),
    Column("outfit", "l.outfit", "text"),
    Column("operation", "l.operation", "text"),
    Column("category", "l.category", "text"),
    Column("item", "l.item", "text"),
    Column("lot", "l.lot", "text"),
    Column("quantity", "l.quantity_e4", "e4"),
    Column("unit", "l.unit", "text"),
    Column("usd_per_unit", "l.price_e4", "e4"),
    Column("amount_usd", "l.cents", "e2"),
    Column("says", "l.says", "text"),
)
_FROM = (
    "FROM ledger_line l JOIN ledger_entry e ON e.id = l.entry_id "
    "WHERE e.farm_id = %s AND e.booked_on >= %s AND e.booked_on <= %s AND e.number <= %s"
)


def write_ledger_lines(
    *,
    farm: Farm,
    year: int,
    path: Path,
    form: CsvForm = PLAIN,
    using: str = DEFAULT_DB_ALIAS,
    told: Told | None = None,
) -> About:
    """Write the lines in the order of their entries and return what the file is of; it appears whole or not at all.

    What is booked meanwhile is not in it: the file ends at the head that it names. Their sum is zero in whole books.
    `told` hears now and then how many are written.
    """
    connection = connections[using]
    head = head_of(farm=farm)
    given = (farm.pk, f"{year}-01-01", f"{year}-12-31", head.number)
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT COUNT(*), COALESCE(SUM(l.cents), 0) {_FROM}", given)
        row_count, cents = cursor.fetchone()
        rows = f"{select_text(connection.vendor, form)} {_FROM} ORDER BY e.number, l.line_no"
        with whole_file(path) as unfinished:
            write = _by_copy if connection.vendor == "postgresql" else _by_cursor
            written = write(cursor, rows, given, unfinished, form, told)
            if written != row_count:
                raise ExportRefused(
                    f"{path.name}: the books have {row_count} lines of {year}, {written} were read."
                )
    return about(farm=farm, form=FORM, period=str(year), row_count=row_count, cents=int(cents), head=head)


def line_text(text: str) -> str:
    """Return a text as it stands in this file: no formula, and on one line."""
    return text_cell(text).replace("\r", " ").replace("\n", " ")


def select_text(vendor: str, form: CsvForm) -> str:
    """Return the part of the query that makes each column's text; an empty text is nothing."""
    made = [_made(one, vendor, form) for one in COLUMNS]
    return "SELECT " + ", ".join(f"{sql} AS {one.name}" for sql, one in zip(made, COLUMNS, strict=True))


def _made(column: Column, vendor: str, form: CsvForm) -> str:
    source = column.source
    if column.kind in ("whole", "word"):
        return source
    if column.kind == "day":
        return source if vendor == "postgresql" else f"substr({source}, 1, 10)"
    if column.kind == "text":
        return _text(source, vendor)
    places = int(column.kind[1:])
    if vendor == "postgresql":
        number = f"({source} * 0.{'0' * (places - 1)}1)"
    else:
        step = 10**places
        number = (
            f"(CASE WHEN {source} < 0 THEN '-' ELSE '' END || (abs({source}) / {step}) || '.' || "
            f"substr('{'0' * places}' || (abs({source}) %% {step}), -{places}))"
        )
    return (
        number if form.decimal_mark == "." else f"replace(CAST({number} AS text), '.', '{form.decimal_mark}')"
    )


def _text(source: str, vendor: str) -> str:
    """Return what `line_text` does, as SQL. Most texts are empty, and of the rest few begin with a sign."""
    signs = "".join((*FORMULA_STARTS, MARK * 2))
    char, position = ("char", "instr") if vendor == "sqlite" else ("chr", "strpos")
    one_line = f"replace(replace({source}, {char}(13), ' '), {char}(10), ' ')"
    marked = f"CASE WHEN {position}('{signs}', substr({source}, 1, 1)) > 0 THEN '''' ELSE '' END"
    return f"CASE WHEN {source} = '' THEN NULL ELSE {marked} || {one_line} END"


def _by_copy(
    cursor: object, rows: str, given: Iterable[object], path: Path, form: CsvForm, told: Told | None
) -> int:
    """Let PostgreSQL write; a line end within a text cannot be, so that each one is the end of a row."""
    copied = f"COPY ({rows}) TO STDOUT (FORMAT csv, HEADER, DELIMITER '{form.delimiter}')"
    with path.open("wb") as file:
        if form.has_bom:
            file.write(BOM.encode())
        with cursor.copy(copied, given) as copy:  # type: ignore[attr-defined]
            count = 0
            for piece in copy:
                text = bytes(piece)
                file.write(text.replace(b"\n", b"\r\n"))
                if told is not None:
                    before, count = count, count + text.count(b"\n")
                    if before // TOLD_EACH != count // TOLD_EACH:
                        told(count)
        return int(cursor.rowcount)  # type: ignore[attr-defined]


def _by_cursor(
    cursor: object, rows: str, given: Iterable[object], path: Path, form: CsvForm, told: Told | None
) -> int:
    count = 0
    with path.open("w", encoding="utf-8", newline="") as file:
        if form.has_bom:
            file.write(BOM)
        writer = csv.writer(file, delimiter=form.delimiter, lineterminator="\r\n")
        writer.writerow(one.name for one in COLUMNS)
        cursor.execute(rows, given)  # type: ignore[attr-defined]
        while page := cursor.fetchmany(CHUNK_ROWS):  # type: ignore[attr-defined]
            writer.writerows(page)
            count += len(page)
            if told is not None:
                told(count)
    return count
