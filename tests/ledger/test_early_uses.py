"""Inputs that were used before their bill came: the difference of the two prices is offered and shared out to the cent."""

import datetime as dt
import random
import uuid
from decimal import Decimal

import pytest
from django.db.models import Sum

from ledger.models import Account, Bill, Entry, Line, SharedBy
from ledger.selectors.early_uses import price_differences
from ledger.selectors.pools import Pool, PoolKind, pool_balances, pool_named
from ledger.selectors.share_weights import ShareOutRefused
from ledger.selectors.stock import stock_on_hand
from ledger.services.bill_items import NewBillItem
from ledger.services.books import choose_year
from ledger.services.journal import reverse_entry
from ledger.services.opening import enter_opening_stock
from ledger.services.posting import post_pending
from ledger.services.share_outs import ShareOutOutcome, reverse_share_out, share_out_pool
from ledger.services.verify import verify_ledger
from tests.factories import make_field, make_pass, make_season
from tests.ledger.makers import DAY, NOON, Place, make_bill, make_place, make_work, use_input

THROUGH = dt.date(2026, 4, 20)


@pytest.fixture
def place(db: None) -> Place:
    """Eight bags on one field and two on another, priced at 275.50 a bag since no bill has come."""
    place = make_place()
    other = make_season(make_field(place.farm, "sand-60", name="Sand", planted_ac=Decimal(60)))
    use_input(make_work(place), "cotton-seed", "8", "bag", usd="275.50", category="seed")
    use_input(
        make_work(place, field_pass=make_pass(other, "plant")),
        "cotton-seed",
        "2",
        "bag",
        usd="275.50",
        category="seed",
    )
    post_pending(now=NOON)
    return place


def bought(place: Place, bags: str, usd: str, **facts: object) -> Bill:
    item = NewBillItem(category="seed", amount_usd=usd, item="cotton-seed", quantity=bags, unit="bag")
    bill = make_bill(place, usd, category="seed", items=[item], **facts)
    post_pending(now=NOON)
    return bill


def in_the_shed(place: Place) -> tuple[int, int]:
    """Return what the account holds, and what is there of it."""
    lines = Line.objects.filter(farm=place.farm, account=Account.INPUT_STOCK)
    return lines.aggregate(cents=Sum("cents"))["cents"], sum(
        one.stock.held_cents for one in stock_on_hand(farm=place.farm)
    )


def seed_pools(place: Place, through: dt.date = THROUGH) -> list[tuple[str, dict[str, int]]]:
    return [
        (pool.key, dict(pool.by_category))
        for pool in pool_balances(farm=place.farm, through=through)
        if pool.kind == PoolKind.SHED
    ]


def share(place: Place, **facts: object) -> ShareOutOutcome:
    asked = {
        "client_id": uuid.uuid4(),
        "pool": pool_named(farm=place.farm, key="shed:cotton-seed"),
        "shared_by": "used",
        "crop_year": 2026,
        "first_on": dt.date(2026, 1, 1),
        "last_on": THROUGH,
        "why": "the bill came",
        "now": NOON,
        **facts,
    }
    return share_out_pool(farm=place.farm, **asked)  # type: ignore[arg-type]


def test_before_the_bill_nothing_is_offered(place: Place) -> None:
    assert in_the_shed(place) == (-2755_00, 0)
    assert seed_pools(place) == []
    [seed] = [one for one in stock_on_hand(farm=place.farm) if one.item == "cotton-seed"]
    assert (seed.stock.held_e4, seed.stock.unmet_e4, seed.unit) == (0, 100_000, "bag"), (
        "told as used and not bought"
    )


def test_a_dearer_bill_is_shared_over_what_was_used_and_the_shed_comes_to_what_is_there(place: Place) -> None:
    """By hand: 12 bags at 300 and 10 used at 275.50: 10 x 24.50 = 245 lack, four fifths of it on the field of 8 bags."""
    bought(place, "12", "3600.00")
    assert in_the_shed(place) == (845_00, 600_00)
    assert seed_pools(place) == [("shed:cotton-seed", {"seed": 245_00})]
    outcome = share(place)
    assert sorted((part.season.field.code, part.cents) for part in outcome.parts) == [
        ("pond-40", 196_00),
        ("sand-60", 49_00),
    ]
    assert in_the_shed(place) == (600_00, 600_00)
    assert seed_pools(place) == []
    assert verify_ledger(farm=place.farm).faults == []
    assert outcome.share_out is not None
    reverse_share_out(share_out=outcome.share_out, why="other days", now=NOON)
    assert seed_pools(place) == [("shed:cotton-seed", {"seed": 245_00})]


def test_a_cheaper_bill_gives_back(place: Place) -> None:
    bought(place, "10", "2700.00")
    assert seed_pools(place) == [("shed:cotton-seed", {"seed": -55_00})]
    assert share(place).total_cents == -55_00
    assert in_the_shed(place) == (0, 0)


def test_of_a_part_that_was_bought_only_that_part_is_told(place: Place) -> None:
    """By hand: 6 bags at 300 are 147 more than 6 at 275.50; 4 bags stay used and not bought, at 1,102."""
    bought(place, "6", "1800.00")
    assert seed_pools(place) == [("shed:cotton-seed", {"seed": 147_00})]
    share(place)
    assert in_the_shed(place) == (-1102_00, 0)
    bought(place, "4", "1102.00")
    assert seed_pools(place) == []
    assert in_the_shed(place) == (0, 0)


def test_a_bill_whose_price_is_corrected_after_the_use_is_told_too(place: Place) -> None:
    first = bought(place, "10", "2755.00")
    assert seed_pools(place) == []
    bought(place, "10", "2855.00", supersedes=first)
    assert seed_pools(place) == [("shed:cotton-seed", {"seed": 100_00})]


def test_a_corrected_price_of_what_was_there_goes_by_all_that_was_used(db: None) -> None:
    """By hand: ten bags at 275.50 were there before eight of them were used; at 300.00 those eight lack 196.00."""
    place = make_place()
    first = bought(place, "10", "2755.00")
    use_input(make_work(place), "cotton-seed", "8", "bag", usd="1.00", category="seed")
    post_pending(now=NOON)
    assert seed_pools(place) == []
    bought(place, "10", "3000.00", supersedes=first)
    assert seed_pools(place) == [("shed:cotton-seed", {"seed": 196_00})]
    outcome = share(place)
    assert [(part.season.field.code, part.weight_e4, part.cents) for part in outcome.parts] == [
        ("pond-40", 80_000, 196_00)
    ]
    assert in_the_shed(place) == (600_00, 600_00)


def test_what_was_used_before_the_first_count_is_not_in_the_count(place: Place) -> None:
    """The seed of the books' first weeks came from what nobody had counted; the count holds what was left."""
    enter_opening_stock(
        farm=place.farm,
        client_id=uuid.uuid4(),
        item="cotton-seed",
        category="seed",
        lot="",
        quantity="4",
        unit="bag",
        amount_usd="1000.00",
        on=DAY,
        now=NOON,
    )
    post_pending(now=NOON)
    assert seed_pools(place) == []


def test_a_bill_of_a_later_day_is_told_from_that_day_on(place: Place) -> None:
    bought(
        place, "10", "3000.00", bill_on=dt.date(2026, 5, 2), now=dt.datetime(2026, 5, 3, 16, tzinfo=dt.UTC)
    )
    assert seed_pools(place) == []
    assert seed_pools(place, dt.date(2026, 5, 2)) == [("shed:cotton-seed", {"seed": 245_00})]
    with pytest.raises(ShareOutRefused, match="The pool of cotton-seed holds nothing through 2026-04-20"):
        share(place)


def test_it_goes_by_what_was_used_and_by_nothing_else(place: Place) -> None:
    bought(place, "10", "3000.00")
    with pytest.raises(
        ShareOutRefused, match="cotton-seed was priced otherwise is shared out by what was used"
    ):
        share(place, shared_by="acres")
    make_bill(place, "50.00", category="insurance")
    with pytest.raises(ShareOutRefused, match="Only an input or fuel is shared out by what was used of it"):
        share(place, pool=Pool(PoolKind.OVERHEAD, None, {}), shared_by=SharedBy.USED)
    with pytest.raises(ShareOutRefused, match="Nothing of cotton-seed was used for crop year 2026 between"):
        share(
            place,
            last_on=dt.date(2026, 4, 21),
            first_on=dt.date(2026, 4, 21),
            now=NOON + dt.timedelta(days=1),
        )


def buy(place: Place, chance: random.Random) -> None:
    bags, usd = chance.randint(5, 40), f"{Decimal(chance.randint(10_000, 99_999)) / 100:.2f}"
    lot = chance.choice(["", "A-1", "B-2"])
    item = NewBillItem("seed", usd, item="cotton-seed", quantity=str(bags), unit="bag", lot=lot)
    make_bill(place, usd, category="seed", items=[item])


@pytest.mark.parametrize("stock_cost", ["average", "actual"])
def test_a_stock_that_never_runs_short_leaves_no_difference_whatever_is_drawn_and_undone(
    db: None, stock_cost: str
) -> None:
    place, chance = make_place(), random.Random(7)
    choose_year(farm=place.farm, year=2026, stock_cost=stock_cost, fuel_by="average_hour", now=NOON)
    for _step in range(4):
        buy(place, chance)
    for step in range(8):
        record = make_work(place, implement=None, machine_min=0, hand_min=0)
        use_input(record, "cotton-seed", f"{Decimal(chance.randint(1, 19_999)) / 10_000}", "bag", usd="1.00")
        post_pending(now=NOON)
        if step % 3 == 2:
            reverse_entry(entry=Entry.objects.get(work_record=record), why="tried", now=NOON)
        assert price_differences(farm=place.farm, through=DAY) == []
