"""The budget of one field of cotton, worked by hand with every intermediate, against what the books say.

The arithmetic is that of any extension crop budget: quantity times price, divided by acres; cost over yield is the
break-even price, cost over price the break-even yield (common practice, from memory). The farm and its prices are
invented; every number below was worked out on paper, none was read from the program.
"""

from decimal import Decimal

import pytest

from farmops.farms.models import LatePlantingFacts
from ledger.exports.statement import write_statement
from ledger.selectors.break_even_facts import break_evens
from ledger.selectors.cost_cells import CostWhere, Dimension
from ledger.selectors.cost_tables import cost_table
from ledger.services.posting import post_pending
from ledger.services.rates import set_rate
from ledger.services.verify import verify_ledger
from ledger.services.yields import enter_yield
from tests.factories import make_field, make_season
from tests.ledger.makers import NEW_YEAR, NOON, Place, make_bill, make_work, use_input

BY_HAND = {
    # disking: 300 min of the hand = 5 h x 18.00
    "labor": "90.00",
    # 90.00 x 0.0765 = 6.885, half to even
    "payroll_burden": "6.88",
    # 270 min of the engine = 4.5 h x 40.00, and x 12.00
    "machine": "180.00",
    "implement": "54.00",
    # 0.044 gal per hp-hour x 180 hp = 7.92 gal/h; x 4.5 h = 35.64 gal; x 3.20 = 114.048
    "fuel": "114.05",
    # 15 in 100 of 114.05 = 17.1075
    "lubricants": "17.11",
    # 8.125 bags x 275.50 = 2,238.4375
    "seed": "2238.44",
    # a bill for this field
    "custom_work": "412.50",
    # 85.00 an acre x 40 ac
    "land_rent": "3400.00",
    # 1,000.00 over 40.0 and 61.3 ac: 40/101.3 = 394.8667..., 61.3/101.3 = 605.1332...; the cent goes to the larger rest
    "insurance": "394.87",
}
TOTAL = "6907.85"
"""90.00 + 6.88 = 96.88; + 180.00 = 276.88; + 54.00 = 330.88; + 114.05 = 444.93; + 17.11 = 462.04;
+ 2,238.44 = 2,700.48; + 412.50 = 3,112.98; + 3,400.00 = 6,512.98; + 394.87 = 6,907.85."""
PER_AC = {"seed": "55.96", "land_rent": "85.00", "fuel": "2.85", "labor": "2.25", "insurance": "9.87"}
"""2,238.44 / 40 = 55.961; 3,400.00 / 40 = 85; 114.05 / 40 = 2.85125; 90.00 / 40 = 2.25; 394.87 / 40 = 9.87175."""


@pytest.fixture
def season_done(place: Place) -> Place:
    """One field of 40 acres with its work, its inputs and its bills, beside another of 61.3 acres."""
    set_rate(farm=place.farm, kind="payroll_burden", usd_per_unit="0.0765", valid_from=NEW_YEAR, now=NOON)
    use_input(make_work(place), "cotton-seed", "8.125", "bag", usd="275.50", category="seed")
    make_season(make_field(place.farm, "sand-60"), crop="peanuts", area_ac=Decimal("61.30"))
    make_bill(place, "412.50", category="custom_work", season=place.season)
    make_bill(place, "3400.00", category="land_rent", season=place.season)
    make_bill(place, "1000.00", category="insurance", shared_by="acres")
    LatePlantingFacts.objects.create(
        farm=place.farm, crop="cotton", yield_per_ac=900, yield_unit="lb", price_usd=Decimal("0.80")
    )
    enter_yield(season=place.season, quantity="44000", unit="lb", now=NOON)
    report = post_pending(now=NOON)
    assert report.waiting == []
    return place


def test_every_category_is_what_the_sum_by_hand_says(season_done: Place) -> None:
    table = cost_table(
        farm=season_done.farm,
        crop_year=2026,
        by=(Dimension.CATEGORY,),
        where=CostWhere(field="pond-40", crop="cotton"),
    )
    assert {row.key[0]: row.amount_usd for row in table.rows} == {
        category: Decimal(usd) for category, usd in BY_HAND.items()
    }
    per_ac = {row.key[0]: row.usd_per_ac for row in table.rows}
    assert {category: per_ac[category] for category in PER_AC} == {
        category: Decimal(usd) for category, usd in PER_AC.items()
    }
    assert table.total.amount_usd == Decimal(TOTAL)


def test_total_per_acre_per_pound_and_where_it_comes_out_even(season_done: Place) -> None:
    """6,907.85 / 40 = 172.69625 an acre; 44,000 lb: 0.156996... a lb; at 0.80: 8,634.8125 lb, / 40 = 215.87 an acre."""
    pond, _sand = break_evens(farm=season_done.farm, crop_year=2026)
    assert pond.row.usd_per_ac == Decimal("172.70")
    assert pond.row.usd_per_unit == pond.even_price_usd == Decimal("0.1570")
    assert pond.even_yield_per_ac == Decimal("215.9")
    assert pond.harvest is not None
    assert pond.price_usd is not None
    income = pond.harvest.quantity * pond.price_usd
    assert income == Decimal("35200.00")  # 44,000 x 0.80
    assert income - pond.row.amount_usd == Decimal("28292.15")  # 35,200.00 - 6,907.85


def test_what_the_work_took_stands_under_its_operation_and_its_machine(season_done: Place) -> None:
    """96.88 of labor, 180.00 + 54.00 + 114.05 + 17.11 of machines, 2,238.44 of seed = 2,700.48; the rest is bills."""
    by_operation = cost_table(
        farm=season_done.farm, crop_year=2026, by=(Dimension.OPERATION,), where=CostWhere(field="pond-40")
    )
    assert {row.key[0]: str(row.amount_usd) for row in by_operation.rows} == {
        "disk": "2700.48",
        "": "4207.37",
    }
    by_machine = cost_table(
        farm=season_done.farm, crop_year=2026, by=(Dimension.MACHINE,), where=CostWhere(field="pond-40")
    )
    assert by_machine.rows[0].key == ("tractor-1",)
    assert sum(row.cents for row in by_machine.rows) == 690_785


def test_the_other_field_has_only_its_share_and_the_books_are_whole(
    season_done: Place, tmp_path: object
) -> None:
    sand = cost_table(farm=season_done.farm, crop_year=2026, by=(), where=CostWhere(field="sand-60")).total
    assert str(sand.amount_usd) == "605.13"  # 1,000.00 - 394.87
    assert verify_ledger(farm=season_done.farm).faults == []
    about = write_statement(
        farm=season_done.farm,
        field=season_done.season.field,
        crop_year=2026,
        path=tmp_path / "pond.pdf",  # type: ignore[operator]
    )
    assert about.sum_usd == TOTAL
