"""The pages of costs number by number, down to the source of each line."""

import datetime as dt
import re
from decimal import Decimal

import pytest
from playwright.sync_api import Page

from farmops.core.models import User
from farmops.farms.models import Implement, LatePlantingFacts, Machine
from ledger.services.budgets import set_budget
from ledger.services.posting import post_pending
from tests.browser.conftest import Hour, Opened, follow
from tests.factories import make_field, make_hand, make_pass, make_season
from tests.farmops.pages.conftest import MONDAY, Yard
from tests.ledger.makers import Place, make_bill, make_work, set_rates, use_input

pytestmark = pytest.mark.browser
FARM = "/farms/heron-slough/"
NOW = MONDAY + dt.timedelta(days=1, hours=19)


@pytest.fixture
def kept(yard: Yard, hour: Hour) -> Yard:
    """Return the yard with two fields' costs of many categories, pools, a budget, a yield and a posting that waits."""
    hour.at = NOW
    farm = yard.farm
    set_rates(farm)
    place = Place(
        farm,
        yard.field_pass.season,
        yard.field_pass,
        Machine.objects.get(farm=farm),
        Implement.objects.get(farm=farm),
        yard.hand,
    )
    use_input(make_work(place), "cotton-seed", "8.125", "bag", usd="275.50", category="seed")
    sand = make_season(
        make_field(farm, "sand-60", name="Sand Hill by the county road", planted_ac=Decimal("61.3")),
        crop="peanuts",
        area_ac=Decimal("61.3"),
    )
    owner = make_hand(farm, "marlene", name="Marlene", is_owner=True)
    make_work(place, field_pass=make_pass(sand, "plant"), hand=owner)
    for category in ("tires", "chemicals", "fertilizer", "scouting", "land_rent", "insurance", "freight"):
        make_bill(place, "1412.37", category=category, season=sand)
    make_bill(place, "950.00", category="repairs", machine=place.machine)
    set_budget(farm=farm, crop_year=2026, crop="peanuts", category="tires", usd_per_ac="20", now=NOW)
    LatePlantingFacts.objects.create(
        farm=farm, crop="peanuts", yield_per_ac=4000, yield_unit="lb", price_usd=Decimal("0.25")
    )
    post_pending(now=NOW)
    return yard


def opened(page: Page, address: str) -> None:
    answer = page.goto(FARM + address)
    assert answer is not None
    assert answer.status == 200, address


def cents(said: str) -> int:
    digits = re.sub("[^0-9]", "", said)
    return -int(digits) if said.startswith("−") else int(digits)


def test_numbers_are_clicked_open_to_lines_that_add_up_and_on_to_their_source(
    open_day: Opened, kept: Yard
) -> None:
    """Every amount of the foot and of a field; the other numbers are opened without a browser in the tests of pages."""
    page = open_day("bo", width=1280)
    opened(page, "costs/")
    for row in ("tfoot tr", "tbody tr:nth-child(2)"):
        numbers = page.locator(f".cost-table {row} td.n a")
        said = numbers.all_inner_texts()
        assert len(said) > 12
        for at, text in enumerate(said):
            follow(numbers.nth(at))
            amounts = page.locator("td[data-label=Amount]").all_inner_texts()
            total = sum(cents(one) for one in amounts)
            if at not in (1, 2):  # per acre and per pound, of the same lines
                assert total == cents(text), text
            page.go_back()
    follow(page.locator(".cost-table tbody tr:first-child td.n a").first)
    follow(page.locator("td[data-label=From] a").first)
    assert page.locator("h1").inner_text().startswith("Rosa: disk on April 20, 2026")
    page.go_back()
    follow(page.locator("td[data-label=Entry] a").first)
    assert "ntry" in page.locator("h1").inner_text()
    assert User.objects.filter(username="bo").exists()
