"""Bills from a plain CSV file: all of a file or nothing, unless what is right of it is wanted alone.

Header `payee,bill_on,amount_usd,category` and, where wanted, `number`, `sales_tax_usd` (of the amount), `currency`,
`entity`, `crop_year`, `shared_by` (acres or equal), `paid_on`, `check_no`, `note`, `field`, `machine`, `implement`,
`pump` (codes of what the line is for), and `item`, `lot`, `quantity`, `unit` of what comes into stock. Rows of one
payee, day and invoice number are lines of one bill, and say the same about it; a row without a number is a bill alone.

Dates are ISO dates, numbers have a point, text is UTF-8 with or without a mark at its start. The same file again enters
nothing more. A faulty row is named by file, line and column.
"""

import datetime as dt
import uuid
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from django.db import transaction

from farmops.core.problems import DomainError
from farmops.farms.models import Farm, Implement, Machine, Pump, Season
from ledger.costing.money import MoneyError, cents_from, usd_from
from ledger.models import Entity
from ledger.selectors.bills import bill_places
from ledger.services.bill_rows import BillsFileRefused, FileRow, read_rows
from ledger.services.bills import NewBillItem, enter_bill

NEEDED = ("payee", "bill_on", "amount_usd", "category")
OF_BILL = ("currency", "entity", "crop_year", "shared_by", "paid_on", "check_no", "note", "implement", "pump")
OF_LINE = ("sales_tax_usd", "field", "machine", "item", "lot", "quantity", "unit")
EXTRAS = ("number", *OF_BILL, *OF_LINE)
NAMES = uuid.UUID("0d0f36c2-58b5-5f0c-8f43-5b6d1f8a2c77")
COLUMN_OF = {"season": "field", "items": "amount_usd"}


@dataclass
class ImportReport:
    """How many bills of a file were new, how many known before, and which were refused, each with its sentence."""

    new: int = 0
    known: int = 0
    refused: list[str] = field(default_factory=list)

    def __str__(self) -> str:
        return f"{self.new} new, {self.known} known before, {len(self.refused)} refused"


def import_bills(
    *, farm: Farm, path: Path, partial: bool = False, entered_by: Any = None, now: dt.datetime
) -> ImportReport:
    """Enter the bills of a file. Raises BillsFileRefused, and then nothing of it was entered.

    With `partial`, bills that are refused are named in the report and the others are entered; a file that cannot be
    read at all is refused whole.
    """
    bills = _bills(read_rows(path, NEEDED, EXTRAS))
    report = ImportReport()
    with transaction.atomic():
        for client_id, rows in _known_by(farm, bills):
            try:
                with transaction.atomic():
                    is_new = _enter(farm, client_id, rows, entered_by, now)
            except BillsFileRefused as error:
                if not partial:
                    raise
                report.refused.append(error.says)
                continue
            report.new += is_new
            report.known += not is_new
    return report


def _bills(rows: Sequence[FileRow]) -> list[list[FileRow]]:
    """Return the rows of each bill, in the order in which the bills begin."""
    found: dict[tuple[str, ...], list[FileRow]] = {}
    for row in rows:
        key = (row.cell("payee"), row.cell("bill_on"), row.cell("number"))
        found.setdefault(key if row.cell("number") else (str(row.line),), []).append(row)
    return list(found.values())


def _known_by(farm: Farm, bills: list[list[FileRow]]) -> list[tuple[uuid.UUID, list[FileRow]]]:
    """Return each bill with the id that it has in any file: made from what it says, and which of its like it is."""
    seen: Counter[str] = Counter()
    found = []
    for rows in bills:
        words = [[row.cell(name) for name in (*NEEDED, *EXTRAS)] for row in rows]
        told = repr((farm.code, words))
        found.append((uuid.uuid5(NAMES, f"{told}|{seen[told]}"), rows))
        seen[told] += 1
    return found


def _enter(farm: Farm, client_id: uuid.UUID, rows: list[FileRow], entered_by: Any, now: dt.datetime) -> bool:
    first = rows[0]
    for row in rows[1:]:
        for name in OF_BILL:
            if row.cell(name) != first.cell(name):
                raise row.refused(f"line {first.line} of the same bill says {first.cell(name)!r}.", name)
    bill_on = first.date("bill_on")
    year = first.whole("crop_year") if first.cell("crop_year") else None
    cents = [_cents(row, "amount_usd") for row in rows]
    told: dict[str, Any] = {
        "payee": first.cell("payee"),
        "number": first.cell("number"),
        "bill_on": bill_on,
        "amount_usd": usd_from(sum(cents)),
        "sales_tax_usd": usd_from(
            sum(_cents(row, "sales_tax_usd") for row in rows if row.cell("sales_tax_usd"))
        ),
        "currency": first.cell("currency") or "USD",
        "crop_year": year,
        "shared_by": first.cell("shared_by"),
        "check_no": first.cell("check_no"),
        "paid_on": first.date("paid_on") if first.cell("paid_on") else None,
        "note": first.cell("note"),
        "entity": _entity(farm, first),
    }
    lines = [_line(farm, row, year or bill_on.year) for row in rows]
    for name, kind in (("implement", Implement), ("pump", Pump)):
        told[name] = _coded(farm, first, name, kind)
    if len(lines) > 1 or lines[0].item or lines[0].quantity is not None:
        told |= {"items": lines}
    else:
        told |= {"category": lines[0].category, "season": lines[0].season, "machine": lines[0].machine}
    try:
        _bill, is_new = enter_bill(farm=farm, client_id=client_id, entered_by=entered_by, now=now, **told)
    except DomainError as error:
        raise _named(rows, error) from error
    return is_new


def _line(farm: Farm, row: FileRow, year: int) -> NewBillItem:
    line = NewBillItem(
        category=row.cell("category"),
        amount_usd=usd_from(_cents(row, "amount_usd")),
        item=row.cell("item"),
        lot=row.cell("lot"),
        quantity=row.cell("quantity") or None,
        unit=row.cell("unit"),
        machine=_coded(farm, row, "machine", Machine),
    )
    if not row.cell("field"):
        return line
    place = bill_places(farm=farm, crop_year=year).get(row.cell("field"))
    if not isinstance(place, Season):
        raise row.refused(f"{row.cell('field')!r} has not one season of crop year {year}.", "field")
    return replace(line, season=place)


def _coded(farm: Farm, row: FileRow, name: str, kind: type[Any]) -> Any:
    code = row.cell(name)
    if not code:
        return None
    found = kind.objects.filter(farm=farm, code=code).first()
    if found is None:
        known = ", ".join(kind.objects.filter(farm=farm).values_list("code", flat=True)) or "none"
        raise row.refused(f"{farm.name} has no {name} {code!r}; it has {known}.", name)
    return found


def _entity(farm: Farm, row: FileRow) -> Entity | None:
    found: Entity | None = _coded(farm, row, "entity", Entity)
    return found


def _cents(row: FileRow, name: str) -> int:
    try:
        return cents_from(row.cell(name))
    except MoneyError as error:
        raise row.refused(str(error), name) from error


def _named(rows: list[FileRow], error: DomainError) -> BillsFileRefused:
    """Return a refusal with the line and the column of what was refused."""
    at = next(iter(error.fields), "")
    if at.startswith("items/"):
        _items, number, name = at.split("/")
        return rows[int(number)].refused(error.says, COLUMN_OF.get(name, name))
    return rows[0].refused(error.says, COLUMN_OF.get(at, at))
