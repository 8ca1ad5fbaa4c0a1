"""Costs cut as asked (field, crop, operation, category, machine, month) as CSV or XLSX."""

from collections.abc import Sequence
from pathlib import Path

from farmops.farms.models import Farm
from ledger.exports.about import About, about, head_of
from ledger.exports.csv_forms import PLAIN, CsvForm
from ledger.exports.field_costs import refuse_unknown_year
from ledger.exports.tables import Cell, refuse_other_endings, write_table
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
    refuse_other_endings(path)
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
    all_key = ("all together", *[""] * (len(by) - 1))
    write_table(
        path=path,
        names=("crop_year", *map(str, by), *NUMBERS),
        rows=[(crop_year, *row.key, *_values(row)) for row in table.rows],
        total=(crop_year, *all_key, *_values(table.total)),
        form=form,
        facts=facts,
    )
    return table, facts


def _values(row: CostTableRow) -> tuple[Cell, ...]:
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
