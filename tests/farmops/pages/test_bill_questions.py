"""What is asked about a bill or a budget before it is kept, and how the question is answered."""

import uuid
from html import unescape

import pytest

from farmops.core import clock
from farmops.core.models import User
from ledger.models import Bill, BillPayment, BudgetLine, Entry
from ledger.services.posting import post_pending
from tests.farmops.pages.conftest import Yard, signed_in
from tests.farmops.pages.test_bill_pages import FARM, NOW, make_bill, sent, told, typed
from tests.scheduling.incident_makers import make_puncture

ASKED = '<input type="checkbox" name="{name}" value="yes"'


@pytest.fixture(autouse=True)
def _friday(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)


def asked(at: str, tick: str, says: str, *, path: str = "bills/enter/", **boxes: str) -> None:
    """Send a form; it is asked at a box, not kept, and kept once the box that answers is ticked."""
    before = Bill.objects.count()
    answer = sent(path, **boxes)
    page = unescape(answer.content.decode())
    assert answer.status_code == 422
    assert Bill.objects.count() == before
    assert f'id="wrong-{at}" class="wrong" role="alert">{says}' in page
    assert page.count(ASKED.format(name=tick)) == 1
    assert sent(path, **boxes, **{tick: "yes"}).status_code == 302
    assert Bill.objects.count() == before + 1


def test_an_invoice_number_that_stands_is_asked_about_and_may_be_another_bill(yard: Yard) -> None:
    sent(**typed(number="T-1"))
    says = "Invoice T-1 of Cane Road Tire was entered on April 24, 2026 for $412.38; is this the same one?"
    asked("number", "is_another", says, **typed(number="t-1", amount_usd="9"))
    first, second = Bill.objects.order_by("pk")
    corrected = typed(number="t-1", amount_usd="10")
    assert sent(f"bills/{second.pk}/correct/", **corrected).status_code == 302, "it was answered before"
    others = typed(number="T-2", amount_usd="412.38")
    assert sent(f"bills/{first.pk}/correct/", **others).status_code == 302


def test_a_bill_alike_without_a_number_is_asked_about_once(yard: Yard) -> None:
    boxes = {**typed(), "client_id": str(uuid.uuid4())}
    assert [sent(**boxes).status_code for _ in range(2)] == [302, 302], "a form sent twice is one bill"
    says = (
        "A bill of Cane Road Tire of April 22, 2026 for $412.38 was entered on April 24, 2026; "
        "is this the same one?"
    )
    asked("number", "is_another", says, **typed(payee="cane  road tire", category=""))
    asked("number", "is_another", says, **typed(number="T-9"))
    assert sent(**typed(bill_on="4/21")).status_code == 302
    assert sent(**typed(amount_usd="412.37")).status_code == 302
    numbered = typed(payee="Delta Supply")
    assert sent(**numbered, number="D-1").status_code == 302
    assert sent(**numbered, number="D-2").status_code == 302


def test_neither_a_correction_nor_what_was_reversed_is_asked_about_as_the_same(yard: Yard) -> None:
    sent(**typed())
    bill = Bill.objects.get()
    assert sent(f"bills/{bill.pk}/correct/", **typed(category="tires")).status_code == 302
    post_pending(now=NOW)
    entry = Entry.objects.filter(source_kind="bill").latest("number")
    assert sent(f"entries/{entry.number}/reverse/", why="twice").status_code == 302
    assert sent(**typed()).status_code == 302


def test_the_bill_of_an_incident_may_be_another_of_the_same_number(yard: Yard) -> None:
    incident = make_puncture(yard.field)
    make_bill(yard, payee="Cane Road Tire", number="T-1")
    boxes = {
        "payee": "Cane Road Tire", "number": "T-1", "bill_on": "2026-04-24", "amount_usd": "90", "category": "tires",
    }  # fmt: skip
    says = "Invoice T-1 of Cane Road Tire was entered"
    path = f"incidents/{incident.pk}/bill/"
    asked("number", "is_another", says, path=path, **boxes)
    alike = boxes | {"number": "", "payee": "Cane  Road Tire"}
    asked("number", "is_another", "A bill of Cane Road Tire of April 24, 2026 for $90.00", path=path, **alike)
    asked(
        "amount_usd",
        "is_amount_right",
        "$9,000,000.00",
        path=path,
        **boxes | {"number": "T-9", "amount_usd": "9000000"},
    )


@pytest.mark.parametrize("amount", ["1,000,000.01", "-2000000"])
def test_an_amount_that_is_too_large_to_be_meant_is_asked_about_once(yard: Yard, amount: str) -> None:
    says = (
        "$1,000,000.01: is the amount right?" if amount[0] == "1" else "−$2,000,000.00: is the amount right?"
    )
    asked("amount_usd", "is_amount_right", says, **typed(amount_usd=amount))
    bill = Bill.objects.get()
    assert sent(f"bills/{bill.pk}/correct/", **typed(amount_usd=amount, number="9")).status_code == 302
    assert sent(**typed(amount_usd="1,000,000")).status_code == 302


def test_more_digits_than_any_amount_has_are_too_large_and_no_riddle(yard: Yard) -> None:
    for text in ("9" * 17, "99,999,999,999,999,999", "123456789012345678.50"):
        page = unescape(sent(**typed(amount_usd=text)).content.decode())
        assert f"“{text[:20]}” is too large." in page
    assert "is not a number." in unescape(sent(**typed(amount_usd="9,9,9,9")).content.decode())
    User.objects.filter(username="bo").update(language="es")
    assert "es demasiado grande." in sent(**typed(amount_usd="9" * 17)).content.decode()


def test_a_budget_that_no_acre_bears_is_asked_about_once(yard: Yard) -> None:
    boxes = {"crop": "cotton", "category": "seed", "usd_per_ac": "100,000.01", "year": "2026"}
    answer = signed_in("bo").post(f"{FARM}budgets/set/", boxes)
    page = unescape(answer.content.decode())
    assert answer.status_code == 422
    assert "$100,000.01 an acre: is the amount right?" in page
    assert ASKED.format(name="is_amount_right") in page
    assert not BudgetLine.objects.exists()
    kept = signed_in("bo").post(f"{FARM}budgets/set/", {**boxes, "is_amount_right": "yes"})
    assert kept.status_code == 302
    assert BudgetLine.objects.get().cents_per_ac == 10_000_001
    large = signed_in("bo").post(f"{FARM}budgets/set/", {**boxes, "usd_per_ac": "9999999999"})
    assert "“9999999999” is too large." in unescape(large.content.decode())


@pytest.mark.parametrize(
    ("bill_on", "paid_on"), [("4/22/2026", "2/20/2026"), ("1/5/2026", "12/30/2025"), ("6/1/2026", "1/2/2026")]
)
def test_a_payment_long_before_its_bill_or_in_a_tax_year_before_it_is_asked_about(
    yard: Yard, bill_on: str, paid_on: str
) -> None:
    boxes = typed(bill_on=bill_on, paid_on=paid_on, check_no="7")
    asked("paid_on", "is_day_right", "Paid on ", **boxes)
    bill = Bill.objects.get()
    assert sent(f"bills/{bill.pk}/correct/", **{**boxes, "amount_usd": "9"}).status_code == 302
    assert BillPayment.objects.filter(check_no="7").count() == 2


def test_a_payment_shortly_before_its_bill_in_the_same_year_is_not_asked_about(yard: Yard) -> None:
    assert sent(**typed(bill_on="4/22", paid_on="2/21", check_no="7")).status_code == 302


def test_a_bill_that_is_paid_from_the_list_is_asked_about_likewise(yard: Yard) -> None:
    bill = make_bill(yard)
    page = told(f"bills/{bill.pk}/pay/", paid_on="1/5", check_no="7")
    assert "Paid on January 5, 2026, and the bill is of April 24, 2026" in page
    assert page.count(ASKED.format(name="is_day_right")) == 1
    assert not BillPayment.objects.exists()
    assert sent(f"bills/{bill.pk}/pay/", paid_on="1/5", check_no="7", is_day_right="yes").status_code == 302
    assert BillPayment.objects.get().check_no == "7"


def test_moving_a_paid_bill_far_behind_its_payment_is_asked_about(yard: Yard) -> None:
    sent(**typed(bill_on="1/22/2026", paid_on="1/23/2026", check_no="7"))
    bill = Bill.objects.get()
    asked(
        "paid_on", "is_day_right", "Paid on ", path=f"bills/{bill.pk}/correct/", **typed(bill_on="4/22/2026")
    )
