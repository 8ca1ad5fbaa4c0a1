"""Photos are drawn anew without anything that a file can carry beside the picture, or refused; none is half stored."""

import datetime as dt
import errno
import hashlib
import io
import os
import re
import subprocess
import sys
import uuid
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from farmops.core import photo_drawing
from farmops.core.keeping import ClientIdReused
from scheduling import background
from scheduling.models import FieldReport, Incident, ReportPhoto, WorkRecord
from scheduling.selectors.reports import photos_of_incident
from scheduling.services import photos
from scheduling.services.parked import take_over
from scheduling.services.photos import keep_photo, photo_path, sweep_photos
from tests.ledger.makers import make_place
from tests.scheduling import pictures
from tests.scheduling.sending import NOW, send, work_body

RED = (254, 0, 0)


@pytest.fixture(autouse=True)
def folder(settings: Any, tmp_path: Path) -> Path:
    settings.PHOTO_DIR = str(tmp_path / "photos")
    return tmp_path / "photos"


@pytest.fixture
def report(db: None) -> FieldReport:
    place = make_place(rated=False)
    return send(place, "work", work_body(place)).report


def drawn(content: bytes) -> Image.Image:
    return Image.open(io.BytesIO(photos.drawn_anew(content)))


def is_red(colour: Any) -> bool:
    return all(abs(one - other) < 12 for one, other in zip(colour, RED, strict=True))


def stored_files(folder: Path) -> list[Path]:
    return [path for path in folder.rglob("*") if path.is_file()]


def test_a_photo_is_kept_with_its_report(report: FieldReport, folder: Path) -> None:
    photo, is_new = keep_photo(report=report, client_id=uuid.uuid4(), content=pictures.picture(), now=NOW)
    assert (is_new, photo.work_record) == (True, WorkRecord.objects.get())
    stored = photo_path(photo.stored_as).read_bytes()
    assert (photo.width_px, photo.height_px, photo.size_bytes) == (60, 40, len(stored))
    assert photo.sha256 == hashlib.sha256(stored).hexdigest()
    assert re.fullmatch(rf"{report.farm_id}/[0-9a-f]{{32}}\.jpg", photo.stored_as)
    assert stored_files(folder) == [photo_path(photo.stored_as)]


def test_a_photo_sent_again_is_the_same_photo(report: FieldReport, folder: Path) -> None:
    client_id = uuid.uuid4()
    first, _ = keep_photo(report=report, client_id=client_id, content=pictures.picture(), now=NOW)
    again, is_new = keep_photo(report=report, client_id=client_id, content=pictures.picture(), now=NOW)
    assert (again, is_new, len(stored_files(folder))) == (first, False, 1)
    with pytest.raises(ClientIdReused):
        keep_photo(report=report, client_id=client_id, content=pictures.picture(size=(20, 20)), now=NOW)
    assert len(stored_files(folder)) == 1


def test_place_maker_and_comment_do_not_come_along() -> None:
    """The markers that a JPEG may carry: APP1 (Exif, XMP) and COM (ITU-T T.81, table B.1)."""
    before = pictures.with_place()
    assert b"Exif" in before
    assert pictures.PLACE_SAID in before
    after = photos.drawn_anew(before)
    for sign in (
        b"Exif",
        b"GPS",
        b"http://ns.adobe.com",
        b"Maker of telephones",
        pictures.PLACE_SAID,
        b"\xff\xe1",
    ):
        assert sign not in after
    assert b"\xff\xfe" not in after[: after.index(b"\xff\xda")]


def test_a_photo_held_upright_is_stored_upright() -> None:
    """Orientation 6: the first row is the right side of the picture (Exif 2.32, 4.6.4 A), so red on the left goes to the top."""
    image = drawn(pictures.with_place())
    assert image.size == (40, 60)
    assert is_red(image.getpixel((20, 10)))
    assert not is_red(image.getpixel((20, 50)))


@pytest.mark.parametrize(
    "content",
    [
        pictures.picture("PNG"),
        pictures.picture("WEBP", lossless=True),
        pictures.picture("JPEG", mode="CMYK"),
        pictures.picture("PNG", mode="P"),
        pictures.picture("PNG", mode="RGBA"),
        pictures.animated(),
        pictures.page_in_a_picture(),
    ],
    ids=["png", "webp", "cmyk", "palette", "alpha", "animated", "page"],
)
def test_every_kind_of_picture_becomes_one_plain_jpeg(content: bytes) -> None:
    image = drawn(content)
    assert (image.format, image.mode, image.size, getattr(image, "n_frames", 1)) == (
        "JPEG",
        "RGB",
        (60, 40),
        1,
    )
    assert is_red(image.getpixel((10, 20)))
    assert b"<script>" not in photos.drawn_anew(content)


def test_what_is_clear_becomes_white() -> None:
    clear = Image.new("RGBA", (30, 30), (0, 0, 0, 0))
    written = io.BytesIO()
    clear.save(written, "PNG")
    assert drawn(written.getvalue()).getpixel((15, 15)) == (255, 255, 255)


def test_a_large_photo_is_drawn_smaller() -> None:
    image = drawn(pictures.picture(size=(4000, 3000)))
    assert image.size == (2000, 1500)


@pytest.mark.parametrize(
    ("content", "refusal"),
    [
        (b"", photos.PhotoOfAnotherType),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", photos.PhotoOfAnotherType),
        (b"%PDF-1.7", photos.PhotoOfAnotherType),
        (pictures.named_like_a_picture(), photos.PhotoOfAnotherType),
        (pictures.picture("GIF"), photos.PhotoOfAnotherType),
        (pictures.picture("TIFF"), photos.PhotoOfAnotherType),
        (pictures.picture(size=(400, 300))[:-900], photos.PhotoRefused),
        (pictures.bomb(), photos.PhotoTooBig),
        (pictures.bomb(4480), photos.PhotoTooBig),
        (b"\xff" * (photos.MOST_BYTES + 1), photos.PhotoTooBig),
    ],
    ids=[
        "empty",
        "svg",
        "pdf",
        "heic",
        "gif",
        "tiff",
        "cut",
        "400 Mpx",
        "20.07 Mpx",
        "9 MB",
    ],
)
def test_what_is_no_photo_is_refused_and_nothing_is_kept(
    report: FieldReport, folder: Path, content: bytes, refusal: type[Exception]
) -> None:
    with pytest.raises(refusal):
        keep_photo(report=report, client_id=uuid.uuid4(), content=content, now=NOW)
    assert ReportPhoto.objects.count() == 0
    assert stored_files(folder) == []


def test_just_under_twenty_million_pixels_are_drawn() -> None:
    assert 4472**2 < photo_drawing.MOST_PIXELS < 4480**2
    assert drawn(pictures.bomb(4472)).size == (2000, 2000)


def test_a_fifth_photo_is_refused(report: FieldReport, folder: Path) -> None:
    for side in range(4):
        content = pictures.picture(size=(20 + side, 20))
        keep_photo(report=report, client_id=uuid.uuid4(), content=content, now=NOW)
    with pytest.raises(photos.PhotoRefused, match="four photos"):
        keep_photo(report=report, client_id=uuid.uuid4(), content=pictures.picture(), now=NOW)
    assert len(stored_files(folder)) == 4


@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_a_full_disk_keeps_nothing_and_says_so(
    report: FieldReport, folder: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    def full(*args: Any) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(*((os, "fsync", full) if step == "fsync" else (Path, "replace", full)))
    with pytest.raises(photos.PhotoNotStored):
        keep_photo(report=report, client_id=uuid.uuid4(), content=pictures.picture(), now=NOW)
    assert ReportPhoto.objects.count() == 0
    assert stored_files(folder) == []


def test_a_folder_that_is_not_there_and_cannot_be_made_is_said(report: FieldReport, folder: Path) -> None:
    folder.write_text("a file where the folder should be")
    with pytest.raises(photos.PhotoNotStored):
        keep_photo(report=report, client_id=uuid.uuid4(), content=pictures.picture(), now=NOW)


def test_a_photo_that_waits_too_long_is_to_be_sent_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """The child's own limit of CPU time ends a photo that is too much; waiting this long means a busy machine."""
    monkeypatch.setattr(photos, "MOST_WAIT_S", 0.001)
    with pytest.raises(photos.PhotoNotStored):
        photos.drawn_anew(pictures.picture())


def test_the_drawing_has_a_limit_of_memory() -> None:
    """What would need more than the limit ends with a code, not with a machine that has no memory left."""
    limited = (
        "import resource, sys; from farmops.core import photo_drawing as d; d.MOST_MEMORY = 60 * 1024 * 1024; "
        "sys.exit(d.main())"
    )

    done = subprocess.run(
        [sys.executable, "-c", limited],
        input=pictures.picture(size=(4000, 4000)),
        capture_output=True,
        check=False,
    )
    assert done.returncode == photo_drawing.TOO_MANY_PIXELS


def test_a_sweep_removes_old_files_that_no_row_names_and_tells_rows_without_a_file(
    report: FieldReport, folder: Path
) -> None:
    kept, _ = keep_photo(report=report, client_id=uuid.uuid4(), content=pictures.picture(), now=NOW)
    lost, _ = keep_photo(
        report=report, client_id=uuid.uuid4(), content=pictures.picture(size=(30, 30)), now=NOW
    )
    photo_path(lost.stored_as).unlink()
    orphan, fresh = folder / "7" / "old.jpg.part", folder / "7" / "new.jpg"
    orphan.parent.mkdir()
    for path, age in ((orphan, 25), (fresh, 1)):
        path.write_bytes(b"x")
        written = (NOW - dt.timedelta(hours=age)).timestamp()
        os.utime(path, (written, written))
    swept = sweep_photos(now=NOW)
    assert swept == photos.Swept(["7/old.jpg.part"], [lost.stored_as])
    assert sorted(stored_files(folder)) == sorted([photo_path(kept.stored_as), fresh])


def test_the_daily_sweep_says_what_it_found(report: FieldReport, folder: Path) -> None:
    kept, _ = keep_photo(report=report, client_id=uuid.uuid4(), content=pictures.picture(), now=NOW)
    assert background.sweep_photos.run() == "0 removed"
    photo_path(kept.stored_as).unlink()
    assert background.sweep_photos.run() == f"0 removed; without a file: {kept.stored_as}"


@pytest.mark.parametrize("hours", ["5", "25"])
def test_photos_find_their_incident_also_where_its_report_waited(db: None, hours: str) -> None:
    place = make_place(rated=False)
    received = send(place, "work", work_body(place, hours=hours, puncture={"met": "wire"}))
    photo, _ = keep_photo(report=received.report, client_id=uuid.uuid4(), content=pictures.picture(), now=NOW)
    other = send(place, "work", work_body(place, hours="1", done_ac="1", puncture={"met": "bone"}))
    keep_photo(report=other.report, client_id=uuid.uuid4(), content=pictures.picture(), now=NOW)
    if received.parked is not None:
        take_over(parked=received.parked, changes={"hours": "4"}, settled_by=None, now=NOW)
    assert photos_of_incident(incident=Incident.objects.get(met="wire")) == [photo]
