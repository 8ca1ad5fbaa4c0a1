"""The pages of bills, payees and stock: entering by keyboard, paying, correcting, and what is refused at its box."""

import datetime as dt
import uuid
from decimal import Decimal
from html import unescape
from typing import Any

import pytest

from farmops.core import clock
from farmops.farms.models import Machine, Pump
from farmops.pages.bill_form import read_day
from ledger.models import Bill, BillPayment, Entity, FarmCategory, OpeningStock, Payee
from ledger.services.bill_items import NewBillItem
from ledger.services.bills import enter_bill
from ledger.services.posting import post_pending
from tests.factories import make_farm, make_season
from tests.farmops.pages.conftest import Yard, signed_in
from tests.farmops.pages.test_markup import Document

FARM = "/farms/heron-slough/"
BILLS = f"{FARM}bills/"
NOW = dt.datetime(2026, 4, 24, 22, tzinfo=dt.UTC)
DAY = dt.date(2026, 4, 24)


@pytest.fixture(autouse=True)
def _friday(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)


def page_of(path: str = BILLS, user: str = "bo", status: int = 200) -> str:
    answer = signed_in(user).get(path)
    assert answer.status_code == status
    page = answer.content.decode()
    assert Document(page).wrong == []
    return unescape(page)


def sent(path: str = "bills/enter/", user: str = "bo", **boxes: str) -> Any:
    typed = {"client_id": str(uuid.uuid4()), **boxes}
    answer = signed_in(user).post(f"{FARM}{path}", typed)
    if answer.status_code == 422:
        assert Document(answer.content.decode()).wrong == []
    return answer


def told(path: str, **boxes: str) -> str:
    answer = signed_in("bo").post(f"{FARM}{path}", boxes, follow=True)
    assert answer.status_code in (200, 422)
    return unescape(answer.content.decode())


def typed(**boxes: str) -> dict[str, str]:
    return {
        "payee": "Cane Road Tire",
        "bill_on": "4/22",
        "amount_usd": "412.38",
        "category": "repairs",
        **boxes,
    }


def make_bill(yard: Yard, amount_usd: str = "100", **facts: Any) -> Bill:
    defaults: dict[str, Any] = {"payee": "Delta Supply", "bill_on": DAY, "category": "other", "now": NOW}
    return enter_bill(farm=yard.farm, client_id=uuid.uuid4(), amount_usd=amount_usd, **{**defaults, **facts})[
        0
    ]


def test_a_bill_with_four_boxes_is_shared_by_acres(yard: Yard) -> None:
    assert sent(**typed(number="A-17")).status_code == 302
    bill = Bill.objects.get()
    assert (bill.payee.name, bill.number, bill.cents, bill.category) == (
        "Cane Road Tire",
        "A-17",
        41_238,
        "repairs",
    )
    assert (bill.bill_on, bill.shared_by, str(bill.entered_by)) == (dt.date(2026, 4, 22), "acres", "bo")
    page = page_of()
    assert "One bill is not paid: $412.38" in page
    assert "all fields of 2026, by acres" in page


def test_the_same_form_sent_twice_is_one_bill(yard: Yard) -> None:
    same = {**typed(), "client_id": str(uuid.uuid4())}
    assert [sent(**same).status_code for _ in range(2)] == [302, 302]
    assert Bill.objects.count() == 1


def test_what_it_is_for_is_what_the_last_bill_of_the_payee_was_for(yard: Yard) -> None:
    assert sent(**typed(category="")).status_code == 422
    assert Bill.objects.count() == 0
    sent(**typed(category="tires"))
    sent(**typed(category="", amount_usd="88"))
    assert set(Bill.objects.values_list("category", flat=True)) == {"tires"}
    assert '<option value="Cane Road Tire">tires</option>' in page_of()


@pytest.mark.parametrize(
    ("boxes", "shared_by"),
    [
        ({"category": "insurance"}, "acres"),
        ({"category": "insurance", "place": "in equal parts"}, "equal"),
        ({"category": "insurance", "place": "the farm"}, ""),
        ({"category": "seed"}, ""),
        ({"category": "fuel"}, ""),
        ({"category": "labor"}, ""),
        ({"category": "insurance", "crop_year": "2020"}, ""),
    ],
)
def test_it_is_shared_by_acres_unless_told_otherwise(
    yard: Yard, boxes: dict[str, str], shared_by: str
) -> None:
    assert sent(**typed(**boxes)).status_code == 302
    assert Bill.objects.get().shared_by == shared_by


def test_a_place_is_a_code_of_a_machine_a_pump_or_a_field(yard: Yard) -> None:
    pump = Pump.objects.create(farm=yard.farm, code="well-1", name="Well 1", flow_gpm=Decimal(900))
    for amount, place in enumerate(("tractor-1", "disk-1", "well-1", "pond-40"), start=1):
        assert sent(**typed(place=place, amount_usd=str(amount))).status_code == 302
    bills = list(Bill.objects.order_by("id"))
    assert [str(bill.machine or bill.implement or bill.pump or bill.season) for bill in bills] == [
        "tractor-1",
        "disk-1",
        str(pump),
        str(yard.field_pass.season),
    ]
    assert {bill.shared_by for bill in bills} == {""}


def test_a_field_with_two_crops_is_named_by_its_crop(yard: Yard) -> None:
    make_season(yard.field, crop="wheat", part="north")
    make_season(yard.field, crop="rye", crop_year=2027)
    page = page_of()
    for name in ("pond-40", "pond-40.north", "pond-40 2027"):
        assert f'<option value="{name}">' in page
    sent(**typed(place="pond-40 2027"))
    season = Bill.objects.get().season
    assert season is not None
    assert season.crop == "rye"


def test_a_box_with_a_check_number_says_that_it_is_paid(yard: Yard) -> None:
    sent(**typed(check_no="1043", paid_on="4/23"))
    sent(**typed(is_paid="yes", paid_on="4/24/26", amount_usd="9"))
    rows = BillPayment.objects.order_by("id").values_list("paid_on", "check_no")
    assert list(rows) == [(dt.date(2026, 4, 23), "1043"), (dt.date(2026, 4, 24), "")]
    assert "Every bill is paid" in page_of()


def test_lines_of_a_bill_come_into_stock_with_their_lot(yard: Yard) -> None:
    lines = {
        "category_0": "seed",
        "item_0": "cotton-seed",
        "quantity_0": "30",
        "unit_0": "bag",
        "lot_0": "L-7",
        "amount_usd_0": "9,000.00",
        "category_1": "repairs",
        "amount_usd_1": "100",
        "place_1": "tractor-1",
        "says_1": "planter chain",
    }
    assert sent(**typed(amount_usd="$9,191.00", sales_tax_usd="91", category="", **lines)).status_code == 302
    bill = Bill.objects.get()
    assert [(one.item, one.lot, one.cents, str(one.machine or "")) for one in bill.items.all()] == [
        ("cotton-seed", "L-7", 909_000, ""),
        ("", "", 10_100, "tractor-1"),
    ]
    post_pending(now=NOW)
    page = page_of(f"{BILLS}{bill.pk}/")
    assert "planter chain" in page
    assert "30 bag" in page
    stock = page_of(f"{FARM}stock/")
    assert "$9,090.00 of stock" in stock
    assert "$303.00 a bag" in stock
    assert '<option value="cotton-seed">seed</option>' in page_of()


def test_one_line_without_dollars_has_those_of_the_bill(yard: Yard) -> None:
    sent(**typed(category="fuel", item_0="diesel", quantity_0="100", unit_0="gal", amount_usd="330"))
    item = Bill.objects.get().items.get()
    assert (item.category, item.cents, item.quantity_e4) == ("fuel", 33_000, 1_000_000)


@pytest.mark.parametrize(
    ("boxes", "says"),
    [
        ({"amount_usd": ""}, "Give the dollars, below zero for a credit."),
        ({"amount_usd": "a lot"}, "“a lot” is not a number."),
        ({"amount_usd": "10000000000000"}, "which no single line holds"),
        ({"amount_usd": "12.345"}, "more than two decimals"),
        ({"bill_on": "2/30"}, "“2/30” is not a day such as 4/20/2026."),
        ({"bill_on": ""}, "Give the day."),
        ({"category": "yachts"}, "'yachts' is not a category of bills"),
        ({"place": "tractor-9"}, "“tractor-9” is no code of a field with a season, or of a machine, implement, pump or"),
        ({"crop_year": "next"}, "“next” is not a year such as 2026."),
        ({"entity": "nobody"}, "Choose one of the entities."),
        ({"item_0": "seed-a", "quantity_0": "-3", "unit_0": "bag"}, "the quantity -3 is below zero"),
        ({"category_1": "seed"}, "Fill the lines from the first one on, without a gap."),
        ({"category_0": "seed", "category_1": "seed", "amount_usd_1": "1"}, "Give its dollars."),
        ({"place_0": "disk-1"}, "or of a machine. A line without a place goes where the bill goes."),
        ({"payee": " "}, "names who is to be paid"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_said_at_its_box_and_nothing_is_kept(
    yard: Yard, boxes: dict[str, str], says: str
) -> None:
    answer = sent(**{**typed(), **boxes})
    page = unescape(answer.content.decode())
    assert answer.status_code == 422
    assert says in page
    assert 'value="Cane Road Tire"' in page or boxes.get("payee")
    assert Bill.objects.count() == 0


def test_a_bill_is_paid_from_the_list(yard: Yard) -> None:
    bill = make_bill(yard)
    assert sent(f"bills/{bill.pk}/pay/", check_no="1044", paid_on="4/23/2026").status_code == 302
    payment = BillPayment.objects.get()
    assert (payment.paid_on, payment.check_no) == (dt.date(2026, 4, 23), "1044")
    other = make_bill(yard)
    sent(f"bills/{other.pk}/pay/")
    assert BillPayment.objects.get(bill=other).paid_on == DAY
    third = make_bill(yard)
    refused = told(f"bills/{third.pk}/pay/", paid_on="someday", check_no="1045")
    assert "“someday” is not a day" in refused
    assert 'value="1045"' in refused
    assert "Paid: $100.00 to Delta Supply." in told(f"bills/{third.pk}/pay/", paid_on="4/20")
    assert "was paid on April 20, 2026 already" in told(f"bills/{third.pk}/pay/", paid_on="4/21")
    assert BillPayment.objects.get(bill=third).paid_on == dt.date(2026, 4, 20)


def test_a_bill_is_corrected_by_the_same_form_as_it_was_entered(yard: Yard) -> None:
    items = [NewBillItem("seed", "9000", item="cotton-seed", lot="L-7", quantity="30", unit="bag")]
    bill = make_bill(yard, "9000", category="", items=items, number="S-1", machine=None)
    page = page_of(f"{BILLS}{bill.pk}/")
    for name, value in (("number", "S-1"), ("amount_usd", "9000.00"), ("lot_0", "L-7"), ("quantity_0", "30")):
        assert f'name="{name}"' in page
        assert f'value="{value}"' in page
    right = {
        **typed(payee="Delta Supply", number="S-1", amount_usd="8700", category="seed"),
        "item_0": "cotton-seed",
        "quantity_0": "29",
        "unit_0": "bag",
        "lot_0": "L-7",
    }
    answer = sent(f"bills/{bill.pk}/correct/", **right)
    newer = Bill.objects.get(supersedes=bill)
    assert answer.headers["Location"] == f"{BILLS}{newer.pk}/"
    assert "This bill was corrected" in page_of(f"{BILLS}{bill.pk}/")
    assert sent(f"bills/{newer.pk}/correct/", **{**right, "amount_usd": ""}).status_code == 422
    assert "$8,700.00" in page_of()


def test_what_was_typed_for_a_place_comes_back_in_the_form_of_a_correction(yard: Yard) -> None:
    for facts, place in (
        ({"machine": Machine.objects.get()}, "tractor-1"),
        ({"season": yard.field_pass.season}, "pond-40"),
        ({"shared_by": "acres"}, "by acres"),
        ({}, "the farm"),
    ):
        bill = make_bill(yard, **facts)
        assert f'name="place" list="places" size="14" autocomplete="off" placeholder="as usual" value="{place}"' in (
            page_of(f"{BILLS}{bill.pk}/")
        )  # fmt: skip


def test_payees_show_who_lacks_a_w9(yard: Yard) -> None:
    make_bill(yard, "2500", payee="Elm Heirs", category="land_rent", paid_on=DAY)
    payee = Payee.objects.get()
    page = page_of(f"{FARM}payees/")
    assert "One payee has no W-9 on file and came to the threshold of 2026" in page
    assert "Not tax advice." in page
    kept = sent(f"payees/{payee.pk}/", w9="yes", year="2025")
    assert (kept.status_code, kept["Location"]) == (302, f"{FARM}payees/?year=2025")
    assert "form 1099 is due; W-9 is on file." in page_of(f"{FARM}payees/")
    assert "The threshold of 2031 is not known here" in page_of(f"{FARM}payees/?year=2031")
    assert "Payees in 2026" in page_of(f"{FARM}payees/?year=two")


def test_entities_and_categories_of_the_farms_own_are_offered_in_the_form(yard: Yard) -> None:
    assert sent("payees/entity/", code="home", name="Home Place LLC").status_code == 302
    assert sent("bills/category/", code="hives", label="hives", counts_for_1099="yes").status_code == 302
    assert "is no code" in told("payees/entity/", code="a b", name="x")
    assert "Seed is a category that every farm has" in told("bills/category/", code="seed", label="x")
    page = page_of()
    assert '<option value="hives">hives</option>' in page
    assert sent(**typed(entity="home", category="hives")).status_code == 302
    assert Bill.objects.get().entity == Entity.objects.get()
    assert FarmCategory.objects.count() == 1


def test_opening_stock_is_entered_and_corrected_on_the_page(yard: Yard) -> None:
    count = {
        "item": "diesel",
        "category": "fuel",
        "quantity": "500",
        "unit": "gal",
        "amount_usd": "1,600",
        "on": "1/1",
    }
    assert sent("stock/enter/", **count).status_code == 302
    row = OpeningStock.objects.get()
    assert (row.cents, row.on) == (160_000, dt.date(2026, 1, 1))
    assert sent("stock/enter/", **count).status_code == 422
    assert sent("stock/enter/", **{**count, "quantity": "450"}, corrects=str(row.pk)).status_code == 302
    answer = sent("stock/enter/", **{**count, "item": "seed-a", "quantity": "-1", "on": "never"})
    page = unescape(answer.content.decode())
    assert "Give a day such as 1/1/2026." in page
    post_pending(now=NOW)
    assert "450 gal" in page_of(f"{FARM}stock/")
    assert OpeningStock.objects.count() == 2


def test_how_a_year_counts_is_chosen_once_on_the_page_of_stock(yard: Yard) -> None:
    chosen = {"year": "2026", "stock_cost": "actual", "fuel_by": "fill_ups"}
    assert sent("stock/year/", **chosen).status_code == 302
    page = page_of(f"{FARM}stock/")
    assert "what that lot, else the oldest, was bought at" in page
    answer = sent("stock/year/", **{**chosen, "fuel_by": "average_hour"})
    assert answer.status_code == 422
    assert "A year is chosen once." in answer.content.decode()
    assert "Give a year such as 2026." in sent("stock/year/", **{**chosen, "year": "26"}).content.decode()
    assert signed_in("rosa").post(f"{FARM}stock/year/", chosen).status_code == 403


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("4/20", dt.date(2026, 4, 20)),
        ("12/31", dt.date(2025, 12, 31)),
        ("6/20", dt.date(2026, 6, 20)),
        ("4/20/26", dt.date(2026, 4, 20)),
        ("04-20-2026", dt.date(2026, 4, 20)),
        ("2026-04-20", dt.date(2026, 4, 20)),
        ("2/29", None),
        ("13/1", None),
        ("", None),
        ("4/20/226", None),
    ],
)
def test_days_are_read_as_people_write_them(text: str, day: dt.date | None) -> None:
    """Month first, as US bills have it: common practice, no source."""
    assert read_day(text, today=DAY) == day


def test_a_payment_without_a_year_is_never_ahead(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    """In November last December's check is typed from the stub: its tax year is that of the check."""
    monkeypatch.setattr(clock, "now", lambda: dt.datetime(2026, 11, 26, 18, tzinfo=dt.UTC))
    assert sent(**typed(bill_on="12/20/2025", check_no="1001", paid_on="12/31")).status_code == 302
    assert sent(**typed(bill_on="12/21/2025", amount_usd="9")).status_code == 302
    sent(f"bills/{Bill.objects.get(cents=900).pk}/pay/", paid_on="12/31")
    assert set(BillPayment.objects.values_list("paid_on", flat=True)) == {dt.date(2025, 12, 31)}


def test_hands_and_strangers_see_no_bills(yard: Yard) -> None:
    bill = make_bill(yard)
    for path in ("bills/", f"bills/{bill.pk}/", "payees/", "stock/"):
        assert signed_in("rosa").get(FARM + path).status_code == 403
    for path in (
        "bills/enter/",
        f"bills/{bill.pk}/pay/",
        "stock/enter/",
        "bills/category/",
        "payees/entity/",
    ):
        assert signed_in("rosa").post(FARM + path, typed()).status_code == 403
    elsewhere = make_farm("other-bend")
    theirs = enter_bill(
        farm=elsewhere,
        client_id=uuid.uuid4(),
        payee="X",
        bill_on=DAY,
        amount_usd="1",
        category="other",
        now=NOW,
    )[0]
    assert signed_in("bo").get(f"{BILLS}{theirs.pk}/").status_code == 404
    assert signed_in("bo").get("/farms/other-bend/bills/").status_code == 404
    assert signed_in("bo").post(f"{BILLS}{theirs.pk}/pay/").status_code == 404
    assert signed_in("bo").post(f"{FARM}payees/{theirs.payee_id}/").status_code == 404


def test_a_refused_bill_says_on_top_that_it_is_not_kept(yard: Yard) -> None:
    bill, says = (
        make_bill(yard),
        '<p class="caution" role="alert">Not kept: what is wrong stands at its box.</p>',
    )
    for path in ("bills/enter/", f"bills/{bill.pk}/correct/"):
        assert says in sent(path, **typed(amount_usd="")).text
    assert says not in page_of()
    assert says not in page_of(f"{BILLS}{bill.pk}/")
