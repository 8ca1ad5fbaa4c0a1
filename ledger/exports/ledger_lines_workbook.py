"""Every line that was booked in a calendar year, as a workbook: written row by row, with totals by account.

The totals are values, and are checked against the rows before the file takes its place.
"""

import datetime as dt
from decimal import Decimal
from pathlib import Path
from typing import Any

from django.db.models import Sum

from farmops.farms.models import Farm
from ledger.costing.money import usd_from
from ledger.exports.about import About, about, head_of
from ledger.exports.ledger_lines import COLUMNS, FORM, Column
from ledger.exports.whole import ExportRefused, whole_file
from ledger.exports.workbook import MONEY, about_sheet, new_book
from ledger.models import Line

MOST_ROWS = 1_048_575
"""A sheet has 1,048,576 rows (ECMA-376), one of them for the names."""


def write_lines_workbook(*, farm: Farm, year: int, path: Path) -> About:
    """Write the lines in the order of their entries and return what the file is of."""
    head = head_of(farm=farm)
    lines = Line.objects.filter(farm=farm, entry__booked_on__year=year, entry__number__lte=head.number)
    totals = dict(lines.order_by().values_list("account").annotate(Sum("cents")))
    row_count = lines.count()
    if row_count > MOST_ROWS:
        raise ExportRefused(f"{year} has {row_count:,} lines, a sheet holds {MOST_ROWS:,}; write it as .csv.")
    facts = about(
        farm=farm, form=FORM, period=str(year), row_count=row_count, cents=sum(totals.values()), head=head
    )
    with whole_file(path) as unfinished:
        book = new_book(path=unfinished, title=f"Lines {year}")
        bold = book.add_format({"bold": True, "bottom": 1})
        money = book.add_format({"num_format": MONEY})
        written = _lines_sheet(book, bold, money, lines)
        if written != totals:
            raise ExportRefused(f"{path.name}: the rows do not come to what the ledger holds; try again.")
        sheet = book.add_worksheet("Totals")
        sheet.set_column(0, 1, 18)
        for at, (name, cents) in enumerate(sorted(totals.items())):
            sheet.write_string(at, 0, name)
            sheet.write_number(at, 1, usd_from(cents), money)
        about_sheet(book, bold, facts)
        book.close()
    return facts


def _lines_sheet(book: Any, bold: Any, money: Any, lines: Any) -> dict[str, int]:
    sheet = book.add_worksheet("Lines")
    sheet.freeze_panes(1, 0)
    sheet.set_column(0, len(COLUMNS), 14)
    day = book.add_format({"num_format": "yyyy-mm-dd"})
    for column, one in enumerate(COLUMNS):
        sheet.write_string(0, column, one.name, bold)
    names = [_path(one) for one in COLUMNS]
    account, cents = names.index("account"), names.index("cents")
    written: dict[str, int] = {}
    rows = lines.order_by("entry__number", "line_no").values_list(*names)
    for at, row in enumerate(rows.iterator(chunk_size=2_000), start=1):
        written[row[account]] = written.get(row[account], 0) + row[cents]
        for column, (one, value) in enumerate(zip(COLUMNS, row, strict=True)):
            if value is None or value == "":
                continue
            if isinstance(value, str):
                sheet.write_string(at, column, value)
            elif isinstance(value, dt.date):
                sheet.write_datetime(at, column, value, day)
            elif one.kind == "whole":
                sheet.write_number(at, column, value)
            else:
                places = int(one.kind[1:])
                sheet.write_number(at, column, Decimal(value).scaleb(-places), money if places == 2 else None)
    return written


def _path(column: Column) -> str:
    table, _point, name = column.source.partition(".")
    return f"entry__{name}" if table == "e" else name
