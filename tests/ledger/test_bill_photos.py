"""Photos of bills: drawn anew, kept once in a folder of their own, and shown to the office alone."""

import datetime as dt
import errno
import hashlib
import io
import os
import uuid
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from farmops.core import photos as core_photos
from farmops.core.keeping import ClientIdReused
from farmops.core.photos import MOST_BYTES
from farmops.farms.models import Farm
from ledger import background
from ledger.models import Bill, BillPhoto
from ledger.services.bill_photos import (
    MOST_PHOTOS,
    BillPhotoNotStored,
    BillPhotoRefused,
    bill_photo_path,
    keep_bill_photo,
    sweep_bill_photos,
)
from ledger.services.bills import enter_bill
from ledger.services.verify import verify_ledger
from tests.farmops.pages.conftest import Yard, make_yard, signed_in
from tests.farmops.pages.test_markup import Document
from tests.ledger.makers import DAY, NOON
from tests.scheduling import pictures

BILLS = "/farms/heron-slough/bills/"


@pytest.fixture(autouse=True)
def folder(settings: Any, tmp_path: Path) -> Path:
    settings.BILL_PHOTO_DIR = str(tmp_path / "bill-photos")
    return tmp_path / "bill-photos"


@pytest.fixture
def yard(db: None) -> Yard:
    return make_yard()


@pytest.fixture
def bill(yard: Yard) -> Bill:
    return make_bill(yard.farm)


def make_bill(farm: Farm) -> Bill:
    facts: dict[str, Any] = {
        "payee": "Cane Road Tire",
        "bill_on": DAY,
        "amount_usd": "10",
        "category": "tires",
    }
    return enter_bill(farm=farm, client_id=uuid.uuid4(), now=NOON, **facts)[0]


def keep(bill: Bill, content: bytes | None = None, **facts: Any) -> tuple[BillPhoto, bool]:
    defaults: dict[str, Any] = {
        "client_id": uuid.uuid4(),
        "content": content or pictures.picture(),
        "now": NOON,
    }
    return keep_bill_photo(bill=bill, **{**defaults, **facts})


def stored_files(folder: Path) -> list[Path]:
    return [path for path in folder.rglob("*") if path.is_file()]


def test_a_photo_is_drawn_anew_and_kept_once(bill: Bill, folder: Path) -> None:
    """Outside: SHA-256 of the stored bytes by hashlib (FIPS 180-4)."""
    same: dict[str, Any] = {"client_id": uuid.uuid4()}
    photo, is_new = keep(bill, **same)
    assert (is_new, keep(bill, **same)) == (True, (photo, False))
    stored = bill_photo_path(photo.stored_as).read_bytes()
    assert (photo.size_bytes, photo.sha256) == (len(stored), hashlib.sha256(stored).hexdigest())
    assert stored != pictures.picture()
    assert Image.open(io.BytesIO(stored)).format == "JPEG"
    assert len(stored_files(folder)) == 1
    with pytest.raises(ClientIdReused):
        keep(bill, pictures.picture(size=(30, 30)), **same)
    assert len(stored_files(folder)) == 1


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"%PDF-1.7 not a photo", "This is no JPEG, PNG or WebP photo"),
        (b"x" * (MOST_BYTES + 1), "larger than 8 MB"),
        (pictures.picture()[:400], "broken or cut off|no JPEG"),
    ],
    ids=["pdf", "big", "cut"],
)
def test_what_is_no_photo_is_refused_and_nothing_is_kept(
    bill: Bill, folder: Path, content: bytes, says: str
) -> None:
    with pytest.raises(BillPhotoRefused, match=says):
        keep(bill, content)
    assert BillPhoto.objects.count() == 0
    assert not folder.exists()


def test_a_bill_holds_so_many_photos(bill: Bill, folder: Path) -> None:
    for number in range(MOST_PHOTOS):
        BillPhoto.objects.create(
            farm=bill.farm,
            client_id=uuid.uuid4(),
            bill=bill,
            stored_as=f"x/{number}.jpg",
            sha256="0" * 64,
            size_bytes=1,
            recorded_at=NOON,
        )
    with pytest.raises(BillPhotoRefused, match="8 photos at most"):
        keep(bill)
    assert stored_files(folder) == []


def test_a_full_disk_leaves_nothing_behind(bill: Bill, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*args: Any) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(core_photos.os, "fsync", full)
    with pytest.raises(BillPhotoNotStored, match="Send it again later"):
        keep(bill)
    assert (BillPhoto.objects.count(), stored_files(folder)) == (0, [])


def test_a_sweep_removes_old_files_without_a_row(bill: Bill, folder: Path) -> None:
    kept, _new = keep(bill)
    orphan = folder / "7" / "old.jpg"
    orphan.parent.mkdir(parents=True)
    orphan.write_bytes(b"x")
    written = (NOON - dt.timedelta(hours=25)).timestamp()
    os.utime(orphan, (written, written))
    assert sweep_bill_photos(now=NOON).removed == ["7/old.jpg"]
    bill_photo_path(kept.stored_as).unlink()
    assert background.sweep_bill_photos.run() == f"0 removed; without a file: {kept.stored_as}"


def test_a_photo_that_was_exchanged_is_a_fault_of_the_books_and_is_not_shown(yard: Yard, bill: Bill) -> None:
    """Outside: SHA-256 of other bytes is another one (FIPS 180-4)."""
    photo, _new = keep(bill)
    path, address = bill_photo_path(photo.stored_as), f"/farms/heron-slough/bill-photos/{photo.pk}/"
    office = signed_in("bo")
    assert (office.get(address).status_code, verify_ledger(farm=yard.farm).faults) == (200, [])
    path.write_bytes(pictures.picture(size=(30, 30)))
    assert office.get(address).status_code == 404
    assert [str(fault) for fault in verify_ledger(farm=yard.farm).faults] == [
        "heron-slough, bill Cane Road Tire 2026-04-20: a photo of it is another than was kept"
    ]
    path.unlink()
    report = verify_ledger(farm=yard.farm)
    assert (office.get(address).status_code, report.faults) == (404, [])
    assert [note.says for note in report.notes] == ["the file of a photo of it is not there"]


def test_a_photo_comes_with_the_bill_and_is_shown_to_the_office(yard: Yard) -> None:
    boxes = {
        "client_id": str(uuid.uuid4()),
        "payee": "Cane Road Tire",
        "bill_on": "4/20/2026",
        "amount_usd": "10",
        "category": "tires",
        "photos": SimpleUploadedFile("bill.jpg", pictures.picture(), "image/jpeg"),
    }
    assert signed_in("bo").post(f"{BILLS}enter/", boxes).status_code == 302
    photo = BillPhoto.objects.get()
    at = f"/farms/heron-slough/bill-photos/{photo.pk}/"
    assert f'href="{at}"' in signed_in("bo").get(f"{BILLS}{photo.bill_id}/").content.decode()
    answer = signed_in("mona").get(at)
    assert (answer.status_code, answer.headers["Content-Type"]) == (200, "image/jpeg")
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert "sandbox" in answer.headers["Content-Security-Policy"]
    assert signed_in("rosa").get(at).status_code == 403
    bill_photo_path(photo.stored_as).unlink()
    assert signed_in("bo").get(at).status_code == 404


def told_at_photos(answer: Any) -> str:
    page = answer.content.decode()
    assert Document(page).wrong == []
    box = page.partition('<input type="file" name="photos"')[2].partition(">")[0]
    assert 'aria-invalid="true" aria-describedby="wrong-more-photos" autofocus' in box
    return unescape(
        page.partition('id="wrong-more-photos" class="wrong" role="alert">')[2].partition("</span>")[0]
    )


def test_a_photo_that_is_none_does_not_keep_the_bill_back(yard: Yard) -> None:
    file = SimpleUploadedFile("bill.pdf", b"%PDF", "application/pdf")
    boxes = {
        "client_id": str(uuid.uuid4()),
        "payee": "Cane Road Tire",
        "bill_on": f"{DAY:%m/%d/%Y}",
        "amount_usd": "10",
        "category": "tires",
        "photos": file,
    }
    told = signed_in("bo").post(f"{BILLS}enter/", boxes, follow=True).content.decode()
    assert "The bill is kept, its photo is not: This is no JPEG" in told
    assert Bill.objects.count() == 1


def test_photos_that_are_not_kept_are_named_at_their_box(yard: Yard) -> None:
    """No browser fills the box in again, so it says which were not kept, and that they are to be chosen anew."""
    bill = make_bill(yard.farm)
    nothing = signed_in("bo").post(f"{BILLS}{bill.pk}/photos/", {})
    assert (nothing.status_code, told_at_photos(nothing)) == (422, "Choose a photo of the bill.")
    bad = SimpleUploadedFile("<bill>.pdf", b"%PDF", "application/pdf")
    good = SimpleUploadedFile("bill.jpg", pictures.picture(), "image/jpeg")
    answer = signed_in("bo").post(f"{BILLS}{bill.pk}/photos/", {"photos": [bad, good]})
    assert answer.status_code == 422
    assert signed_in("rosa").post(f"{BILLS}{bill.pk}/photos/", {}).status_code == 403
    assert told_at_photos(answer) == (
        "<bill>.pdf: This is no JPEG, PNG or WebP photo. Take one of the bill, or send another file. "
        "No browser fills this box in again: choose the photo anew."
    )
    kept = bill.photos.get()
    assert f'href="/farms/heron-slough/bill-photos/{kept.pk}/"' in answer.content.decode(), "the other one is"
    another = SimpleUploadedFile("two.png", pictures.picture("PNG"), "image/png")
    assert signed_in("bo").post(f"{BILLS}{bill.pk}/photos/", {"photos": another}).status_code == 302
    facts: dict[str, Any] = {
        "payee": "Cane Road Tire",
        "bill_on": DAY,
        "amount_usd": "12",
        "category": "tires",
    }
    enter_bill(farm=yard.farm, client_id=uuid.uuid4(), now=NOON, supersedes=bill, **facts)
    late = signed_in("bo").post(f"{BILLS}{bill.pk}/photos/", {})
    assert "Choose a photo of the bill." in late.content.decode(), "though a corrected bill asks for none"
