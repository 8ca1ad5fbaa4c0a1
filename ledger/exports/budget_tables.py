"""Budget beside actual, and where each season comes out even, as CSV or XLSX."""

from decimal import Decimal
from pathlib import Path

from farmops.farms.models import Farm
from ledger.costing.money import usd_from
from ledger.exports.about import About, about, head_of
from ledger.exports.csv_forms import PLAIN, CsvForm
from ledger.exports.field_costs import refuse_unknown_year
from ledger.exports.tables import Cell, refuse_other_endings, write_table
from ledger.selectors.break_even_facts import break_evens
from ledger.selectors.budgets import budget_rows

BUDGET_FORM = "budget/1"
BUDGET_COLUMNS = (
    "crop_year",
    "field",
    "crop",
    "area_ac",
    "category",
    "actual_usd",
    "budget_usd",
    "difference_usd",
)
EVEN_FORM = "break-even/1"
EVEN_COLUMNS = (
    "crop_year",
    "field",
    "crop",
    "area_ac",
    "cost_usd",
    "budget_usd",
    "yield_quantity",
    "yield_unit",
    "yield_is_expected",
    "price_usd_per_unit",
    "even_price_usd_per_unit",
    "even_yield_per_ac",
    "budget_even_price_usd_per_unit",
    "budget_even_yield_per_ac",
)


def write_budgets(*, farm: Farm, crop_year: int, path: Path, form: CsvForm = PLAIN) -> About:
    """Write each season's categories with what they cost, what they were meant to cost, and the difference.

    A category that nobody budgeted has no budget and no difference, which is not the same as zero.
    """
    refuse_other_endings(path)
    refuse_unknown_year(farm=farm, crop_year=crop_year)
    head = head_of(farm=farm)
    rows: list[tuple[Cell, ...]] = []
    cents = 0
    for one in break_evens(farm=farm, crop_year=crop_year):
        field, crop = one.row.key
        for row in budget_rows(farm=farm, crop_year=crop_year, where=one.row.where):
            amounts = (row.actual_cents, row.budget_cents, row.difference_cents)
            rows.append((crop_year, field, crop, one.row.area_ac, row.category, *map(_usd, amounts)))
            cents += row.actual_cents
    facts = about(
        farm=farm,
        form=BUDGET_FORM,
        period=f"crop year {crop_year}",
        row_count=len(rows),
        cents=cents,
        head=head,
    )
    write_table(path=path, names=BUDGET_COLUMNS, rows=rows, total=None, form=form, facts=facts)
    return facts


def write_break_even(*, farm: Farm, crop_year: int, path: Path, form: CsvForm = PLAIN) -> About:
    """Write each season's cost, budget and yield, with the price and the yield an acre that pay for them."""
    refuse_other_endings(path)
    refuse_unknown_year(farm=farm, crop_year=crop_year)
    head = head_of(farm=farm)
    evens = break_evens(farm=farm, crop_year=crop_year)
    rows: list[tuple[Cell, ...]] = [
        (
            crop_year,
            *one.row.key,
            one.row.area_ac,
            one.row.amount_usd,
            _usd(one.budget_cents),
            None if one.harvest is None else one.harvest.quantity,
            one.unit,
            "" if one.harvest is None else ("yes" if one.harvest.is_expected else "no"),
            one.price_usd,
            one.even_price_usd,
            one.even_yield_per_ac,
            one.budget_price_usd,
            one.budget_yield_per_ac,
        )
        for one in evens
    ]
    facts = about(
        farm=farm,
        form=EVEN_FORM,
        period=f"crop year {crop_year}",
        row_count=len(rows),
        cents=sum(one.row.cents for one in evens),
        head=head,
    )
    write_table(path=path, names=EVEN_COLUMNS, rows=rows, total=None, form=form, facts=facts)
    return facts


def _usd(cents: int | None) -> Decimal | None:
    return None if cents is None else usd_from(cents)
