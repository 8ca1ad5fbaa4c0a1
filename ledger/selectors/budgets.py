"""Budget beside actual, by season and category."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from farmops.farms.models import Farm
from ledger.costing.money import divide_half_even
from ledger.models import BudgetLine
from ledger.selectors.categories import CategoryBook, category_book
from ledger.selectors.cost_cells import CostSeason, CostWhere, Dimension
from ledger.selectors.cost_tables import CostTables


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


@dataclass(frozen=True)
class StandingBudgets:
    """Cents an acre by category: those of a season itself go before those of its crop."""

    of_crop: Mapping[str, Mapping[str, int]]
    of_season: Mapping[int, Mapping[str, int]]

    def of(self, season: CostSeason) -> Iterable[tuple[str, int]]:
        """Yield each category of a season with its cents."""
        per_ac = {**self.of_crop.get(season.crop, {}), **self.of_season.get(season.pk, {})}
        if per_ac:
            numerator, denominator = season.area_ac.as_integer_ratio()
            for category, cents_per_ac in sorted(per_ac.items()):
                yield category, divide_half_even(cents_per_ac * numerator, denominator)


def budget_rows(*, farm: Farm, crop_year: int, where: CostWhere | None = None) -> list[BudgetRow]:
    """Return each category that cost something or is budgeted on the seasons left in, in the order of the categories.

    `where` may name a field and a crop. A budget is cents an acre times the acres of each season, half to even.
    """
    tables = CostTables(farm=farm, crop_year=crop_year, where=where)
    actual = {row.key[0]: row.cents for row in tables.table((Dimension.CATEGORY,)).rows}
    standing = standing_budgets(farm=farm, crop_year=crop_year)
    return _rows(tables.where, tables.seasons.values(), actual, standing, category_book(farm=farm))


def crop_budgets(tables: CostTables, standing: StandingBudgets) -> dict[str, list[BudgetRow]]:
    """Return the rows of each crop of whole tables, in the order in which the crops come."""
    by_crop: dict[str, list[CostSeason]] = {}
    for season in tables.seasons.values():
        by_crop.setdefault(season.crop, []).append(season)
    actual: dict[str, dict[str, int]] = {}
    for (crop, category), cents in tables.sums((Dimension.CROP, Dimension.CATEGORY)).items():
        actual.setdefault(crop, {})[category] = cents
    book = category_book(farm=tables.farm)
    return {
        crop: _rows(CostWhere(crop=crop), seasons, actual.get(crop, {}), standing, book)
        for crop, seasons in by_crop.items()
    }


def _rows(
    where: CostWhere,
    seasons: Collection[CostSeason],
    actual: Mapping[str, int],
    standing: StandingBudgets,
    book: CategoryBook,
) -> list[BudgetRow]:
    budget: dict[str, int] = {}
    for season in seasons:
        for category, cents in standing.of(season):
            budget[category] = budget.get(category, 0) + cents
    order = {code: at for at, code in enumerate(book)}
    area_ac = sum((season.area_ac for season in seasons), Decimal(0))
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


def season_budgets(tables: CostTables, standing: StandingBudgets) -> dict[tuple[str, str], int]:
    """Return what each season was meant to cost, by ground and crop; a season without a budget is not in it."""
    found: dict[tuple[str, str], int] = {}
    for season in tables.seasons.values():
        for _category, cents in standing.of(season):
            key = (season.ground, season.crop)
            found[key] = found.get(key, 0) + cents
    return found


def budgeted(*, farm: Farm, crop_year: int) -> dict[tuple[str, str], int]:
    """Return the budgets of crops as they stand: cents an acre by crop and category."""
    lines = BudgetLine.objects.filter(farm=farm, crop_year=crop_year, season=None).order_by("correction_no")
    return {(line.crop, line.category): line.cents_per_ac for line in lines}


def standing_budgets(*, farm: Farm, crop_year: int) -> StandingBudgets:
    """Return the budgets of a crop year as they stand."""
    of_crop: dict[str, dict[str, int]] = {}
    for (crop, category), cents_per_ac in budgeted(farm=farm, crop_year=crop_year).items():
        of_crop.setdefault(crop, {})[category] = cents_per_ac
    of_season: dict[int, dict[str, int]] = {}
    own = BudgetLine.objects.filter(farm=farm, crop_year=crop_year, season__isnull=False)
    for line in own.order_by("correction_no"):
        of_season.setdefault(line.season_id or 0, {})[line.category] = line.cents_per_ac
    return StandingBudgets(of_crop, of_season)
