"""Photos of bills: drawn anew, kept with their bill, in a folder of their own."""

import datetime as dt
import hashlib
import secrets
import uuid
from pathlib import Path

from django.conf import settings
from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from farmops.core.keeping import keep_once
from farmops.core.photos import MOST_BYTES, NotDrawn, Swept, Trouble, drawn_apart, store_whole, sweep_folder
from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm
from ledger.models import Bill, BillPhoto

MOST_PHOTOS = 8
SAYS = {
    Trouble.NOT_A_PHOTO: gettext_noop(
        "This is no JPEG, PNG or WebP photo. Take one of the bill, or send another file."
    ),
    Trouble.TOO_MANY_PIXELS: gettext_noop("The photo has more than 20 million pixels. Send a smaller one."),
    Trouble.BROKEN: gettext_noop("The photo is broken or cut off. Send it again."),
    Trouble.BUSY: gettext_noop("The photo could not be stored just now. Send it again later."),
}


class BillPhotoRefused(DomainError):
    """A photo of a bill that cannot be drawn, or one too many."""

    code = "bill_photo_refused"

    def __init__(self, says: str) -> None:
        super().__init__(says, fields={"photo": says})


class BillPhotoNotStored(BillPhotoRefused):
    """No photo can be stored now, and this one may be later."""

    code = "bill_photo_not_stored"
    kind = Kind.UNAVAILABLE


def keep_bill_photo(
    *, bill: Bill, client_id: uuid.UUID, content: bytes, now: dt.datetime
) -> tuple[BillPhoto, bool]:
    """Draw a photo anew and keep it with its bill; return the row and False where it was kept before.

    Raises BillPhotoRefused (over 8 MB or 20 million pixels, no photo, broken, or a ninth one), BillPhotoNotStored (the
    disk is full), ClientIdReused; then nothing is kept.
    """
    if len(content) > MOST_BYTES:
        raise BillPhotoRefused(_("The photo is larger than 8 MB. Send a smaller one."))
    try:
        drawn = drawn_apart(content)
    except NotDrawn as error:
        is_later = error.trouble is Trouble.BUSY
        raise (BillPhotoNotStored if is_later else BillPhotoRefused)(_(SAYS[error.trouble])) from error
    sha256 = hashlib.sha256(drawn).hexdigest()
    rows = BillPhoto.objects.filter(farm=bill.farm_id, client_id=client_id)
    written: list[Path] = []

    def make() -> BillPhoto:
        Bill.objects.select_for_update().get(pk=bill.pk)  # photos of one bill wait for each other
        if BillPhoto.objects.filter(bill=bill).count() >= MOST_PHOTOS:
            raise BillPhotoRefused(_("A bill holds {most} photos at most.").format(most=MOST_PHOTOS))
        stored_as = f"{bill.farm_id}/{secrets.token_hex(16)}.jpg"
        written.append(_stored(stored_as, drawn))
        return BillPhoto.objects.create(
            farm_id=bill.farm_id,
            client_id=client_id,
            bill=bill,
            stored_as=stored_as,
            sha256=sha256,
            size_bytes=len(drawn),
            recorded_at=now,
        )

    try:
        with transaction.atomic():
            photo, is_new = keep_once(
                rows, client_id, make, lambda kept: kept.bill_id == bill.pk and kept.sha256 == sha256
            )
    except BaseException:
        _forget(written)
        raise
    if not is_new:
        _forget(written)
    return photo, is_new


def bill_photo_path(stored_as: str) -> Path:
    """Return where the bytes of a bill's photo lie."""
    return Path(settings.BILL_PHOTO_DIR) / stored_as


def is_as_kept(*, photo: BillPhoto, content: bytes) -> bool:
    """Return whether bytes are those that were kept as a photo."""
    return hashlib.sha256(content).hexdigest() == photo.sha256


def photos_looked_at(*, farm: Farm) -> tuple[list[BillPhoto], list[BillPhoto]]:
    """Return the photos of a farm's bills whose file is another than was kept, and those whose file is not there."""
    other, gone = [], []
    for photo in BillPhoto.objects.filter(farm=farm).select_related("bill__payee").order_by("pk"):
        try:
            content = bill_photo_path(photo.stored_as).read_bytes()
        except OSError:
            gone.append(photo)
            continue
        if not is_as_kept(photo=photo, content=content):
            other.append(photo)
    return other, gone


def sweep_bill_photos(*, now: dt.datetime) -> Swept:
    """Remove files of the folder of bills that no row names and that are a day old, and tell rows without a file."""
    named = set(BillPhoto.objects.values_list("stored_as", flat=True))
    return sweep_folder(folder=Path(settings.BILL_PHOTO_DIR), named=named, now=now)


def _stored(stored_as: str, content: bytes) -> Path:
    path = bill_photo_path(stored_as)
    try:
        store_whole(path, content)
    except OSError as error:
        raise BillPhotoNotStored(_(SAYS[Trouble.BUSY])) from error
    return path


def _forget(paths: list[Path]) -> None:
    for path in paths:
        path.unlink(missing_ok=True)
