"""Whatever is bought, used, corrected and sent back, in any order: what the lines sum to is what is left."""

import random

import pytest
from django.db.models import Sum

from ledger.models import Account, Bill, Entry, Line
from ledger.selectors.stock import stock_on_hand
from ledger.services.books import choose_year
from ledger.services.journal import reverse_entry
from ledger.services.posting import post_pending
from ledger.services.verify import verify_ledger
from scheduling.models import WorkRecord
from tests.ledger.makers import NOON, Place
from tests.ledger.test_stock import buy_seed, plant, price_seed

STEPS = 24
LOTS = ("", "A", "B")


def check(place: Place) -> None:
    """Quantities of all lines sum to what is held less what was used before it came; no stock holds money for nothing."""
    shed = Line.objects.filter(farm=place.farm, account=Account.INPUT_STOCK, item="cotton-seed")
    sums = shed.aggregate(quantity_e4=Sum("quantity_e4"))
    for on_hand in stock_on_hand(farm=place.farm):
        stock = on_hand.stock
        assert stock.held_e4 - stock.unmet_e4 == (sums["quantity_e4"] or 0)
        assert stock.held_e4 == 0 or stock.unmet_e4 == 0
        assert all(layer.held_e4 > 0 and layer.held_cents >= 0 for layer in stock.layers)
        assert stock.held_e4 > 0 or stock.held_cents == 0
    assert Line.objects.filter(farm=place.farm).aggregate(sum=Sum("cents"))["sum"] in (0, None)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("stock_cost", ["actual", "average"])
def test_nothing_is_lost_or_used_twice_in_any_order(place: Place, stock_cost: str, seed: int) -> None:
    dice = random.Random(f"{stock_cost} {seed}")
    choose_year(farm=place.farm, year=2026, stock_cost=stock_cost, fuel_by="average_hour", now=NOON)
    price_seed(place, "280")
    bills: list[Bill] = []
    records: list[WorkRecord] = []
    for _step in range(STEPS):
        lot, bags = dice.choice(LOTS), dice.randint(1, 40)
        step = dice.choice(
            ["buy", "buy", "use", "use", "use", "put right", "bill anew", "send back", "by hand"]
        )
        if step == "buy":
            bills.append(
                buy_seed(place, str(bags), f"{bags * dice.randint(200, 300)}.{dice.randint(10, 99)}", lot)
            )
        elif step == "use":
            records.append(plant(place, f"{bags / 3:.3f}", lot, hand_min=0))
        elif step == "put right" and records:
            old = records.pop(dice.randrange(len(records)))
            records.append(plant(place, f"{bags / 4:.3f}", lot, hand_min=0, supersedes=old))
        elif step == "bill anew" and bills:
            wrong = bills.pop(dice.randrange(len(bills)))
            bills.append(buy_seed(place, str(bags), f"{bags * 250}.00", lot, supersedes=wrong))
        elif step == "send back":
            buy_seed(place, str(bags / 5), f"-{bags * 50}.00", lot)
        elif step == "by hand" and records:
            gone = Entry.objects.filter(work_record=records.pop(), reversed_by=None).first()
            if gone is not None:
                reverse_entry(entry=gone, why="entered for the wrong farm", now=NOON)
        if dice.random() < 0.7:
            assert post_pending(now=NOON).waiting == []
            check(place)
    post_pending(now=NOON)
    check(place)
    assert verify_ledger().faults == []
