"""The workbook of per-field costs: a sheet of rows, a sheet of totals that are summed apart from them."""

import datetime as dt
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

import xlsxwriter

from farmops.farms.models import Farm
from ledger.costing.money import per_acre_usd, usd_from
from ledger.exports.about import About
from ledger.exports.whole import ExportRefused
from ledger.selectors.costs import CostRow, costs_by_field
from ledger.selectors.pools import LedgerTotals, ledger_totals, pool_costs

MADE_ON = dt.datetime(2026, 1, 1)  # noqa: DTZ001  (the format has no zone; fixed, so that bytes repeat)
MONEY = "#,##0.00;-#,##0.00"
QUANTITY = "#,##0.000;-#,##0.000"


def write_workbook(
    *, farm: Farm, crop_year: int, columns: Sequence[str], rows: Sequence[CostRow], path: Path, facts: About
) -> None:
    """Write the workbook; text never becomes a formula or a link, numbers stay numbers.

    Raises ExportRefused where the rows do not come to what the ledger holds for these seasons.
    """
    totals = ledger_totals(farm=farm, crop_year=crop_year)
    written_cents = sum(row.cents for row in rows)
    if written_cents != totals.season_cents:
        raise ExportRefused(
            f"The rows come to {usd_from(written_cents)}, the ledger holds {usd_from(totals.season_cents)}; try again."
        )
    book = new_book(path=path, title=f"Field costs {crop_year}")
    styles = {
        "head": book.add_format({"bold": True, "bottom": 1}),
        "money": book.add_format({"num_format": MONEY}),
        "quantity": book.add_format({"num_format": QUANTITY}),
        "acres": book.add_format({"num_format": "0.00"}),
    }
    _costs_sheet(book, styles, columns, rows)
    _totals_sheet(book, styles, farm, crop_year)
    _rest_sheet(book, styles, farm, crop_year, totals)
    about_sheet(book, styles["head"], facts)
    book.close()


def new_book(*, path: Path, title: str) -> Any:
    """Return an empty workbook whose rows go to the disk as they are written and whose bytes hold no clock."""
    book = xlsxwriter.Workbook(
        str(path),
        {
            "constant_memory": True,
            "strings_to_formulas": False,
            "strings_to_urls": False,
            "strings_to_numbers": False,
        },
    )
    book.set_properties({"title": title, "author": "", "created": MADE_ON})
    return book


def about_sheet(book: Any, head: Any, facts: About) -> None:
    """Write what the workbook is of on a sheet of its own."""
    sheet = book.add_worksheet("About")
    sheet.set_column(0, 0, 28)
    sheet.set_column(1, 1, 66)
    for at, (name, value) in enumerate((("about", "value"), *facts.facts())):
        sheet.write_string(at, 0, name, head if not at else None)
        sheet.write_string(at, 1, value, head if not at else None)


def _costs_sheet(book: Any, styles: dict[str, Any], columns: Sequence[str], rows: Sequence[CostRow]) -> None:
    sheet = book.add_worksheet("Costs")
    sheet.freeze_panes(1, 0)
    sheet.set_column(1, 8, 14)
    for column, name in enumerate(columns):
        sheet.write_string(0, column, name, styles["head"])
    for at, row in enumerate(rows, start=1):
        sheet.write_number(at, 0, row.crop_year)
        sheet.write_string(at, 1, row.field)
        sheet.write_string(at, 2, row.crop)
        sheet.write_number(at, 3, row.area_ac, styles["acres"])
        sheet.write_string(at, 4, row.category)
        if row.quantity is not None:
            sheet.write_number(at, 5, row.quantity, styles["quantity"])
            sheet.write_string(at, 6, row.unit)
        sheet.write_number(at, 7, row.amount_usd, styles["money"])
        sheet.write_number(at, 8, row.usd_per_ac, styles["money"])


def _totals_sheet(book: Any, styles: dict[str, Any], farm: Farm, crop_year: int) -> None:
    fields = costs_by_field(farm=farm, crop_year=crop_year)
    by_category: dict[str, int] = {}
    for field in fields:
        for category, cents in field.by_category:
            by_category[category] = by_category.get(category, 0) + cents
    total_cents = sum(field.total_cents for field in fields)
    total_ac = sum((field.area_ac for field in fields), Decimal(0))
    sheet = book.add_worksheet("Totals")
    sheet.set_column(0, 4, 18)
    at = _table(
        sheet,
        styles,
        0,
        ("field", "crop", "area_ac", "amount_usd", "usd_per_ac"),
        [
            (field.field, field.season.crop, field.area_ac, usd_from(field.total_cents), field.usd_per_ac)
            for field in fields
        ],
    )
    per_ac = per_acre_usd(cents=total_cents, area_ac=total_ac) if total_ac else Decimal(0)
    at = _table(sheet, styles, at, (), [("all fields", "", total_ac, usd_from(total_cents), per_ac)])
    _table(
        sheet,
        styles,
        at + 1,
        ("category", "amount_usd"),
        [(name, usd_from(cents)) for name, cents in sorted(by_category.items())],
    )


def _rest_sheet(book: Any, styles: dict[str, Any], farm: Farm, crop_year: int, totals: LedgerTotals) -> None:
    """Show what did not end on these fields, so that fields and the rest are the whole ledger."""
    sheet = book.add_worksheet("Rest of the ledger")
    sheet.set_column(0, 0, 34)
    sheet.set_column(1, 4, 16)
    at = _table(
        sheet,
        styles,
        0,
        ("where", "amount_usd"),
        [
            (f"fields, crop year {crop_year}", usd_from(totals.season_cents)),
            ("fields, other crop years", usd_from(totals.other_seasons_cents)),
            *((str(account.label), usd_from(cents)) for account, cents in totals.by_account),
            ("all of it together", usd_from(totals.difference_cents)),
        ],
    )
    _table(
        sheet,
        styles,
        at + 1,
        ("pool of", "code", "bills_usd", "charged_usd", "shared_usd", "left_usd"),
        [
            (
                pool.name,
                pool.code,
                usd_from(pool.bills_cents),
                usd_from(pool.charged_cents),
                usd_from(pool.shared_cents),
                usd_from(pool.left_cents),
            )
            for pool in pool_costs(farm=farm)
        ],
    )


def _table(
    sheet: Any,
    styles: dict[str, Any],
    at: int,
    header: Sequence[str],
    rows: Sequence[Sequence[str | Decimal]],
) -> int:
    for column, name in enumerate(header):
        sheet.write_string(at, column, name, styles["head"])
    at += 1 if header else 0
    for row in rows:
        for column, value in enumerate(row):
            if isinstance(value, str):
                if value:
                    sheet.write_string(at, column, value)
            else:
                whole = value == value.to_integral_value() and value.as_tuple().exponent == 0
                sheet.write_number(at, column, value, None if whole else styles["money"])
        at += 1
    return at
