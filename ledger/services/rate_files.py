"""Rates and machine cost facts from plain CSV files: all of a file or nothing.

`rates.csv`, header `kind,subject,unit,usd_per_unit,valid_from` and, where wanted, `valid_until` (the last day; empty:
until another price of the same begins), `category` (of an input) and `holds_fuel` (yes or no, of a machine). Kinds:
wage, overtime_extra, payroll_burden (dollars on a dollar of wages), fuel, machine, implement, input, custom (work
that is hired, by the acre). The subject is a code, of custom work the operation, or empty for all.

`machine_costs.csv`, header `subject,cost_class,list_price_usd,paid_usd,bought_on,annual_h,interest_pct,
insurance_housing_pct` and, where wanted, `bought_at_h` (0 when left empty), `life_h` (the meter when it will be
parted with), `repair_rf1` and `repair_rf2` (those of the class when left empty).

Dates are ISO dates, numbers have a point; UTF-8. A faulty row is named by file, line and column; so is a row that
says something else than an earlier row of the file about the same thing and date.
"""

import csv
import datetime as dt
import io
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import TypeVar

from django.db import transaction

from farmops.core.nudge import nudge
from farmops.core.problems import DomainError
from farmops.farms.models import Farm
from ledger.services.rates import set_machine_costs, set_rate

RATE_COLUMNS = ("kind", "subject", "unit", "usd_per_unit", "valid_from")
RATE_EXTRAS = ("category", "holds_fuel", "valid_until")
RATE_KEY = ("kind", "subject", "valid_from")
COST_COLUMNS = (
    "subject",
    "cost_class",
    "list_price_usd",
    "paid_usd",
    "bought_on",
    "annual_h",
    "interest_pct",
    "insurance_housing_pct",
)
COST_EXTRAS = ("bought_at_h", "life_h", "repair_rf1", "repair_rf2")
COST_KEY = ("subject", "bought_on")
MOST_BYTES = 20_000_000
DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
Value = TypeVar("Value")


class RatesFileRefused(DomainError):
    """A file of rates that cannot be read; nothing of it was stored."""

    code = "rates_file_refused"


@dataclass(frozen=True)
class FileReport:
    """How many rows of a file were new, and how many were known before."""

    new: int
    known: int

    def __str__(self) -> str:
        return f"{self.new} new, {self.known} known before"


@dataclass(frozen=True)
class _Row:
    file: str
    line: int
    cells: dict[str, str]

    def date(self, column: str) -> dt.date:
        return self._read(column, _iso_date, "a date such as 2026-01-31")

    def date_or_none(self, column: str) -> dt.date | None:
        return self.date(column) if self.cells.get(column) else None

    def number(self, column: str) -> Decimal:
        return self._read(column, _plain_decimal, "a plain number such as 400 or 6.5")

    def number_or(self, column: str, other: Decimal | None) -> Decimal | None:
        return self.number(column) if self.cells.get(column) else other

    def yes(self, column: str) -> bool:
        return self._read(column, {"": False, "no": False, "yes": True}.__getitem__, "yes or no")

    def refused(self, says: str, column: str = "") -> RatesFileRefused:
        place = f", column {column}" if column else ""
        return RatesFileRefused(f"{self.file}, line {self.line}{place}: {says}")

    @contextmanager
    def named(self) -> Iterator[None]:
        """Name the file, the line and the column of what is refused inside."""
        try:
            yield
        except DomainError as error:
            raise self.refused(error.says, ", ".join(error.fields)) from error

    def _read(self, column: str, convert: Callable[[str], Value], wanted: str) -> Value:
        text = self.cells.get(column, "")
        try:
            return convert(text)
        except (ValueError, KeyError, InvalidOperation) as error:
            raise self.refused(f"{text!r} is not {wanted}.", column) from error


def load_rates(*, farm: Farm, path: Path, corrects: bool = False, now: dt.datetime) -> FileReport:
    """Store the rates of a file; rows that were stored before change nothing."""

    def store(row: _Row) -> bool:
        valid_from, holds_fuel = row.date("valid_from"), row.yes("holds_fuel")
        valid_until = row.date_or_none("valid_until")
        with row.named():
            _rate, is_new = set_rate(
                farm=farm,
                kind=row.cells["kind"],
                subject=row.cells["subject"],
                unit=row.cells["unit"],
                usd_per_unit=row.cells["usd_per_unit"],
                valid_from=valid_from,
                valid_until=valid_until,
                category=row.cells.get("category", ""),
                holds_fuel=holds_fuel,
                corrects=corrects,
                is_one_of_many=True,
                now=now,
            )
        return is_new

    return _stored(_rows(path, RATE_COLUMNS, RATE_EXTRAS, RATE_KEY), store)


def load_machine_costs(*, farm: Farm, path: Path, corrects: bool = False, now: dt.datetime) -> FileReport:
    """Store the cost facts of a file; rows that were stored before change nothing."""

    def store(row: _Row) -> bool:
        facts = {
            "bought_on": row.date("bought_on"),
            "annual_h": row.number("annual_h"),
            "interest_pct": row.number("interest_pct"),
            "insurance_housing_pct": row.number("insurance_housing_pct"),
            "bought_at_h": row.number_or("bought_at_h", Decimal(0)) or Decimal(0),
            "life_h": row.number_or("life_h", None),
            "repair_rf1": row.number_or("repair_rf1", None),
            "repair_rf2": row.number_or("repair_rf2", None),
        }
        with row.named():
            _facts, is_new = set_machine_costs(
                farm=farm,
                subject=row.cells["subject"],
                machine_class=row.cells["cost_class"],
                list_price_usd=row.cells["list_price_usd"],
                paid_usd=row.cells["paid_usd"],
                corrects=corrects,
                now=now,
                **facts,  # type: ignore[arg-type]
            )
        return is_new

    return _stored(_rows(path, COST_COLUMNS, COST_EXTRAS, COST_KEY), store)


def _stored(rows: Iterator[_Row], store: Callable[[_Row], bool]) -> FileReport:
    with transaction.atomic():
        news = [store(row) for row in rows]
        nudge("rate.set")
    return FileReport(new=sum(news), known=len(news) - sum(news))


def _rows(
    path: Path, needed: tuple[str, ...], extras: tuple[str, ...], key: tuple[str, ...]
) -> Iterator[_Row]:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise RatesFileRefused(f"{path} has more than {MOST_BYTES // 1_000_000} MB.")
        text = path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise RatesFileRefused(f"{path} cannot be read: {error.strerror}.") from error
    except UnicodeDecodeError as error:
        raise RatesFileRefused(f"{path.name} is not UTF-8 text (byte {error.start + 1}).") from error
    if "\0" in text:
        raise RatesFileRefused(f"{path.name} holds zero bytes; it is not a text file.")
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    seen: dict[tuple[str, ...], _Row] = {}
    try:
        header = next(reader, [])
        _check_header(path.name, header, needed, extras)
        for cells in reader:
            if not any(cell.strip() for cell in cells):
                continue
            if len(cells) != len(header):
                raise RatesFileRefused(
                    f"{path.name}, line {reader.line_num}: {len(cells)} cells where the header has {len(header)}."
                )
            stripped = dict(zip(header, (cell.strip() for cell in cells), strict=True))
            row = _Row(path.name, reader.line_num, stripped)
            earlier = seen.setdefault(tuple(stripped[column] for column in key), row)
            if earlier.cells != stripped:
                raise row.refused(f"line {earlier.line} says something else for the same {', '.join(key)}.")
            yield row
    except csv.Error as error:
        raise RatesFileRefused(f"{path.name}, line {reader.line_num}: {error}.") from error
    if not seen:
        raise RatesFileRefused(f"{path.name} holds a header and no rows.")


def _check_header(name: str, header: list[str], needed: tuple[str, ...], extras: tuple[str, ...]) -> None:
    missing = [column for column in needed if column not in header]
    strange = [column for column in header if column not in needed + extras]
    if missing or strange or len(set(header)) != len(header):
        told = [f"missing {', '.join(missing)}"] if missing else []
        told += [f"not known {', '.join(map(repr, strange))}"] if strange else []
        raise RatesFileRefused(
            f"{name}, line 1: the header does not fit ({'; '.join(told) or 'a column twice'}); "
            f"it has {', '.join(needed)} and may have {', '.join(extras)}."
        )


def _iso_date(text: str) -> dt.date:
    if not DATE.fullmatch(text):
        raise ValueError(text)
    return dt.date.fromisoformat(text)


def _plain_decimal(text: str) -> Decimal:
    if not text.isascii() or "_" in text or "e" in text.lower():
        raise ValueError(text)
    value = Decimal(text)
    if not value.is_finite():
        raise ValueError(text)
    return value
