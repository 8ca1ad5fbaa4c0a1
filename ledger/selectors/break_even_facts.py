"""For each season: at which price its yield pays for what it cost, and which yield pays for it at the crop's price."""

from dataclasses import dataclass
from decimal import Decimal

from farmops.farms.models import Farm, LatePlantingFacts
from ledger.costing.break_even import break_even_price, break_even_yield
from ledger.costing.money import price_e4_of
from ledger.selectors.budgets import StandingBudgets, season_budgets, standing_budgets
from ledger.selectors.cost_cells import CostWhere, Dimension
from ledger.selectors.cost_tables import CostTableRow, CostTables
from ledger.selectors.yields import Yield


@dataclass(frozen=True)
class BreakEven:
    """What a season cost so far and was meant to cost, and where either comes out even; None where it cannot be said."""

    row: CostTableRow
    budget_cents: int | None
    price_usd: Decimal | None

    @property
    def harvest(self) -> Yield | None:
        """Return what the season brought in."""
        return self.row.harvest

    @property
    def unit(self) -> str:
        """Return what the yield is counted in."""
        return "" if self.harvest is None else self.harvest.unit

    @property
    def even_price_usd(self) -> Decimal | None:
        """Return the price at which the yield pays for the cost."""
        return _price(self.row.cents, self.harvest)

    @property
    def even_yield_per_ac(self) -> Decimal | None:
        """Return the yield of an acre that pays for the cost at the crop's price."""
        return _yield_per_ac(self.row.cents, self.price_usd, self.row.area_ac)

    @property
    def budget_price_usd(self) -> Decimal | None:
        """Return the price at which the yield pays for the budget."""
        return _price(self.budget_cents, self.harvest)

    @property
    def budget_yield_per_ac(self) -> Decimal | None:
        """Return the yield of an acre that pays for the budget at the crop's price."""
        return _yield_per_ac(self.budget_cents, self.price_usd, self.row.area_ac)


def break_evens(*, farm: Farm, crop_year: int, where: CostWhere | None = None) -> list[BreakEven]:
    """Return every season of a crop year, in the order of field and crop."""
    tables = CostTables(farm=farm, crop_year=crop_year, where=where)
    return break_evens_of(tables, standing_budgets(farm=farm, crop_year=crop_year))


def break_evens_of(tables: CostTables, standing: StandingBudgets) -> list[BreakEven]:
    """Return every season of some tables, in the order of field and crop."""
    prices = {facts.crop: facts for facts in LatePlantingFacts.objects.filter(farm=tables.farm)}
    budgets = season_budgets(tables, standing)
    found = []
    for row in tables.table((Dimension.FIELD, Dimension.CROP)).rows:
        facts = prices.get(row.key[1])
        has_price = facts is not None and row.harvest is not None and facts.yield_unit == row.harvest.unit
        found.append(
            BreakEven(
                row=row,
                budget_cents=budgets.get((row.key[0], row.key[1])),
                price_usd=facts.price_usd if facts is not None and has_price else None,
            )
        )
    return found


def _price(cents: int | None, harvest: Yield | None) -> Decimal | None:
    if cents is None or cents < 0 or harvest is None or not harvest.quantity:
        return None
    return break_even_price(cost_cents=cents, quantity=harvest.quantity)


def _yield_per_ac(cents: int | None, price: Decimal | None, area_ac: Decimal) -> Decimal | None:
    if cents is None or cents < 0 or not price:
        return None
    total = break_even_yield(cost_cents=cents, price_e4=price_e4_of(price))
    return (total / area_ac).quantize(Decimal("0.1"))
