"""A shoebox typed in long after: days of payment, incidents by their number, and what would stay in stock for ever."""

import datetime as dt
import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from farmops.core import clock
from ledger.models import Bill, BillPayment
from ledger.services.posting import post_pending
from scheduling.models import Incident
from tests.farmops.pages.conftest import Yard, signed_in
from tests.farmops.pages.test_bill_pages import DAY, FARM, NOW, page_of, sent, told, typed


@pytest.fixture(autouse=True)
def _friday(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)


def test_the_day_of_payment_of_an_older_bill_is_asked_and_not_taken_for_today(yard: Yard) -> None:
    """A shoebox is typed in long after: Schedule F and form 1099 go by the day of payment."""
    answer = sent(**typed(bill_on="1/15/2026", check_no="1001"))
    assert answer.status_code == 422
    assert "Give the day on which it was paid: taxes go by it." in answer.content.decode()
    assert not Bill.objects.exists()
    assert sent(**typed(bill_on="12/30/2025", is_paid="yes")).status_code == 422
    assert sent(**typed(bill_on="1/15/2026", check_no="1001", paid_on="1/20/26")).status_code == 302
    assert sent(**typed(bill_on="3/24/2026", check_no="1002")).status_code == 302
    rows = BillPayment.objects.order_by("id").values_list("paid_on", "check_no")
    assert list(rows) == [(dt.date(2026, 1, 20), "1001"), (DAY, "1002")]


def test_a_bill_goes_to_an_incident_by_its_number(yard: Yard) -> None:
    incident = Incident.objects.create(
        farm=yard.farm, client_id=uuid.uuid4(), kind="puncture", happened_at=NOW, recorded_at=NOW,
        field=yard.field, season=yard.field_pass.season, hand=yard.hand,
    )  # fmt: skip
    name = f"incident {incident.pk}"
    assert f'<option value="{name}">' in page_of()
    assert sent(**typed(category="tires", place=name)).status_code == 302
    bill = Bill.objects.get()
    assert (bill.incident, bill.shared_by) == (incident, "")
    assert f'<option value="{name}">' not in page_of(), "it has its bill"
    assert sent(**typed(place=f"incident {incident.pk + 1}")).status_code == 422


def test_the_correction_of_a_bill_of_an_incident_stays_with_it_until_somebody_says_otherwise(
    yard: Yard,
) -> None:
    incident = Incident.objects.create(
        farm=yard.farm, client_id=uuid.uuid4(), kind="puncture", happened_at=NOW, recorded_at=NOW,
        field=yard.field, season=yard.field_pass.season, hand=yard.hand,
    )  # fmt: skip
    sent(**typed(category="tires", place=f"incident {incident.pk}"))
    first = Bill.objects.get()
    assert f'name="place" list="places" size="14" autocomplete="off" placeholder="as usual" value="incident {incident.pk}"' in page_of(f"{FARM}bills/{first.pk}/")  # fmt: skip
    boxes = typed(category="tires", amount_usd="400", place=f"incident {incident.pk}")
    assert sent(f"bills/{first.pk}/correct/", **boxes).status_code == 302
    second = Bill.objects.get(supersedes=first)
    assert second.incident == incident
    assert sent(f"bills/{second.pk}/correct/", **{**boxes, "place": "the farm"}).status_code == 302
    assert Bill.objects.get(supersedes=second).incident is None


def test_a_photo_that_came_with_a_refused_form_is_asked_for_again(yard: Yard) -> None:
    """No browser fills a file in again: without a word the bill would be kept without its photo."""
    says = "Choose the photo again: it was not kept, as something else is wrong."
    boxes = typed(client_id=str(uuid.uuid4()), amount_usd="much")
    assert says not in signed_in("bo").post(f"{FARM}bills/enter/", boxes).text
    photo = {"photos": SimpleUploadedFile("bill.jpg", b"x", content_type="image/jpeg")}
    assert says in signed_in("bo").post(f"{FARM}bills/enter/", boxes | photo).text


def test_fuel_without_gallons_is_told_at_once_and_on_the_page_of_stock(yard: Yard) -> None:
    says = "It names no item code and quantity, so it stays in stock and no field bears it."
    assert says in told("bills/enter/", **typed(category="fuel", client_id=str(uuid.uuid4())))
    post_pending(farm=yard.farm, now=NOW)
    assert "$412.38 of fuel was billed without an item code and a quantity" in page_of(f"{FARM}stock/")
    wrong = Bill.objects.get()
    line = {"item_0": "diesel", "quantity_0": "130", "unit_0": "gal"}
    path = f"bills/{wrong.pk}/correct/"
    assert says not in told(path, **typed(category="fuel", client_id=str(uuid.uuid4()), **line))
    post_pending(farm=yard.farm, now=NOW)
    page = page_of(f"{FARM}stock/")
    assert "billed without" not in page
    assert "130 gal" in page
    for place in ("tractor-1", "by acres", "pond-40"):
        assert says not in told(
            "bills/enter/", **typed(category="fuel", place=place, client_id=str(uuid.uuid4()))
        )
