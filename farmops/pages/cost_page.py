"""What the page of costs shows, as plain data: a table cut as asked, with the address of the lines of each number."""

from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from farmops.farms.models import Farm
from farmops.pages import words
from ledger.models import Category
from ledger.selectors.chain import chain_head
from ledger.selectors.cost_cells import CostWhere, Dimension
from ledger.selectors.cost_tables import CostTable, CostTableRow, cost_table
from ledger.selectors.costs import crop_years
from ledger.selectors.lines import cell_sum
from ledger.selectors.pending import waiting_postings
from ledger.selectors.pool_lines import Side
from ledger.selectors.pools import PoolCost, pool_costs

CUTS = {
    "field": ("By field", (Dimension.FIELD, Dimension.CROP)),
    "crop": ("by crop", (Dimension.CROP,)),
    "operation": ("by operation", (Dimension.OPERATION,)),
    "machine": ("by machine", (Dimension.MACHINE,)),
    "month": ("by month", (Dimension.MONTH,)),
    "category": ("by category", (Dimension.CATEGORY,)),
}
"""How the rows can be cut. Columns are categories; beside rows of categories they are crops."""
HEADS = {Dimension.FIELD: "Field", Dimension.CROP: "Crop", Dimension.OPERATION: "Operation"} | {
    Dimension.MACHINE: "Machine",
    Dimension.MONTH: "Month",
    Dimension.CATEGORY: "Category",
}


@dataclass(frozen=True)
class Number:
    """A number as it is shown, and behind which question mark its lines are."""

    says: str
    query: str


def cost_facts(*, farm: Farm, crop_year: int, cut: str, where: CostWhere) -> dict[str, Any]:
    """Return what seasons cost, cut as asked, with the totals and what still waits."""
    by = CUTS[cut][1]
    across = Dimension.CROP if cut == "category" else Dimension.CATEGORY
    table = cost_table(farm=farm, crop_year=crop_year, by=by, where=where)
    cells = cost_table(farm=farm, crop_year=crop_year, by=(*by, across), where=where)
    foot = cost_table(farm=farm, crop_year=crop_year, by=(across,), where=where)
    owner = where.narrowed((Dimension.CATEGORY,), (Category.OWNER_TIME.value,))
    here = {(row.key[:-1], row.key[-1]): row for row in cells.rows}
    columns = [row.key[0] for row in foot.rows]
    counted = cell_sum(farm=farm, crop_year=crop_year, where=where)
    head = chain_head(farm=farm)
    return {
        "crop_year": crop_year,
        "years": crop_years(farm=farm),
        "cut": cut,
        "cuts": [
            (name, says, urlencode({"year": crop_year, "by": name, **where.given()}))
            for name, (says, _by) in CUTS.items()
        ],
        "narrowed": narrowed_words(farm=farm, crop_year=crop_year, where=where),
        "headline": _headline(table, cut, counted.line_count),
        "heads": [HEADS[one] for one in by],
        "columns": [row.says[0] for row in foot.rows],
        "has_units": any(row.usd_per_unit is not None for row in (*table.rows, table.total)),
        "rows": [
            {
                "says": row.says,
                "code": row.key[0].partition(".")[0] if cut == "field" else "",
                **_numbers(row, crop_year),
                "cells": [_cell(here.get((row.key, column)), crop_year) for column in columns],
            }
            for row in table.rows
        ],
        "total": {
            **_numbers(table.total, crop_year),
            "cells": [_cell(row, crop_year) for row in foot.rows],
        },
        "owner": None
        if where.category is not None
        else _cell(cost_table(farm=farm, crop_year=crop_year, by=(), where=owner).total, crop_year),
        "late_count": counted.late_count,
        "all_query": query_of(crop_year, where),
        "pools": [_pool(pool) for pool in pool_costs(farm=farm)],
        "waiting": [words.dates_said(wait.says) for wait in waiting_postings(farm)],
        "has_costs": counted.line_count > 0,
        "head": head,
    }


def query_of(crop_year: int, where: CostWhere) -> str:
    """Return what stands behind the question mark of a cell's lines."""
    return urlencode({"year": crop_year, **where.given()})


def narrowed_words(*, farm: Farm, crop_year: int, where: CostWhere) -> str:
    """Return what a table or a cell is narrowed to, in words: "Pond 40, cotton, labor"; empty where it is not."""
    given = where.given()
    by = tuple(one for one in Dimension if one.value in given)
    if not by:
        return ""
    found = cost_table(farm=farm, crop_year=crop_year, by=by, where=where).rows
    return ", ".join(found[0].says) if found else ", ".join(value or "none" for value in given.values())


def _numbers(row: CostTableRow, crop_year: int) -> dict[str, Any]:
    query = query_of(crop_year, row.where)
    harvest, per_unit, per_ac = row.harvest, row.usd_per_unit, row.usd_per_ac
    unit = ""
    if per_unit is not None and harvest is not None:
        expected = " expected" if harvest.is_expected else ""
        unit = f"{words.exact_dollars(per_unit)}/{harvest.unit}{expected}"
    return {
        "area_ac": f"{row.area_ac:,.1f}",
        "amount": Number(words.dollars(row.cents), query),
        "per_ac": Number("–" if per_ac is None else words.exact_dollars(per_ac), query),
        "per_unit": Number(unit, query) if unit else None,
    }


def _cell(row: CostTableRow | None, crop_year: int) -> Number | None:
    return None if row is None else Number(words.dollars(row.cents), query_of(crop_year, row.where))


def _pool(pool: PoolCost) -> dict[str, Any]:
    def number(says: str, side: Side) -> Number:
        return Number(says, urlencode({"pool": pool.code, "side": side.value}))

    return {
        "name": pool.name,
        "numbers": [
            number(words.dollars(pool.bills_cents), Side.BILLS),
            number(words.dollars(pool.charged_cents), Side.CHARGED),
            number(words.dollars(pool.shared_cents), Side.SHARED),
            number(_side(pool.left_cents), Side.LEFT),
        ],
    }


def _side(left_cents: int) -> str:
    """Return a pool's rest with the side it stands on: more charged than billed, or more billed than charged."""
    if not left_cents:
        return words.dollars(0)
    return f"{words.dollars(abs(left_cents))} {'charged ahead' if left_cents < 0 else 'to share out'}"


def _headline(table: CostTable, cut: str, line_count: int) -> str:
    if not line_count:
        return (
            "No field has cost anything yet." if not table.where.given() else "Nothing has been booked here."
        )
    total = words.whole_dollars(table.total.cents)
    if cut != "field":
        largest = max(table.rows, key=lambda row: row.cents)
        return f"{total} so far; most of it, {words.whole_dollars(largest.cents)}: {largest.says[0]}."
    dearest = max(table.rows, key=lambda row: row.usd_per_ac or 0)
    per_ac = words.exact_dollars(dearest.usd_per_ac)
    if len(table.rows) == 1:
        return f"{dearest.says[0]} cost {total} so far, {per_ac} an acre."
    grounds = [row.key[0].partition(".")[0] for row in table.rows]
    things = "fields" if len(set(grounds)) == len(grounds) else "seasons"
    return (
        f"{words.count_word(len(table.rows)).capitalize()} {things} cost {total} so far; "
        f"{dearest.says[0]} is the dearest at {per_ac} an acre."
    )
