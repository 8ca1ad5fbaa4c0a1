"""A bill that was corrected: its photos, the way to what it took the place of, and how it is taken back."""

import datetime as dt
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from farmops.core import clock
from ledger.models import Bill, BillPhoto, Entry
from ledger.services.posting import post_pending
from tests.farmops.pages.conftest import Yard
from tests.farmops.pages.test_bill_pages import BILLS, FARM, NOW, page_of, sent, typed
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
    assert "is taken back by reversing its entry" in page
    assert sent(f"entries/{of_payment.number}/reverse/", why="never cashed").status_code == 302
    undone = Entry.objects.get(reverses=of_payment)
    assert f"entry {of_payment.number}</a>, reversed by entry {undone.number}" in page_of(
        f"{BILLS}{bill.pk}/"
    )
