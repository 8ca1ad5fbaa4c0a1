"""What the page of costs shows, as plain data: a table cut as asked, with the address of the lines of each number."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext, pgettext

from farmops.farms.models import Farm
from farmops.pages import words
from farmops.pages.kept_parts import PASSING
from farmops.pages.parts import part_of
from ledger.models import Category
from ledger.selectors.chain import chain_head
from ledger.selectors.cost_cells import NONE_SAYS, CostWhere, Dimension, month_start
from ledger.selectors.cost_tables import CostTable, CostTableRow, CostTables, folded
from ledger.selectors.lines import cell_sum
from ledger.selectors.pending import waiting_postings
from ledger.selectors.pool_lines import Side
from ledger.selectors.pools import PoolCost, pool_costs
from ledger.selectors.source_words import operation_says
from ledger.selectors.stored_words import said_again

CUTS = {
    "field": (gettext_noop("By field"), (Dimension.FIELD, Dimension.CROP)),
    "crop": (gettext_noop("by crop"), (Dimension.CROP,)),
    "operation": (gettext_noop("by operation"), (Dimension.OPERATION,)),
    "machine": (gettext_noop("by machine"), (Dimension.MACHINE,)),
    "month": (gettext_noop("by month"), (Dimension.MONTH,)),
    "category": (gettext_noop("by category"), (Dimension.CATEGORY,)),
}
"""How the rows can be cut. Columns are categories; beside rows of categories they are crops."""
HEADS = {
    Dimension.FIELD: gettext_noop("Field"),
    Dimension.CROP: gettext_noop("Crop"),
    Dimension.OPERATION: gettext_noop("Operation"),
    Dimension.MACHINE: gettext_noop("Machine"),
    Dimension.MONTH: gettext_noop("Month"),
    Dimension.CATEGORY: gettext_noop("Category"),
}


@dataclass(frozen=True)
class Number:
    """A number as it is shown, and behind which question mark its lines are."""

    says: str
    query: str


def cost_facts(*, farm: Farm, crop_year: int, cut: str, where: CostWhere, page: int = 1) -> dict[str, Any]:
    """Return what seasons cost, cut as asked: a page of the rows, the totals of all of them, and what still waits."""
    by = CUTS[cut][1]
    across = Dimension.CROP if cut == "category" else Dimension.CATEGORY
    tables = CostTables(farm=farm, crop_year=crop_year, where=where, carry=True)
    cells = tables.sums((*by, across))
    table = tables.table(by, folded(cells, (*by, across), by))
    foot = tables.table((across,), folded(cells, (*by, across), (across,)))
    owners = {key: cents for key, cents in cells.items() if Category.OWNER_TIME.value in key}
    owner = where.narrowed((Dimension.CATEGORY,), (Category.OWNER_TIME.value,))
    columns = [row.key[0] for row in foot.rows]
    counted = cell_sum(farm=farm, crop_year=crop_year, where=where, season_ids=tables.seasons, carry=True)
    head = chain_head(farm=farm)
    part = part_of(len(table.rows), page=page, query={"year": crop_year, "by": cut, **where.given()})
    return {
        PASSING: part.page != page or not (counted.line_count or where == CostWhere()),
        "crop_year": crop_year,
        "cut": cut,
        "cuts": [
            (name, _(says), urlencode({"year": crop_year, "by": name, **where.given()}))
            for name, (says, _dimensions) in CUTS.items()
        ],
        "narrowed": narrowed_words(tables),
        "headline": _headline(table, cut, counted.line_count),
        "heads": [_(HEADS[one]) for one in by],
        "columns": [said_of(across, row.key[0], row.says[0]) for row in foot.rows],
        "has_units": any(row.usd_per_unit is not None for row in (*table.rows, table.total)),
        "rows": [
            {
                "says": row_says(by, row),
                "code": row.key[0].partition(".")[0] if cut == "field" else "",
                **_numbers(row, crop_year),
                "cells": [
                    _cell(cells.get((*row.key, column)), crop_year, row.where.narrowed((across,), (column,)))
                    for column in columns
                ],
            }
            for row in part.of(table.rows)
        ],
        "part": part,
        "total": {
            **_numbers(table.total, crop_year),
            "cells": [_cell(row.cents, crop_year, row.where) for row in foot.rows],
        },
        "owner": None if where.category is not None else _cell(sum(owners.values()), crop_year, owner),
        "late_count": counted.late_count,
        "all_query": query_of(crop_year, where),
        "pools": [_pool(pool) for pool in pool_costs(farm=farm, carry=True)],
        "waiting": [words.dates_said(said_again(wait.says)) for wait in waiting_postings(farm)],
        "has_costs": counted.line_count > 0,
        "head": head,
    }


def query_of(crop_year: int, where: CostWhere) -> str:
    """Return what stands behind the question mark of a cell's lines."""
    return urlencode({"year": crop_year, **where.given()})


def narrowed_words(tables: CostTables) -> str:
    """Return what tables or a cell are narrowed to, in words: "Pond 40, cotton, labor"; empty where they are not."""
    given = tables.where.given()
    by = tuple(one for one in Dimension if one.value in given)
    if not by:
        return ""
    found = tables.table(by).rows
    if found:
        return ", ".join(row_says(by, found[0]))
    return ", ".join(value or pgettext("of a cost", "none") for value in given.values())


def row_says(by: Iterable[Dimension], row: CostTableRow) -> tuple[str, ...]:
    """Return what a row is about, in the reader's words."""
    return tuple(said_of(one, key, says) for one, key, says in zip(by, row.key, row.says, strict=True))


def said_of(dimension: Dimension, value: str, says: str) -> str:
    """Return one value of a dimension in the reader's words; names of fields and machines are the farm's own."""
    if not value:
        return words.named(says) if dimension in NONE_SAYS else pgettext("of a cost", "none")
    if dimension == Dimension.OPERATION:
        return operation_says(value)
    if dimension == Dimension.MONTH:
        return words.month_and_year(month_start(value))
    return words.named(says) if dimension in (Dimension.CROP, Dimension.CATEGORY) else says


def _numbers(row: CostTableRow, crop_year: int) -> dict[str, Any]:
    query = query_of(crop_year, row.where)
    harvest, per_unit, per_ac = row.harvest, row.usd_per_unit, row.usd_per_ac
    unit = ""
    if per_unit is not None and harvest is not None:
        unit = f"{words.exact_dollars(per_unit)}/{harvest.unit}"
        if harvest.is_expected:
            unit = _("{price} expected").format(price=unit)
    return {
        "area_ac": f"{row.area_ac:,.1f}",
        "amount": Number(words.dollars(row.cents), query),
        "per_ac": Number("–" if per_ac is None else words.exact_dollars(per_ac), query),
        "per_unit": Number(unit, query) if unit else None,
    }


def _cell(cents: int | None, crop_year: int, where: CostWhere) -> Number | None:
    return None if cents is None else Number(words.dollars(cents), query_of(crop_year, where))


def _pool(pool: PoolCost) -> dict[str, Any]:
    def number(says: str, side: Side) -> Number:
        return Number(says, urlencode({"pool": pool.code, "side": side.value}))

    return {
        "name": pool.name,
        "numbers": [
            number(words.dollars(pool.bills_cents), Side.BILLS),
            number(words.dollars(pool.charged_cents), Side.CHARGED),
            number(words.dollars(pool.shared_cents), Side.SHARED),
            number(side_of(pool.left_cents), Side.LEFT),
        ],
    }


def side_of(left_cents: int) -> str:
    """Return a pool's rest with the side it stands on: more charged than it cost, or more cost than charged."""
    if not left_cents:
        return words.dollars(0)
    said = _("{amount} charged ahead") if left_cents < 0 else _("{amount} to share out")
    return said.format(amount=words.dollars(abs(left_cents)))


def _headline(table: CostTable, cut: str, line_count: int) -> str:
    if not line_count:
        if table.where.given():
            return _("Nothing has been booked here.")
        return _("No field has cost anything yet.")
    total = words.whole_dollars(table.total.cents)
    if cut != "field":
        largest = max(table.rows, key=lambda row: row.cents)
        return _("{total} so far; most of it, {amount}: {row}.").format(
            total=total, amount=words.whole_dollars(largest.cents), row=row_says(table.by, largest)[0]
        )
    dearest = max(table.rows, key=lambda row: row.usd_per_ac or 0)
    told = {"ground": dearest.says[0], "total": total, "per_ac": words.exact_dollars(dearest.usd_per_ac)}
    count = len(table.rows)
    if count == 1:
        return _("{ground} cost {total} so far, {per_ac} an acre.").format(**told)
    grounds = {row.key[0].partition(".")[0] for row in table.rows}
    if len(grounds) == count:
        said = ngettext(
            "{count} field cost {total} so far; {ground} is the dearest at {per_ac} an acre.",
            "{count} fields cost {total} so far; {ground} is the dearest at {per_ac} an acre.",
            count,
        )
    else:
        said = ngettext(
            "{count} season cost {total} so far; {ground} is the dearest at {per_ac} an acre.",
            "{count} seasons cost {total} so far; {ground} is the dearest at {per_ac} an acre.",
            count,
        )
    return said.format(count=words.count_word(count).capitalize(), **told)
