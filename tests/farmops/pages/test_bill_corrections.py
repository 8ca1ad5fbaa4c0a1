"""A bill that was corrected: its photos, the way to what it took the place of, and how it is taken back."""

import datetime as dt
import uuid
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from farmops.core import clock
from farmops.core.models import User
from ledger.models import Bill, BillPhoto, Entry
from ledger.services.periods import close_period
from ledger.services.posting import post_pending
from tests.farmops.pages.conftest import Yard
from tests.farmops.pages.test_bill_pages import BILLS, FARM, NOW, make_bill, page_of, sent, told, typed
from tests.scheduling import pictures


@pytest.fixture(autouse=True)
def _friday(monkeypatch: pytest.MonkeyPatch, settings: Any, tmp_path: Path) -> None:
    settings.BILL_PHOTO_DIR = str(tmp_path / "bill-photos")
    monkeypatch.setattr(clock, "now", lambda: NOW)


def corrected(bill: Bill, **boxes: Any) -> Bill:
    assert sent(f"bills/{bill.pk}/correct/", **typed(**boxes)).status_code == 302
    post_pending(now=NOW + dt.timedelta(minutes=1))
    return Bill.objects.get(supersedes=bill)


def test_a_correction_shows_the_photos_of_what_it_corrects_and_leads_to_it(yard: Yard) -> None:
    photo: Any = SimpleUploadedFile("bill.jpg", pictures.picture(), content_type="image/jpeg")
    sent(**typed(), photos=photo)
    first, kept = Bill.objects.get(), BillPhoto.objects.get()
    third = corrected(corrected(first, amount_usd="410"), amount_usd="411")
    page = page_of(f"{BILLS}{third.pk}/")
    assert f'Kept with what was entered before: <a href="{FARM}bill-photos/{kept.pk}/">' in page
    second = Bill.objects.get(supersedes=first)
    assert f'<a href="{BILLS}{second.pk}/">what was entered before</a>' in page
    assert f'<a href="{BILLS}{first.pk}/">what was entered before</a>' in page_of(f"{BILLS}{second.pk}/")
    assert "entered before" not in page_of(f"{BILLS}{first.pk}/")


def test_a_bill_leads_to_its_entries_where_it_is_taken_back(yard: Yard) -> None:
    sent(**typed(check_no="1043"))
    bill = Bill.objects.get()
    post_pending(now=NOW)
    of_bill, of_payment = (Entry.objects.get(source_kind=kind) for kind in ("bill", "payment"))
    page = page_of(f"{BILLS}{bill.pk}/")
    assert f'The bill: <a href="{FARM}entries/{of_bill.number}/">entry {of_bill.number}</a>' in page
    assert f'The payment: <a href="{FARM}entries/{of_payment.number}/">entry {of_payment.number}</a>' in page
    assert "is taken back by reversing its entry, and that of its payment" in page
    assert sent(f"entries/{of_payment.number}/reverse/", why="never cashed").status_code == 302
    undone = Entry.objects.get(reverses=of_payment)
    assert f"entry {of_payment.number}</a>, reversed by entry {undone.number}" in page_of(
        f"{BILLS}{bill.pk}/"
    )


def test_what_becomes_of_the_payment_is_said_before_and_after_the_amount_is_corrected(yard: Yard) -> None:
    sent(**typed(check_no="2001", paid_on="4/23"))
    bill = Bill.objects.get()
    post_pending(now=NOW)
    says = "The bill stays paid: the payment of April 23, 2026 by check 2001 is then booked with the amount"
    assert says in page_of(f"{BILLS}{bill.pk}/")
    page = told(f"bills/{bill.pk}/correct/", **typed(amount_usd="1243.50", client_id=str(uuid.uuid4())))
    post_pending(now=NOW)
    now = "The payment of April 23, 2026 by check 2001 is now of $1,243.50 instead of $412.38"
    assert now in page
    second = Bill.objects.get(supersedes=bill)
    booked = Entry.objects.get(payment__bill=second).lines.filter(account="bank")
    assert [line.cents for line in booked] == [-124_350]
    third = {"amount_usd": "1243.50", "category": "tires", "client_id": str(uuid.uuid4())}
    assert "is now of" not in told(f"bills/{second.pk}/correct/", **typed(**third))
    sent(**typed(amount_usd="9"))
    assert "stays paid" not in page_of(f"{BILLS}{Bill.objects.latest('pk').pk}/")
    User.objects.filter(username="bo").update(language="es")
    last = Bill.objects.get(supersedes=second)
    assert "el pago del 23 de abril de 2026 con el cheque 2001" in page_of(f"{BILLS}{last.pk}/")


def test_a_bill_of_a_closed_month_says_where_it_is_booked(yard: Yard) -> None:
    make_bill(yard, bill_on=dt.date(2026, 3, 3))
    post_pending(now=NOW)
    close_period(farm=yard.farm, month=dt.date(2026, 3, 1), made_by=None, now=NOW)
    says = "March 2026 is closed: the bill is booked into April 2026."
    new = {"bill_on": "3/4", "client_id": str(uuid.uuid4())}
    assert says in told("bills/enter/", **typed(**new))
    assert "is closed" not in told("bills/enter/", **typed(client_id=str(uuid.uuid4())))


def test_photos_that_are_added_to_a_bill_are_said_to_be_kept(yard: Yard) -> None:
    bill = make_bill(yard)
    photos: Any = [
        SimpleUploadedFile(f"{shade}.jpg", pictures.picture(size=(40, shade)), content_type="image/jpeg")
        for shade in (40, 50)
    ]
    assert "Two photos of the bill were kept." in told(f"bills/{bill.pk}/photos/", photos=photos)
    broken: Any = SimpleUploadedFile("bill.jpg", b"x", content_type="image/jpeg")
    page = told(f"bills/{bill.pk}/photos/", photos=broken)
    assert "kept." not in page
    assert BillPhoto.objects.count() == 2
