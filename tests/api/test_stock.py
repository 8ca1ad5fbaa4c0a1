"""Stocks and the choice of a year by the API."""

import pytest

from ledger.services.posting import post_pending
from tests.api.conftest import Yard, client_of
from tests.ledger.makers import NOON
from tests.ledger.test_stock import buy_seed, plant

pytestmark = pytest.mark.django_db


def test_a_year_is_chosen_once(yard: Yard) -> None:
    client, at = client_of("bookkeeper-a"), f"{yard.at}ledger/year-choices/"
    body = {"year": 2026, "stock_cost": "actual", "fuel_by": "average_hour"}
    first, again = (client.post(at, body, format="json") for _try in range(2))
    assert (first.status_code, again.status_code) == (201, 200)
    other = client.post(at, {**body, "stock_cost": "average"}, format="json")
    assert other.status_code == 409
    assert "A year is chosen once." in other.content.decode()
    (row,) = [row for row in client.get(at).json()["results"] if row["calendar_year"] == 2026]
    assert (row["calendar_year"], row["stock_cost"], row["fuel_by"]) == (2026, "actual", "average_hour")


def test_what_is_there_is_told_by_purchase_and_of_that_farm_alone(yard: Yard, other_yard: Yard) -> None:
    buy_seed(yard.place, "10", "2500.00", "B7")
    plant(yard.place, "4", "B7", hand_min=0)
    post_pending(farm=yard.farm, now=NOON)
    told = client_of("bookkeeper-a").get(f"{yard.at}ledger/stock/").json()
    (seed,) = [one for one in told if one["item"] == "cotton-seed"]
    assert seed == {
        "account": "input_stock",
        "item": "cotton-seed",
        "unit": "bag",
        "category": "seed",
        "quantity": "6.0000",
        "amount_usd": "1500.00",
        "unmet": "0.0000",
        "layers": [{"lot": "B7", "quantity": "6.0000", "amount_usd": "1500.00"}],
    }
    theirs = client_of("manager-b").get(f"{other_yard.at}ledger/stock/").json()
    # its own: what its tractor burned was never bought there
    assert [(one["item"], float(one["unmet"]) > 0) for one in theirs] == [("diesel", True), ("rye", False)]
