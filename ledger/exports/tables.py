"""A table of numbers and words as CSV or as a workbook of typed cells, with what it is of."""

from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path

from ledger.exports.about import About
from ledger.exports.cells import text_cell
from ledger.exports.csv_forms import CsvForm, csv_writer
from ledger.exports.whole import ExportRefused, refusing, whole_file
from ledger.exports.workbook import MONEY, about_sheet, new_book

Cell = Decimal | int | str | None
Rows = Sequence[Sequence[Cell]]
SUFFIXES = (".csv", ".xlsx")


def refuse_other_endings(path: Path) -> None:
    """Raise ExportRefused for a name that ends in neither .csv nor .xlsx."""
    if path.suffix.lower() not in SUFFIXES:
        raise ExportRefused(f"{path.name}: the name ends in .csv or .xlsx, which says what to write.")


def write_table(
    *, path: Path, names: Sequence[str], rows: Rows, total: Sequence[Cell] | None, form: CsvForm, facts: About
) -> None:
    """Write the file that the name's ending asks for; it appears whole or not at all.

    A workbook also has the total under the rows, as values; CSV stays rectangular.
    """
    refuse_other_endings(path)
    with refusing(path), whole_file(path) as unfinished:
        if path.suffix.lower() == ".csv":
            with csv_writer(unfinished, form) as writer:
                writer.writerow(names)
                writer.writerows([_text(cell, form) for cell in row] for row in rows)
        else:
            _workbook(unfinished, names, rows if total is None else [*rows, total], facts)


def _text(cell: Cell, form: CsvForm) -> str:
    if isinstance(cell, str):
        return text_cell(cell)
    return str(cell) if isinstance(cell, int) else form.number(cell)


def _workbook(path: Path, names: Sequence[str], rows: Rows, facts: About) -> None:
    book = new_book(path=path, title=f"{facts.form.partition('/')[0]} {facts.period}")
    bold = book.add_format({"bold": True, "bottom": 1})
    money = book.add_format({"num_format": MONEY})
    fine = book.add_format({"num_format": "#,##0.0000;-#,##0.0000"})
    sheet = book.add_worksheet("Costs")
    sheet.freeze_panes(1, 0)
    sheet.set_column(0, len(names), 16)
    for column, name in enumerate(names):
        sheet.write_string(0, column, name, bold)
    for at, row in enumerate(rows, start=1):
        for column, cell in enumerate(row):
            if isinstance(cell, str):
                sheet.write_string(at, column, cell)
            elif isinstance(cell, int):
                sheet.write_number(at, column, cell)
            elif cell is not None:
                sheet.write_number(at, column, cell, fine if "per_unit" in names[column] else money)
    about_sheet(book, bold, facts)
    book.close()
