"""Items of a bill: each to its place, into stock by lots, with their parts of the sales tax; what is refused."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

import pytest
from django.db.models import Sum

from farmops.farms.models import Pump
from ledger.models import Account, Bill, BillItem, Line
from ledger.selectors.bills import items_known, listed_bills, standing_payments, unpaid_bills
from ledger.services.bill_items import NewBillItem
from ledger.services.bills import BillDiffers, BillRefused, CurrencyDiffers, enter_bill, pay_bill
from ledger.services.entities import EntityRefused, add_entity
from ledger.services.incident_bills import join_bill
from ledger.services.opening import OpeningRefused, enter_opening_stock
from ledger.services.posting import post_pending
from ledger.services.rates import set_rate
from ledger.services.verify import verify_ledger
from tests.factories import make_field, make_season
from tests.ledger.makers import DAY, NOON, Place, make_bill, make_place
from tests.ledger.test_bills import make_incident, places_of

SEED = NewBillItem("seed", "9000.00", item="cotton-seed", lot="L-7", quantity="30", unit="bag")


def lines_of(account: str) -> list[tuple[Any, ...]]:
    rows = Line.objects.filter(account=account).order_by("id")
    return list(rows.values_list("item", "lot", "quantity_e4", "unit", "cents"))


def test_what_has_a_code_and_a_quantity_comes_into_stock_by_its_lot(place: Place) -> None:
    fee = NewBillItem("technology_fee", "1500.00", says="30 bags")
    bill = make_bill(place, "10500.00", category="", items=[SEED, fee], number="S-1")
    post_pending(now=NOON)
    assert bill.category == "seed"
    assert lines_of("input_stock") == [("cotton-seed", "L-7", 300_000, "bag", 900_000)]
    assert places_of(place) == {("input_stock", ""): 900_000, ("overhead", ""): 150_000}
    owed = Line.objects.filter(account=Account.BILLS_OWED).order_by("id").values_list("category", "cents")
    assert list(owed) == [("seed", -900_000), ("technology_fee", -150_000)]
    assert Line.objects.get(account="overhead").says == "bill of Three Rivers Supply no. S-1: 30 bags"
    assert verify_ledger().faults == []


def test_each_item_goes_to_the_place_it_names_and_the_rest_of_a_category_together(place: Place) -> None:
    items = [
        NewBillItem("repairs", "120.00", machine=place.machine),
        NewBillItem("custom_work", "400", season=place.season, quantity=Decimal("40"), unit="ac"),
        NewBillItem("supplies", "10.10"),
        NewBillItem("supplies", "20.20"),
        NewBillItem("fuel", "330.00", item="diesel", quantity="100", unit="gal"),
    ]
    make_bill(place, "880.30", category="", items=items)
    post_pending(now=NOON)
    assert places_of(place) == {
        ("machine_pool", "tractor-1"): 12_000,
        ("season", "pond-40 cotton 2026"): 40_000,
        ("overhead", ""): 3_030,
        ("fuel_stock", ""): 33_000,
    }
    assert lines_of("season") == [("", "", 400_000, "ac", 40_000)]
    assert verify_ledger().faults == []


def test_sales_tax_goes_to_the_items_by_their_amounts_to_the_cent(place: Place) -> None:
    """By hand: 7.01 of tax over 60.00, 30.00 and 10.00 are 4.206, 2.103 and 0.701; whole cents 4.20, 2.10 and 0.70
    leave one cent, which goes to the biggest fraction, 0.6 of the first."""
    items = [NewBillItem("supplies", "60"), NewBillItem("repairs", "30"), NewBillItem("wrap", "10")]
    bill = make_bill(place, "107.01", category="", sales_tax_usd="7.01", items=items)
    assert list(bill.items.values_list("cents", flat=True)) == [6_421, 3_210, 1_070]
    assert (bill.cents, bill.sales_tax_cents) == (10_701, 701)
    post_pending(now=NOON)
    assert verify_ledger().faults == []


def test_a_credit_gives_the_stock_back_what_was_returned(place: Place) -> None:
    make_bill(place, "9000.00", category="", items=[SEED])
    back = NewBillItem("seed", "-1500.00", item="cotton-seed", lot="L-7", quantity="5", unit="bag")
    make_bill(place, "-1500.00", category="", items=[back])
    post_pending(now=NOON)
    assert lines_of("input_stock") == [
        ("cotton-seed", "L-7", 300_000, "bag", 900_000),
        ("cotton-seed", "L-7", -50_000, "bag", -150_000),
    ]
    assert [bill.cents for bill in unpaid_bills(farm=place.farm)] == [900_000, -150_000]
    assert verify_ledger().faults == []


def test_a_bill_is_shared_over_the_fields_of_its_crop_year_by_acres(place: Place) -> None:
    """By hand: 40 and 13.33 acres of 53.33; 100.00 is 75.0047 and 24.9953, so 75.00 and 24.99 and the left cent to the
    bigger fraction, that of the second."""
    make_season(make_field(place.farm, "low-13"), area_ac=Decimal("13.33"))
    make_season(make_field(place.farm, "old-99"), crop_year=2025)
    make_bill(place, "100.00", category="insurance", shared_by="acres")
    post_pending(now=NOON)
    assert places_of(place) == {
        ("season", "pond-40 cotton 2026"): 7_500,
        ("season", "low-13 cotton 2026"): 2_500,
    }
    make_bill(place, "0.03", category="dues", shared_by="equal")
    make_bill(place, "50", category="taxes", shared_by="acres", crop_year=2025)
    post_pending(now=NOON)
    assert places_of(place) == {
        ("season", "pond-40 cotton 2026"): 7_502,
        ("season", "low-13 cotton 2026"): 2_501,
        ("season", "old-99 cotton 2025"): 5_000,
    }


def test_power_of_a_pump_goes_to_its_pool(place: Place) -> None:
    pump = Pump.objects.create(farm=place.farm, code="well-1", name="Well 1", flow_gpm=900)
    make_bill(place, "640.00", category="irrigation_power", pump=pump)
    post_pending(now=NOON)
    assert places_of(place) == {("irrigation", "well-1"): 64_000}


def test_a_check_to_a_hand_pays_what_work_records_owe_and_is_no_cost_again(place: Place) -> None:
    make_bill(place, "500", category="labor")
    make_bill(place, "40", category="payroll_burden")
    post_pending(now=NOON)
    assert places_of(place) == {("wages_owed", ""): 50_000, ("payroll_owed", ""): 4_000}


def test_a_repeat_compares_items_tax_and_whatever_else_is_told(place: Place) -> None:
    home = add_entity(farm=place.farm, code="home", name="Home Place LLC")[0]
    facts: dict[str, Any] = {
        "farm": place.farm,
        "client_id": uuid.uuid4(),
        "payee": "Seed House",
        "bill_on": DAY,
        "amount_usd": "9000",
        "items": [SEED],
        "entity": home,
        "sales_tax_usd": "1",
        "now": NOON,
    }
    bill, is_new = enter_bill(**facts)
    assert is_new
    assert enter_bill(**facts) == (bill, False)
    other_lot = NewBillItem("seed", "9000.00", item="cotton-seed", lot="L-8", quantity="30", unit="bag")
    for change, says in (
        ({"items": [other_lot]}, "another list of items"),
        ({"items": [], "category": "seed"}, "another list of items"),
        ({"sales_tax_usd": "2"}, "another sales tax"),
        ({"entity": None}, "another entity"),
        ({"crop_year": 2027}, "another crop year"),
    ):
        with pytest.raises(BillDiffers, match=says):
            enter_bill(**{**facts, **change})
    assert (Bill.objects.count(), BillItem.objects.count()) == (1, 1)


def test_the_correction_of_a_paid_bill_is_paid_as_that_was(place: Place) -> None:
    wrong = make_bill(place, "190.00", number="A-1", paid_on=DAY, check_no="1043")
    post_pending(now=NOON)
    right = make_bill(place, "19.00", number="A-1", supersedes=wrong)
    report = post_pending(now=NOON)
    assert (report.posted, report.reversed) == (2, 2)
    sums = dict(Line.objects.values_list("account").annotate(Sum("cents")))
    assert sums == {"overhead": 1_900, "bills_owed": 0, "bank": -1_900}
    assert [(row.bill, row.check_no) for row in standing_payments(farm=place.farm)] == [(right, "1043")]
    assert unpaid_bills(farm=place.farm) == []
    assert post_pending(now=NOON).posted == 0
    assert verify_ledger().faults == []


@pytest.mark.parametrize("days", [-2, 2])
def test_a_correction_that_came_before_the_posting_is_paid_once(place: Place, days: int) -> None:
    wrong = make_bill(place, "190.00", paid_on=DAY)
    make_bill(place, "19.00", supersedes=wrong, paid_on=DAY + dt.timedelta(days=days))
    assert post_pending(now=NOON).posted == 2
    assert Line.objects.filter(account="bank").aggregate(Sum("cents")) == {"cents__sum": -1_900}


def test_a_bill_that_was_paid_two_corrections_ago_is_paid(place: Place) -> None:
    """Of a time when the payment stayed with the bill that was wrong: the one in the middle has none of its own."""
    paid = make_bill(place, "190.00", paid_on=DAY, check_no="1043")
    post_pending(now=NOON)
    facts = {"payee": paid.payee, "bill_on": DAY, "cents": 19_500, "category": "other", "entered_at": NOON}
    middle = Bill.objects.create(farm=place.farm, client_id=uuid.uuid4(), supersedes=paid, **facts)
    assert unpaid_bills(farm=place.farm) == []
    assert listed_bills(farm=place.farm, most=9) == ([], [middle])
    newest = make_bill(place, "200.00", supersedes=Bill.objects.get(pk=middle.pk))
    assert newest.payment.check_no == "1043"
    post_pending(now=NOON)
    sums = dict(Line.objects.values_list("account").annotate(Sum("cents")))
    assert sums == {"overhead": 20_000, "bills_owed": 0, "bank": -20_000}
    assert verify_ledger().faults == []


def test_what_is_shared_by_acres_is_not_what_goes_to_the_shed(place: Place) -> None:
    items = [NewBillItem("seed", "60"), NewBillItem("dues", "40"), NewBillItem("labor", "10")]
    make_bill(place, "110", category="", items=items, shared_by="acres")
    make_bill(place, "7", category="seed", shared_by="acres")
    post_pending(now=NOON)
    assert places_of(place) == {
        ("input_stock", ""): 6_000,
        ("season", "pond-40 cotton 2026"): 4_700,
        ("wages_owed", ""): 1_000,
    }


def test_a_bill_that_is_joined_to_an_incident_keeps_its_items_and_tax(place: Place) -> None:
    items = [NewBillItem("tires", "300"), NewBillItem("repairs", "100", says="two hours")]
    bill = make_bill(place, "424.00", category="", sales_tax_usd="24", items=items)
    joined, is_new = join_bill(
        farm=place.farm, client_id=uuid.uuid4(), bill=bill, incident=make_incident(place), now=NOON
    )
    assert is_new
    assert list(joined.items.values_list("category", "cents", "says")) == [
        ("tires", 31_800, ""),
        ("repairs", 10_600, "two hours"),
    ]
    post_pending(now=NOON)
    assert places_of(place) == {("season", "pond-40 cotton 2026"): 42_400}
    assert verify_ledger().faults == []


@pytest.mark.parametrize(
    ("facts", "field", "says"),
    [
        ({"quantity": "-3", "unit": "bag"}, "quantity", "Item 1 of the bill: the quantity -3 is below zero"),
        ({"quantity": "0", "unit": "bag"}, "quantity", "the quantity is zero"),
        ({"quantity": "3"}, "unit", r"3 of what\? Give the unit"),
        ({"unit": "bag"}, "quantity", r"how many bag\?"),
        ({"quantity": "1,5", "unit": "bag"}, "quantity", "not a plain number"),
        ({"category": "yachts"}, "category", "Item 1 of the bill: 'yachts' is not a category of bills; known: labor,"),
        ({"category": "owner_time"}, "category", "not a category of bills"),
        ({"amount_usd": "10000000000000"}, "amount_usd", "which no single line holds"),
        ({"amount_usd": "0.00"}, "amount_usd", "asks for nothing"),
        ({"item": "seed-a"}, "item", "'seed-a' goes into stock by its code, a quantity and a unit"),
        ({"item": "seed a", "quantity": "1", "unit": "bag"}, "item", "'seed a' goes into stock by its code"),
        ({"lot": "L-1"}, "lot", "the lot L-1 is one of an item"),
        ({"category": "insurance", "item": "a", "quantity": "1", "unit": "x"}, "item", "is not bought into stock"),
        ({"says": "x" * 121}, "says", "one line of at most 120"),
    ],
)  # fmt: skip
def test_an_item_that_makes_no_sense_is_refused_by_its_field(
    place: Place, facts: dict[str, Any], field: str, says: str
) -> None:
    item = NewBillItem(**{"category": "seed", "amount_usd": "100", **facts})
    with pytest.raises(BillRefused, match=says) as refusal:
        make_bill(place, "100", category="", items=[item])
    assert list(refusal.value.fields) == [f"items/0/{field}"]
    assert Bill.objects.count() == 0


def test_items_name_one_place_of_their_own_farm(place: Place) -> None:
    other = make_place("other-bend")
    for facts, says in (
        ({"season": other.season}, "its season is not one of Heron Slough"),
        ({"machine": other.machine}, "its machine is not one of Heron Slough"),
        ({"season": place.season, "machine": place.machine}, "to a season or to a machine, not to both"),
        (
            {"season": place.season, "item": "a", "quantity": "1", "unit": "bag"},
            "into stock, or to a season or machine",
        ),
    ):
        with pytest.raises(BillRefused, match=says):
            make_bill(place, "100", category="", items=[NewBillItem("seed", "100", **facts)])


def test_items_come_to_the_sum_of_the_bill(place: Place) -> None:
    items = [NewBillItem("seed", "1060"), NewBillItem("wrap", "30")]
    with pytest.raises(BillRefused, match=r"come to \$1,090\.00, and the bill asks for \$1,100\.00"):
        make_bill(place, "1100", category="", items=items)
    with pytest.raises(
        BillRefused, match=r"and the bill asks for \$1,100\.00, or \$1,095\.00 without the sales tax"
    ):
        make_bill(place, "1100", category="", items=items, sales_tax_usd="5")
    with pytest.raises(BillRefused, match="200 items at most; this one has 201"):
        make_bill(place, "100", category="", items=[SEED] * 201)


def test_an_item_stays_in_the_unit_it_is_in_stock_by(place: Place) -> None:
    bought = make_bill(place, "9000.00", category="", items=[SEED])
    in_pounds = NewBillItem("seed", "80", item="cotton-seed", quantity="50", unit="lb")
    with pytest.raises(BillRefused, match="cotton-seed is in stock by the bag, and this is by the lb"):
        make_bill(place, "80", category="", items=[in_pounds])
    two = [NewBillItem("seed", "1", item="oats", quantity="1", unit=unit) for unit in ("bag", "lb")]
    with pytest.raises(BillRefused, match="Item 2 of the bill: oats is in stock by the bag"):
        make_bill(place, "2", category="", items=two)
    assert make_bill(place, "80", category="", items=[in_pounds], supersedes=bought).pk


@pytest.mark.parametrize(
    ("facts", "field", "says"),
    [
        ({"shared_by": "hours"}, "shared_by", "shared at once by acres or equal, not by 'hours'"),
        ({"shared_by": "acres", "crop_year": 2024}, "crop_year", "no season of crop year 2024"),
        ({"crop_year": 1066}, "crop_year", "1066 is not between 1990 and 2028"),
        ({"sales_tax_usd": "-1"}, "sales_tax_usd", "have different signs"),
        ({"sales_tax_usd": "100"}, "sales_tax_usd", r"is not less than the amount \$100.00"),
        ({"sales_tax_usd": "x"}, "sales_tax_usd", "not a plain number"),
        ({"amount_usd": "10000000000000"}, "amount_usd", "more than 10,000,000,000, which no single line holds"),
    ],
)  # fmt: skip
def test_sharing_and_tax_that_make_no_sense_are_refused(
    place: Place, facts: dict[str, Any], field: str, says: str
) -> None:
    with pytest.raises(BillRefused, match=says) as refusal:
        make_bill(place, **{"amount_usd": "100", **facts})
    assert list(refusal.value.fields) == [field]


def test_a_bill_that_is_shared_names_no_place_besides(place: Place) -> None:
    pump = Pump.objects.create(farm=place.farm, code="well-1", name="Well 1", flow_gpm=900)
    with pytest.raises(BillRefused, match="shared over all fields or goes to a machine, not both"):
        make_bill(place, shared_by="acres", machine=place.machine)
    with pytest.raises(BillRefused, match="to a pump or to a season, not to both"):
        make_bill(place, pump=pump, season=place.season)


def test_another_currency_is_refused_with_a_sentence(place: Place) -> None:
    with pytest.raises(
        CurrencyDiffers, match=r"books are in US dollars \(USD\), and this amount is in 'CAD'"
    ):
        make_bill(place, currency="CAD")
    assert make_bill(place, currency=" usd ").pk


def test_a_payment_of_a_bill_with_items_is_by_category(place: Place) -> None:
    items = [NewBillItem("repairs", "30"), NewBillItem("wrap", "70")]
    bill = make_bill(place, "100", category="wrap", items=items)
    pay_bill(bill=bill, paid_on=DAY, now=NOON)
    post_pending(now=NOON)
    owed = Line.objects.filter(account="bills_owed").values_list("category").annotate(Sum("cents"))
    assert dict(owed) == {"repairs": 0, "wrap": 0}
    assert verify_ledger().faults == []


def test_an_entity_is_added_once(place: Place) -> None:
    first = add_entity(farm=place.farm, code="home", name="Home Place LLC")
    assert add_entity(farm=place.farm, code="home", name=" Home Place LLC ") == (first[0], False)
    for facts, says in (
        ({"code": "home", "name": "Other"}, "home is Home Place LLC already"),
        ({"code": "a b", "name": "Other"}, "'a b' is no code"),
        ({"code": "b", "name": ""}, "one line of 1 to 80"),
    ):
        with pytest.raises(EntityRefused, match=says):
            add_entity(farm=place.farm, **facts)
    other = make_place("other-bend")
    with pytest.raises(BillRefused, match="entity of the bill is not one of Other Bend"):
        make_bill(other, entity=first[0])


def test_what_is_used_or_priced_is_offered_and_a_code_that_differs_by_capitals_alone_is_refused(
    place: Place,
) -> None:
    """Seed bought as MIX-1 would stay in the shed for ever while mix-1 is used in the field."""
    set_rate(
        farm=place.farm, kind="input", subject="mix-1", unit="gal", usd_per_unit="3", category="chemicals",
        valid_from=DAY, now=NOON,
    )  # fmt: skip
    assert {("diesel", "fuel", "gal"), ("mix-1", "chemicals", "gal")} <= set(items_known(farm=place.farm))
    for code, meant in (("MIX-1", "mix-1"), ("mix_1", "mix-1"), ("Diesel", "diesel")):
        with pytest.raises(BillRefused, match=f"Item 1 of the bill: {code} is written {meant} here"):
            make_bill(place, items=[NewBillItem("chemicals", "100", item=code, quantity="5", unit="gal")])
    with pytest.raises(OpeningRefused, match="DIESEL is written diesel here"):
        enter_opening_stock(
            farm=place.farm, client_id=uuid.uuid4(), item="DIESEL", category="fuel", quantity="5", unit="gal",
            amount_usd="15", on=DAY, now=NOON,
        )  # fmt: skip
    assert make_bill(
        place, items=[NewBillItem("chemicals", "100", item="mix-12", quantity="5", unit="gal")]
    ).pk
