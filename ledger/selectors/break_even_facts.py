"""For each season: at which price its yield pays for what it cost, and which yield pays for it at the crop's price."""

from dataclasses import dataclass
from decimal import Decimal

from farmops.farms.models import Farm, LatePlantingFacts
from ledger.costing.break_even import break_even_price, break_even_yield
from ledger.costing.money import price_e4_of
from ledger.selectors.budgets import season_budgets
from ledger.selectors.cost_cells import CostWhere, Dimension
from ledger.selectors.cost_tables import CostTableRow, cost_table
from ledger.selectors.yields import Yield


@dataclass(frozen=True)
class BreakEven:
    """What a season cost so far and was meant to cost, and where either comes out even; None where it cannot be said."""

    row: CostTableRow
    budget_cents: int | None
    harvest: Yield | None
    price_usd: Decimal | None
    even_price_usd: Decimal | None
    even_yield_per_ac: Decimal | None
    budget_price_usd: Decimal | None
    budget_yield_per_ac: Decimal | None

    @property
    def unit(self) -> str:
        """Return what the yield is counted in."""
        return "" if self.harvest is None else self.harvest.unit


def break_evens(*, farm: Farm, crop_year: int, where: CostWhere | None = None) -> list[BreakEven]:
    """Return every season of a crop year, in the order of field and crop."""
    prices = {facts.crop: facts for facts in LatePlantingFacts.objects.filter(farm=farm)}
    table = cost_table(
        farm=farm, crop_year=crop_year, by=(Dimension.FIELD, Dimension.CROP), where=where or CostWhere()
    )
    budgets = season_budgets(farm=farm, crop_year=crop_year)
    found = []
    for row in table.rows:
        facts = prices.get(row.key[1])
        has_price = facts is not None and row.harvest is not None and facts.yield_unit == row.harvest.unit
        price = facts.price_usd if facts is not None and has_price else None
        budget = budgets.get((row.key[0], row.key[1]))
        found.append(
            BreakEven(
                row=row,
                budget_cents=budget,
                harvest=row.harvest,
                price_usd=price,
                even_price_usd=_price(row.cents, row.harvest),
                even_yield_per_ac=_yield_per_ac(row.cents, price, row.area_ac),
                budget_price_usd=_price(budget, row.harvest),
                budget_yield_per_ac=_yield_per_ac(budget, price, row.area_ac),
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
