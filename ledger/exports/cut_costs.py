"""Costs cut as asked (field, crop, operation, category, machine, month) as CSV or XLSX."""

from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

from farmops.farms.models import Farm
from ledger.exports.about import About, about, head_of
from ledger.exports.cells import text_cell
from ledger.exports.csv_forms import PLAIN, CsvForm, csv_writer
from ledger.exports.field_costs import refuse_unknown_year
from ledger.exports.whole import ExportRefused, refusing, whole_file
from ledger.exports.workbook import MONEY, about_sheet, new_book
from ledger.selectors.cost_cells import Dimension
from ledger.selectors.cost_tables import CostTable, CostTableRow, cost_table

FORM = "cut-costs/1"
NUMBERS = (
    "area_ac",
    "amount_usd",
    "usd_per_ac",
    "yield_quantity",
    "yield_unit",
    "yield_is_expected",
    "usd_per_unit",
)


def write_cut_costs(
    *, farm: Farm, crop_year: int, by: Sequence[Dimension], path: Path, form: CsvForm = PLAIN
) -> tuple[CostTable, About]:
    """Write a table of costs into the file that the name's ending asks for, and return it with what the file is of."""
    suffix = path.suffix.lower()
    if suffix not in (".csv", ".xlsx"):
        raise ExportRefused(f"{path.name}: the name ends in .csv or .xlsx, which says what to write.")
    with refusing(path):
        refuse_unknown_year(farm=farm, crop_year=crop_year)
        head = head_of(farm=farm)
        table = cost_table(farm=farm, crop_year=crop_year, by=by)
        facts = about(
            farm=farm,
            form=FORM,
            period=f"crop year {crop_year}",
            row_count=len(table.rows),
            cents=table.total.cents,
            head=head,
        )
        with whole_file(path) as unfinished:
            if suffix == ".csv":
                _csv(table, unfinished, form)
            else:
                _xlsx(table, unfinished, facts)
    return table, facts


def _values(row: CostTableRow) -> tuple[Decimal | str | None, ...]:
    harvest = row.harvest
    expected = "" if harvest is None else ("yes" if harvest.is_expected else "no")
    return (
        row.area_ac,
        row.amount_usd,
        row.usd_per_ac,
        None if harvest is None else harvest.quantity,
        "" if harvest is None else harvest.unit,
        expected,
        row.usd_per_unit,
    )


def _csv(table: CostTable, path: Path, form: CsvForm) -> None:
    with csv_writer(path, form) as writer:
        writer.writerow(("crop_year", *table.by, *NUMBERS))
        for row in table.rows:
            values = [
                text_cell(value) if isinstance(value, str) else form.number(value) for value in _values(row)
            ]
            writer.writerow([table.crop_year, *map(text_cell, row.key), *values])


def _xlsx(table: CostTable, path: Path, facts: About) -> None:
    book = new_book(path=path, title=f"Costs {table.crop_year}")
    head = book.add_format({"bold": True, "bottom": 1})
    money = book.add_format({"num_format": MONEY})
    fine = book.add_format({"num_format": "#,##0.0000;-#,##0.0000"})
    plain = book.add_format({"num_format": "#,##0.00"})
    styles: dict[str, Any] = {"area_ac": plain, "yield_quantity": plain, "usd_per_unit": fine}
    sheet = book.add_worksheet("Costs")
    sheet.freeze_panes(1, 0)
    names = ("crop_year", *table.by, *NUMBERS)
    sheet.set_column(0, len(names), 16)
    for column, name in enumerate(names):
        sheet.write_string(0, column, str(name), head)
    for at, row in enumerate((*table.rows, table.total), start=1):
        key = row.key or ("all together", *[""] * (len(table.by) - 1))
        sheet.write_number(at, 0, table.crop_year)
        for column, text in enumerate(key, start=1):
            sheet.write_string(at, column, text)
        for column, value in enumerate(_values(row), start=1 + len(table.by)):
            if isinstance(value, str):
                sheet.write_string(at, column, value)
            elif value is not None:
                sheet.write_number(at, column, value, styles.get(names[column], money))
    about_sheet(book, head, facts)
    book.close()
