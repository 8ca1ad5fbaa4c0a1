"""Reading a journal that `ledger.exports.journal_csv` wrote, row by row; what does not fit is named by its line."""

import csv
import datetime as dt
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from django.db import models

from farmops.farms.models import Farm
from ledger.costing.chain import FORM_NO
from ledger.exports.cells import text_from_cell
from ledger.models import Account, Entry, Line, SourceKind
from ledger.selectors.journal_rows import COLUMNS, ENTRY_COLUMNS, INSTANT, LINE_COLUMNS, TEXT_COLUMNS
from ledger.services.bill_rules import CURRENCY, CurrencyDiffers
from ledger.services.journal_import import (
    JournalImport,
    JournalRefused,
    ReadEntry,
    ReadLine,
    keep_journal,
)

T = TypeVar("T")
WHOLE = re.compile(r"[1-9][0-9]{0,8}", re.ASCII)
USD = re.compile(r"-?(0|[1-9][0-9]{0,10})\.[0-9]{2}", re.ASCII)
E4 = re.compile(r"-?(0|[1-9][0-9]{0,13})\.[0-9]{4}", re.ASCII)
DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)
DIGEST = re.compile(r"[0-9a-f]{64}", re.ASCII)
LAYER = re.compile(r"([1-9][0-9]{0,8})/([1-9][0-9]{0,4})", re.ASCII)
OF_ENTRY = (*ENTRY_COLUMNS, "hash_before", "hash")


def _longest(model: type[models.Model], name: str) -> int:
    field = model._meta.get_field(name)
    return (field.max_length or 0) if isinstance(field, models.CharField) else 0


LONGEST = {
    name: _longest(model, name)
    for model, names in (
        (Entry, ("source_key", "purpose", "why")),
        (Line, ("subject", "outfit", "operation", "category", "item", "lot", "unit", "says")),
    )
    for name in names
}


def import_journal(*, farm: Farm, path: Path, head: str = "") -> JournalImport:
    """Read a journal into a farm that has no entry yet, all of it or nothing; the same entries give the same head.

    `head` is the digest that the last entry must have, as a manifest holds it: without it, rows that were cut off the end
    leave no trace. Raises JournalRefused and CurrencyDiffers with file and line.
    """
    return keep_journal(farm=farm, entries=read_journal(path), head=head)


def read_journal(path: Path) -> Iterator[ReadEntry]:
    """Yield the entries of a file in its order."""
    rows: list[_Row] = []
    for row in _rows(path):
        if rows and row.cells["entry"] != rows[0].cells["entry"]:
            yield _entry(rows)
            rows = []
        rows.append(row)
    if rows:
        yield _entry(rows)


@dataclass(frozen=True)
class _Row:
    place: str
    cells: dict[str, str]

    def read(self, column: str, pattern: re.Pattern[str], convert: Callable[[str], T], wanted: str) -> T:
        text = self.cells[column]
        try:
            if pattern.fullmatch(text):
                return convert(text)
        except ValueError:
            pass
        raise self.refused(f"{text!r} is not {wanted}.", column)

    def read_if_any(
        self, column: str, pattern: re.Pattern[str], convert: Callable[[str], T], wanted: str
    ) -> T | None:
        return self.read(column, pattern, convert, wanted) if self.cells[column] else None

    def whole(self, column: str) -> int:
        return self.read(column, WHOLE, int, "a whole number above zero")

    def day(self, column: str) -> dt.date:
        return self.read(column, DAY, dt.date.fromisoformat, "a date such as 2026-01-31")

    def e4(self, column: str) -> int | None:
        return self.read_if_any(column, E4, _digits, "a number with four decimals after a point")

    def text(self, column: str) -> str:
        text = self.cells[column]
        if len(text) > LONGEST[column]:
            raise self.refused(f"{len(text)} characters; at most {LONGEST[column]}.", column)
        return text

    def one_of(self, column: str, known: list[str]) -> str:
        if self.cells[column] not in known:
            raise self.refused(f"{self.cells[column]!r} is none of {', '.join(known)}.", column)
        return self.cells[column]

    def refused(self, says: str, column: str) -> JournalRefused:
        return JournalRefused(f"{self.place}, column {column}: {says}")


def _rows(path: Path) -> Iterator[_Row]:
    line = 1
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            reader = csv.reader(file, strict=True)
            _check_header(path.name, next(reader, []))
            for cells in reader:
                line = reader.line_num
                if cells:
                    yield _row(f"{path.name}, line {line}", cells)
    except OSError as error:
        raise JournalRefused(f"{path} cannot be read: {error.strerror}.") from error
    except UnicodeDecodeError as error:
        raise JournalRefused(
            f"{path.name} is not UTF-8 text after line {line}; write it again by export_journal."
        ) from error
    except csv.Error as error:
        raise JournalRefused(f"{path.name}, after line {line}: {error}.") from error


def _check_header(name: str, header: list[str]) -> None:
    if tuple(header) == COLUMNS:
        return
    if len(header) == 1 and ";" in header[0]:
        raise JournalRefused(f"{name}, line 1: the cells are parted by semicolons; a journal has commas.")
    missing = [column for column in COLUMNS if column not in header]
    told = f"missing {', '.join(missing)}" if missing else "another order, or columns that are not known"
    raise JournalRefused(f"{name}, line 1: this is no journal ({told}); it has {', '.join(COLUMNS)}.")


def _row(place: str, cells: list[str]) -> _Row:
    if len(cells) != len(COLUMNS):
        raise JournalRefused(f"{place}: {len(cells)} cells where the header has {len(COLUMNS)}.")
    if any("\0" in cell for cell in cells):
        raise JournalRefused(f"{place}: it holds a zero byte.")
    named = dict(zip(COLUMNS, cells, strict=True))
    row = _Row(
        place, {name: text_from_cell(cell) if name in TEXT_COLUMNS else cell for name, cell in named.items()}
    )
    if row.cells["currency"] != CURRENCY:
        raise CurrencyDiffers(
            f"{place}, column currency: the books are in {CURRENCY}, and this row is in "
            f"{row.cells['currency'] or 'no currency'!r}.",
            fields={"currency": f"Only {CURRENCY}."},
        )
    return row


def _entry(rows: list[_Row]) -> ReadEntry:
    first = rows[0]
    for row in rows[1:]:
        differs = [name for name in OF_ENTRY if row.cells[name] != first.cells[name]]
        if differs:
            raise row.refused("it differs from the row before of the same entry.", differs[0])
    has_lines = len(rows) > 1 or first.cells["line_no"] != ""
    if not has_lines and any(first.cells[name] for name in LINE_COLUMNS):
        raise first.refused("an entry without lines has nothing in the cells of a line.", "line_no")
    form_no = first.whole("form")
    if form_no > FORM_NO:
        raise first.refused(f"form {form_no} is newer than what is known here, {FORM_NO}.", "form")
    return ReadEntry(
        place=first.place,
        number=first.whole("entry"),
        form_no=form_no,
        source_kind=SourceKind(first.one_of("source_kind", SourceKind.values)),
        source_key=first.text("source_key"),
        purpose=first.text("purpose"),
        happened_on=first.day("happened_on"),
        booked_on=first.day("booked_on"),
        posted_at=first.read(
            "posted_at", re.compile(".{27}"), _instant, "an instant such as 2026-01-31T16:00:00.000000Z"
        ),
        why=first.text("why"),
        reverses=first.read_if_any("reverses", WHOLE, int, "the number of an entry"),
        lines=tuple(map(_line, rows)) if has_lines else (),
        hash_before=first.read_if_any("hash_before", DIGEST, str, "a digest of 64 hex digits") or "",
        digest=first.read("hash", DIGEST, str, "a digest of 64 hex digits"),
    )


def _line(row: _Row) -> ReadLine:
    return ReadLine(
        place=row.place,
        line_no=row.whole("line_no"),
        account=Account(row.one_of("account", Account.values)),
        subject=row.text("subject"),
        outfit=row.text("outfit"),
        operation=row.text("operation"),
        category=row.text("category"),
        item=row.text("item"),
        lot=row.text("lot"),
        drawn_from=row.read_if_any("drawn_from", LAYER, _layer, "an entry and a line such as 12/1"),
        quantity_e4=row.e4("quantity"),
        unit=row.text("unit"),
        price_e4=row.e4("usd_per_unit"),
        cents=row.read("amount_usd", USD, _digits, "an amount with two decimals after a point"),
        says=row.text("says"),
    )


def _digits(text: str) -> int:
    return int(text.replace(".", ""))


def _layer(text: str) -> tuple[int, int]:
    entry, line = text.split("/")
    return int(entry), int(line)


def _instant(text: str) -> dt.datetime:
    return dt.datetime.strptime(text, INSTANT).replace(tzinfo=dt.UTC)
