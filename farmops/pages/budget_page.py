"""What the page of budgets shows, as plain data: budget beside actual, and where a season comes out even."""

from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext

from farmops.farms.models import Crop, Farm
from farmops.pages import words
from farmops.pages.cost_page import Number, query_of
from farmops.pages.kept_parts import PASSING
from farmops.pages.parts import part_of
from farmops.pages.plots.pair_bars import Pair, PairScale, pair_panel, pair_scale
from ledger.costing.money import per_acre_usd
from ledger.selectors.break_even_facts import BreakEven, break_evens_of
from ledger.selectors.budgets import BudgetRow, budget_totals, crop_budgets, standing_budgets
from ledger.selectors.categories import category_book
from ledger.selectors.cost_cells import CostWhere
from ledger.selectors.cost_tables import CostTables
from ledger.selectors.said import yield_unit_said
from ledger.selectors.yields import Yield
from ledger.services.yields import UNITS

BALE = gettext_noop("bale")
"""The one unit of a yield that is a word; the others are signs."""


def budget_facts(*, farm: Farm, crop_year: int, page: int = 1) -> dict[str, Any]:
    """Return each crop's budget beside what it cost so far, a page of the break-evens, and what the forms offer."""
    tables_of_year = CostTables(farm=farm, crop_year=crop_year, carry=True)
    standing = standing_budgets(farm=farm, crop_year=crop_year)
    evens = break_evens_of(tables_of_year, standing)
    rows = crop_budgets(tables_of_year, standing)
    crops = list(rows)
    part = part_of(len(evens), page=page, query={"year": crop_year}, at="break-even")
    scale = pair_scale(_pair(row) for some in rows.values() for row in some if row.area_ac)
    tables = [_table(rows[crop], crop_year, crop, scale) for crop in crops]
    return {
        PASSING: part.page != page,
        "crop_year": crop_year,
        "headline": _headline(evens),
        "tables": tables,
        "evens": [_even(one, crop_year) for one in part.of(evens)],
        "part": part,
        "crops": [(crop, words.named(Crop(crop).label)) for crop in crops],
        "categories": [(one.code, words.named(one.label)) for one in category_book(farm=farm).values()],
        "grounds": [
            ("|".join(one.row.key), f"{one.row.says[0]}, {words.named(one.row.says[1])}") for one in evens
        ],
    }


def units_said() -> list[tuple[str, str]]:
    """Return the units of yields with their words."""
    return [(unit, yield_unit_said(unit)) for unit in UNITS]


def _table(rows: list[BudgetRow], crop_year: int, crop: str, scale: PairScale) -> dict[str, Any]:
    actual, budget = budget_totals(rows)
    area_ac = rows[0].area_ac if rows else Decimal(0)
    return {
        "drawing": pair_panel([_pair(row) for row in rows], scale=scale) if area_ac else None,
        "crop": words.named(Crop(crop).label),
        "rows": [_row(row, crop_year) for row in rows],
        "total": {
            "label": _("All together"),
            **_amounts(actual, budget, area_ac, query_of(crop_year, CostWhere(crop=crop))),
        },
    }


def _pair(row: BudgetRow) -> Pair:
    """Return a category in dollars an acre, as the drawing compares it."""
    spent = per_acre_usd(cents=row.actual_cents, area_ac=row.area_ac)
    if row.budget_cents is None:
        says = _("{category}: {spent}, no budget").format(
            category=words.capital(words.named(row.label)), spent=words.exact_dollars(spent)
        )
        return Pair(float(spent), None, says)
    meant = per_acre_usd(cents=row.budget_cents, area_ac=row.area_ac)
    says = _("{category}: {spent} of {budget}").format(
        category=words.capital(words.named(row.label)),
        spent=words.exact_dollars(spent),
        budget=words.exact_dollars(meant),
    )
    return Pair(float(spent), float(meant), says)


def _row(row: BudgetRow, crop_year: int) -> dict[str, Any]:
    query = query_of(crop_year, row.where)
    return {
        "label": words.named(row.label),
        **_amounts(row.actual_cents, row.budget_cents, row.area_ac, query),
    }


def _amounts(actual: int, budget: int | None, area_ac: Decimal, query: str) -> dict[str, Any]:
    return {
        "actual": Number(words.dollars(actual), query),
        "actual_per_ac": words.exact_dollars(per_acre_usd(cents=actual, area_ac=area_ac)) if area_ac else "–",
        "budget": words.dollars(budget),
        "budget_per_ac": words.exact_dollars(per_acre_usd(cents=budget, area_ac=area_ac))
        if area_ac and budget is not None
        else "–",
        "difference": "–" if budget is None else _over(actual - budget),
    }


def _over(cents: int) -> str:
    """Return a difference with its side in words."""
    if not cents:
        return words.dollars(0)
    says = _("{amount} over") if cents > 0 else _("{amount} under")
    return says.format(amount=words.dollars(abs(cents)))


def _even(one: BreakEven, crop_year: int) -> dict[str, Any]:
    harvest = one.harvest
    return {
        "field": one.row.says[0],
        "crop": words.named(one.row.says[1]),
        "cost": Number(words.dollars(one.row.cents), query_of(crop_year, one.row.where)),
        "harvest": "" if harvest is None else _harvest(harvest),
        "price": _per_unit(one.price_usd, one.unit),
        "even_price": _per_unit(one.even_price_usd, one.unit),
        "even_yield": _per_ac(one.even_yield_per_ac, one.unit),
        "budget": words.dollars(one.budget_cents),
        "budget_price": _per_unit(one.budget_price_usd, one.unit),
        "budget_yield": _per_ac(one.budget_yield_per_ac, one.unit),
    }


def _harvest(harvest: Yield) -> str:
    says = _("{quantity} {unit} expected") if harvest.is_expected else "{quantity} {unit}"
    return says.format(quantity=f"{harvest.quantity.normalize():,f}", unit=yield_unit_said(harvest.unit))


def _per_unit(price: Decimal | None, unit: str) -> str:
    return "–" if price is None else f"{words.exact_dollars(price)}/{words.named(unit)}"


def _per_ac(quantity: Decimal | None, unit: str) -> str:
    return "–" if quantity is None else f"{quantity:,f} {yield_unit_said(unit)}/ac"


def _headline(evens: list[BreakEven]) -> str:
    known = [one for one in evens if one.budget_cents is not None]
    if not known:
        return _("Nobody has said yet what a crop is meant to cost.")
    return ngettext(
        "{count} season with a budget of {budget} cost {actual} so far.",
        "{count} seasons with a budget of {budget} cost {actual} so far.",
        len(known),
    ).format(
        count=words.capital(words.count_word(len(known))),
        budget=words.whole_dollars(sum(one.budget_cents or 0 for one in known)),
        actual=words.whole_dollars(sum(one.row.cents for one in known)),
    )
