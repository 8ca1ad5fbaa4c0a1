"""Per-field costs as CSV and XLSX: the same rows, the same bytes each time."""

from decimal import Decimal
from pathlib import Path

from farmops.farms.models import Farm
from ledger.exports.about import About, about, head_of
from ledger.exports.cells import text_cell
from ledger.exports.csv_forms import PLAIN, CsvForm, csv_writer
from ledger.exports.whole import ExportRefused, refusing, whole_file
from ledger.exports.workbook import write_workbook
from ledger.selectors.costs import CostRow, crop_years, field_costs

COLUMNS = (
    "crop_year",
    "field",
    "crop",
    "area_ac",
    "category",
    "quantity",
    "unit",
    "amount_usd",
    "usd_per_ac",
)


FORM = "field-costs/1"
ACRES = Decimal("0.01")


def write_csv(*, farm: Farm, crop_year: int, path: Path, form: CsvForm = PLAIN) -> list[CostRow]:
    """Write the rows as RFC 4180 text in UTF-8 and return them; the file appears whole or not at all.

    Numbers have no thousands marks; text that a spreadsheet would take for a formula gets an apostrophe.
    """
    rows = field_costs(farm=farm, crop_year=crop_year)
    with whole_file(path) as unfinished, csv_writer(unfinished, form) as writer:
        writer.writerow(COLUMNS)
        for row in rows:
            writer.writerow(
                [
                    row.crop_year,
                    text_cell(row.field),
                    text_cell(row.crop),
                    form.number(row.area_ac.quantize(ACRES)),
                    text_cell(row.category),
                    form.number(row.quantity),
                    text_cell(row.unit),
                    form.number(row.amount_usd),
                    form.number(row.usd_per_ac),
                ]
            )
    return rows


def write_told_csv(*, farm: Farm, crop_year: int, path: Path, form: CsvForm = PLAIN) -> About:
    """Write the same and return what the file is of."""
    rows = write_csv(farm=farm, crop_year=crop_year, path=path, form=form)
    return about_rows(farm=farm, crop_year=crop_year, rows=rows)


def write_xlsx(*, farm: Farm, crop_year: int, path: Path) -> list[CostRow]:
    """Write the rows as a workbook with typed cells, a sheet of totals and what it is of, and return them."""
    rows = field_costs(farm=farm, crop_year=crop_year)
    facts = about_rows(farm=farm, crop_year=crop_year, rows=rows)
    with whole_file(path) as unfinished:
        write_workbook(
            farm=farm, crop_year=crop_year, columns=COLUMNS, rows=rows, path=unfinished, facts=facts
        )
    return rows


def about_rows(*, farm: Farm, crop_year: int, rows: list[CostRow]) -> About:
    """Return what a file of these rows is of."""
    return about(
        farm=farm,
        form=FORM,
        period=f"crop year {crop_year}",
        row_count=len(rows),
        cents=sum(row.cents for row in rows),
        head=head_of(farm=farm),
    )


def write_field_costs(*, farm: Farm, crop_year: int, path: Path, form: CsvForm = PLAIN) -> list[CostRow]:
    """Write the file that the name's ending asks for."""
    suffix = path.suffix.lower()
    if suffix not in (".csv", ".xlsx"):
        raise ExportRefused(f"{path.name}: the name ends in .csv or .xlsx, which says what to write.")
    with refusing(path):
        refuse_unknown_year(farm=farm, crop_year=crop_year)
        if suffix == ".csv":
            return write_csv(farm=farm, crop_year=crop_year, path=path, form=form)
        return write_xlsx(farm=farm, crop_year=crop_year, path=path)


def refuse_unknown_year(*, farm: Farm, crop_year: int) -> None:
    """Raise ExportRefused for a crop year that the farm has no season of."""
    years = crop_years(farm=farm)
    if crop_year not in years:
        known = ", ".join(map(str, years)) or "none yet"
        raise ExportRefused(f"{farm} has no season of the crop year {crop_year}; known: {known}.")
