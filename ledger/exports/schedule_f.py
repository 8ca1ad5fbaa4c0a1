"""What a farm paid in a year, by the lines of a tax form, as CSV for the preparer. Not tax advice.

Columns: `tax_year` and `form_year` (the year of the form whose line numbers these are); `line` and `label` as on the form,
an empty line for what is on none; `category` of the books; `payee`, `entity` (empty: the farm's own), `paid_on`, `check_no`,
`bill_number`, `bill_on`; `amount_usd`; `remark` for what the preparer should look at; `notice`, in every row. A bill with items
has a row for each of its categories, with its part of the sales tax.
"""

from pathlib import Path
from typing import Any

from farmops.farms.models import Farm
from ledger.costing.money import usd_text
from ledger.exports.about import About, about, head_of, write_manifest
from ledger.exports.cells import text_cell
from ledger.exports.csv_forms import PLAIN, CsvForm, csv_writer
from ledger.exports.whole import ExportRefused, refusing, whole_file
from ledger.selectors.form_lines import NOT_ADVICE, FormRow, form_rows
from ledger.selectors.form_maps import SCHEDULE_F

FORM = "tax-form/1"
FIRST_YEAR, LAST_YEAR = 1990, 2100
COLUMNS = (
    "tax_year",
    "form_year",
    "line",
    "label",
    "category",
    "payee",
    "entity",
    "paid_on",
    "check_no",
    "bill_number",
    "bill_on",
    "amount_usd",
    "remark",
    "notice",
)


def write_form(
    *,
    farm: Farm,
    tax_year: int,
    path: Path,
    map_code: str = SCHEDULE_F,
    form_year: int | None = None,
    form: CsvForm = PLAIN,
) -> About:
    """Write the rows of a form and return what the file is of. Raises NoSuchMap and ExportRefused.

    The digest of the books is not in the file but in the manifest beside it: what is no payment changes no byte here.
    """
    if not FIRST_YEAR <= tax_year <= LAST_YEAR:
        raise ExportRefused(f"The year {tax_year} is not between {FIRST_YEAR} and {LAST_YEAR}.")
    head = head_of(farm=farm)
    rows = form_rows(farm=farm, tax_year=tax_year, map_code=map_code, form_year=form_year)
    with refusing(path), whole_file(path) as unfinished, csv_writer(unfinished, form) as writer:
        writer.writerow(COLUMNS)
        for row in rows:
            writer.writerow(_cells(row, tax_year, form_year or tax_year, form))
    return about(
        farm=farm,
        form=FORM,
        period=f"paid in {tax_year}, form of {form_year or tax_year}, {NOT_ADVICE}",
        row_count=len(rows),
        cents=sum(row.cents for row in rows),
        head=head,
    )


def export_form(*, path: Path, **asked: Any) -> About:
    """Write the file, and its manifest beside it."""
    facts = write_form(path=path, **asked)
    with refusing(path):
        write_manifest(path=path, facts=facts)
    return facts


def _cells(row: FormRow, tax_year: int, form_year: int, form: CsvForm) -> list[Any]:
    return [
        tax_year,
        form_year,
        text_cell(row.line),
        *map(text_cell, (row.label, row.category, row.payee, row.entity)),
        row.paid_on,
        text_cell(row.check_no),
        text_cell(row.bill_number),
        row.bill_on,
        usd_text(row.cents).replace(".", form.decimal_mark),
        text_cell(row.remark),
        NOT_ADVICE,
    ]
