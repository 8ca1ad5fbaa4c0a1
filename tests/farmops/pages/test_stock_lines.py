"""What left the stock at its average says of how much of what unit, and at which price."""

import datetime as dt

import pytest

from farmops.core import clock
from farmops.core.models import User
from farmops.farms.models import Implement, Machine
from ledger.models import Line
from ledger.services.bill_items import NewBillItem
from ledger.services.posting import post_pending
from tests.farmops.pages.conftest import Yard, signed_in
from tests.ledger.makers import Place, make_bill, make_work, set_rates, use_input

NOON = dt.datetime(2026, 5, 4, 16, tzinfo=dt.UTC)


def test_an_average_of_stock_has_its_unit_and_its_price(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    """By hand: ten bags at 300.00 are 30.00 each."""
    monkeypatch.setattr(clock, "now", lambda: NOON)
    season, tractor, disk = yard.field_pass.season, Machine.objects.get(), Implement.objects.get()
    place = Place(yard.farm, season, yard.field_pass, tractor, disk, yard.hand)
    set_rates(yard.farm)
    item = NewBillItem("seed", "300.00", item="cotton-seed", quantity="10", unit="bag")
    make_bill(place, "300.00", category="seed", items=[item], bill_on=dt.date(2026, 4, 1))
    use_input(make_work(place), "cotton-seed", "4", "bag", usd="31.00", category="seed")
    post_pending(farm=yard.farm, now=NOON)
    [line] = Line.objects.filter(account="season", category="seed").select_related("entry")
    assert line.says == "cotton-seed, average of 10 in stock", "what is hashed stays as it was"
    addresses = [
        f"/farms/heron-slough/entries/{line.entry.number}/",
        "/farms/heron-slough/accounts/season/",
        "/farms/heron-slough/cost-lines/",
    ]
    for address in addresses:
        assert "cotton-seed, average of 10 bag in stock" in signed_in("bo").get(address).text
    for address in (addresses[0], addresses[2]):
        assert "$30.0000/bag" in signed_in("bo").get(address).text
    User.objects.update(language="es")
    for address in addresses:
        assert "cotton-seed, promedio de 10 bag en existencias" in signed_in("bo").get(address).text
