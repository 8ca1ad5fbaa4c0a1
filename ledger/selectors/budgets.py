"""Budget beside actual, by season and category."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from farmops.farms.models import Farm, Season
from ledger.costing.money import divide_half_even
from ledger.models import BudgetLine
from ledger.selectors.categories import category_book
from ledger.selectors.cost_cells import CostWhere, Dimension, seasons_where
from ledger.selectors.cost_tables import cost_table
from ledger.selectors.drafts import ground_code


@dataclass(frozen=True)
class BudgetRow:
    """One category of some seasons: what it cost so far and what it was meant to cost; None where nobody said."""

    category: str
    label: str
    area_ac: Decimal
    actual_cents: int
    budget_cents: int | None
    where: CostWhere

    @property
    def difference_cents(self) -> int | None:
        """Return actual less budget: above zero it cost more than it was meant to."""
        return None if self.budget_cents is None else self.actual_cents - self.budget_cents


def budget_rows(*, farm: Farm, crop_year: int, where: CostWhere | None = None) -> list[BudgetRow]:
    """Return each category that cost something or is budgeted on the seasons left in, in the order of the categories.

    `where` may name a field and a crop. A budget is cents an acre times the acres of each season, half to even.
    """
    where = where or CostWhere()
    seasons = seasons_where(farm=farm, crop_year=crop_year, where=where)
    actual = {
        row.key[0]: row.cents
        for row in cost_table(farm=farm, crop_year=crop_year, by=(Dimension.CATEGORY,), where=where).rows
    }
    budget: dict[str, int] = {}
    for cents, _season, category in _standing(farm, crop_year, seasons.values()):
        budget[category] = budget.get(category, 0) + cents
    book = category_book(farm=farm)
    order = {code: at for at, code in enumerate(book)}
    area_ac = sum((season.area_ac for season in seasons.values()), Decimal(0))
    return [
        BudgetRow(
            category=category,
            label=book.label(category),
            area_ac=area_ac,
            actual_cents=actual.get(category, 0),
            budget_cents=budget.get(category),
            where=where.narrowed((Dimension.CATEGORY,), (category,)),
        )
        for category in sorted(
            actual.keys() | budget.keys(), key=lambda one: (order.get(one, len(order)), one)
        )
    ]


def budget_totals(rows: Iterable[BudgetRow]) -> tuple[int, int | None]:
    """Return what all categories cost, and what they were meant to cost; None where nobody budgeted anything."""
    found = list(rows)
    budgets = [row.budget_cents for row in found if row.budget_cents is not None]
    return sum(row.actual_cents for row in found), sum(budgets) if budgets else None


def season_budgets(*, farm: Farm, crop_year: int) -> dict[tuple[str, str], int]:
    """Return what each season was meant to cost, by ground and crop; a season without a budget is not in it."""
    seasons = seasons_where(farm=farm, crop_year=crop_year, where=CostWhere())
    found: dict[tuple[str, str], int] = {}
    for cents, season, _category in _standing(farm, crop_year, seasons.values()):
        key = (ground_code(season), season.crop)
        found[key] = found.get(key, 0) + cents
    return found


def budgeted(*, farm: Farm, crop_year: int) -> dict[tuple[str, str], int]:
    """Return the budgets of crops as they stand: cents an acre by crop and category."""
    lines = BudgetLine.objects.filter(farm=farm, crop_year=crop_year, season=None).order_by("correction_no")
    return {(line.crop, line.category): line.cents_per_ac for line in lines}


def _standing(farm: Farm, crop_year: int, seasons: Iterable[Season]) -> Iterable[tuple[int, Season, str]]:
    """Yield the cents of each season and category: by the acre of the season itself, else of its crop."""
    of_crop: dict[tuple[str, str], int] = budgeted(farm=farm, crop_year=crop_year)
    own = BudgetLine.objects.filter(farm=farm, crop_year=crop_year, season__isnull=False)
    of_season: dict[tuple[int, str], int] = {}
    for line in own.order_by("correction_no"):
        of_season[line.season_id or 0, line.category] = line.cents_per_ac
    for season in sorted(seasons, key=ground_code):
        categories = {category for crop, category in of_crop if crop == season.crop}
        categories |= {category for pk, category in of_season if pk == season.pk}
        for category in sorted(categories):
            own_cents = of_season.get((season.pk, category))
            cents_per_ac = of_crop[season.crop, category] if own_cents is None else own_cents
            numerator, denominator = Decimal(season.area_ac).as_integer_ratio()
            yield divide_half_even(cents_per_ac * numerator, denominator), season, category
