"""What was in stock when the books began."""

import datetime as dt
import uuid
from typing import Any

import pytest
from django.db.models import Sum

from ledger.models import Line, OpeningStock, PeriodMark
from ledger.services.bill_items import NewBillItem
from ledger.services.bill_rules import BillRefused
from ledger.services.opening import OpeningDiffers, OpeningRefused, enter_opening_stock
from ledger.services.periods import PeriodClosedError
from ledger.services.posting import post_pending
from ledger.services.verify import verify_ledger
from tests.ledger.makers import DAY, NOON, Place, make_bill, make_place

MARCH = dt.date(2026, 3, 1)


def enter(place: Place, **facts: Any) -> tuple[OpeningStock, bool]:
    defaults: dict[str, Any] = {
        "client_id": uuid.uuid4(),
        "item": "diesel",
        "category": "fuel",
        "quantity": "500",
        "unit": "gal",
        "amount_usd": "1600.00",
        "on": DAY,
        "now": NOON,
    }
    return enter_opening_stock(farm=place.farm, **{**defaults, **facts})


def sums() -> dict[str, int]:
    return dict(Line.objects.values_list("account").annotate(Sum("cents")))


def test_fuel_in_the_tank_and_seed_in_the_shed_stand_against_the_start(place: Place) -> None:
    enter(place)
    enter(place, item="cotton-seed", category="seed", lot="L-1", quantity="2.5", unit="bag", amount_usd="750")
    assert post_pending(now=NOON).posted == 2
    assert sums() == {"fuel_stock": 160_000, "input_stock": 75_000, "opening": -235_000}
    line = Line.objects.get(account="input_stock")
    assert (line.item, line.lot, line.quantity_e4, line.unit) == ("cotton-seed", "L-1", 25_000, "bag")
    assert post_pending(now=NOON).posted == 0
    assert verify_ledger().faults == []


def test_an_item_and_lot_is_entered_once_and_then_corrected(place: Place) -> None:
    same = {"client_id": uuid.uuid4()}
    row, is_new = enter(place, **same)
    assert (enter(place, **same), is_new) == ((row, False), True)
    with pytest.raises(OpeningDiffers, match="entered before with another quantity"):
        enter(place, **same, quantity="501")
    with pytest.raises(OpeningDiffers, match="opening stock of diesel was entered on 2026-04-20"):
        enter(place)
    post_pending(now=NOON)
    right, _new = enter(place, quantity="450", amount_usd="1440", supersedes=row)
    report = post_pending(now=NOON)
    assert (report.posted, report.reversed) == (1, 1)
    assert sums() == {"fuel_stock": 144_000, "opening": -144_000}
    with pytest.raises(OpeningDiffers, match="corrected before; take the newer one"):
        enter(place, supersedes=row)
    with pytest.raises(OpeningRefused, match="same item and lot as before: diesel"):
        enter(place, supersedes=right, lot="x")
    assert verify_ledger().faults == []


def test_what_had_cost_nothing_is_kept_and_moves_no_money(place: Place) -> None:
    enter(place, amount_usd="0")
    post_pending(now=NOON)
    assert sums() == {}


@pytest.mark.parametrize(
    ("facts", "field", "says"),
    [
        ({"quantity": "-5"}, "quantity", "The quantity -5 is not above zero"),
        ({"quantity": "0"}, "quantity", "not above zero"),
        ({"amount_usd": "-1"}, "amount_usd", r"The amount −\$1.00 is below zero"),
        ({"amount_usd": "10000000000000"}, "amount_usd", "which no single line holds"),
        ({"category": "insurance"}, "category", "'insurance' is not a category of what is in stock; known: fuel,"),
        ({"item": "dies el"}, "item", "'dies el' is no code of an item"),
        ({"unit": ""}, "unit", "The unit of opening stock is one line"),
        ({"on": dt.date(2062, 1, 1)}, "on", "2062-01-01 is not between"),
    ],
)  # fmt: skip
def test_opening_stock_that_makes_no_sense_is_refused(
    place: Place, facts: dict[str, Any], field: str, says: str
) -> None:
    with pytest.raises((OpeningRefused, BillRefused), match=says) as refusal:
        enter(place, **facts)
    assert list(refusal.value.fields) == [field]
    assert OpeningStock.objects.count() == 0


def test_it_is_counted_in_the_unit_in_which_it_is_bought(place: Place) -> None:
    fuel = NewBillItem("fuel", "330", item="diesel", quantity="100", unit="gal")
    make_bill(place, "330", category="", items=[fuel])
    with pytest.raises(OpeningRefused, match="diesel is in stock by the gal, and this is by the l"):
        enter(place, unit="l")


def test_nothing_is_counted_into_a_closed_month(place: Place) -> None:
    PeriodMark.objects.create(farm=place.farm, month=MARCH, turn=1, is_close=True, made_at=NOON)
    with pytest.raises(PeriodClosedError, match="books of Heron Slough are closed through March 2026"):
        enter(place, on=MARCH + dt.timedelta(days=30))
    assert OpeningStock.objects.count() == 0


def test_another_farms_count_is_not_superseded(place: Place) -> None:
    row, _new = enter(place)
    with pytest.raises(OpeningRefused, match="not one of Other Bend"):
        enter(make_place("other-bend"), supersedes=row)
