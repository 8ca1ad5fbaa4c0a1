"""Photos of reports: drawn anew by a process of their own, stored whole or not at all, and swept against the rows."""

import datetime as dt
import hashlib
import io
import secrets
import uuid
from collections.abc import Callable
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import transaction
from PIL import Image

from farmops.core.keeping import keep_once
from farmops.core.models import Language
from farmops.core.photos import (
    MOST_BYTES,
    MOST_WAIT_S,
    NotDrawn,
    Swept,
    Trouble,
    drawn_apart,
    store_whole,
    sweep_folder,
)
from farmops.core.problems import DomainError, Kind
from scheduling.models import FieldReport, Incident, ReportPhoto, WorkRecord
from scheduling.selectors.reports import puncture_id
from scheduling.services.report_body import Said

__all__ = [
    "MOST_BYTES",
    "TOO_BIG",
    "PhotoNotStored",
    "PhotoRefused",
    "PhotoTooBig",
    "Swept",
    "drawn_anew",
    "keep_photo",
    "photo_path",
    "sweep_photos",
]

MOST_PHOTOS = 4

TOO_BIG = Said(
    "The photo is larger than 8 MB. Send a smaller one.", "La foto pesa más de 8 MB. Mande una más chica."
)
NO_PHOTO = Said(
    "This is no JPEG, PNG or WebP photo. Take it again, or send another.",
    "Esto no es una foto JPEG, PNG o WebP. Tómela otra vez o mande otra.",
)
TOO_MANY_PIXELS = Said(
    "The photo has more than 20 million pixels. Send a smaller one.",
    "La foto tiene más de 20 millones de puntos. Mande una más chica.",
)
CANNOT_BE_READ = Said(
    "The photo is broken or cut off. Send it again.", "La foto está dañada o llegó cortada. Mándela otra vez."
)
ENOUGH = Said("A report holds four photos at most.", "Un reporte lleva cuatro fotos cuando mucho.")
NOT_STORED = Said(
    "The photo could not be stored just now. Send it again later.",
    "La foto no se pudo guardar ahorita. Mándela otra vez más tarde.",
)


class PhotoRefused(DomainError):
    """A photo that cannot be drawn, or one too many."""

    code = "photo_refused"

    def __init__(self, says: Said, language: str) -> None:
        super().__init__(says.said(language), fields={"photo": says.said(language)})


class PhotoTooBig(PhotoRefused):
    """A photo of too many bytes or pixels."""

    code = "photo_too_big"
    kind = Kind.TOO_LARGE


class PhotoOfAnotherType(PhotoRefused):
    """A file that is no JPEG, PNG or WebP photo."""

    code = "photo_type"
    kind = Kind.WRONG_TYPE


class PhotoNotStored(PhotoRefused):
    """No photo can be stored now, and this one may be later: the folder is full or not there, or the machine is busy."""

    code = "photo_not_stored"
    kind = Kind.UNAVAILABLE


_REFUSED: dict[Trouble, Callable[[str], PhotoRefused]] = {
    Trouble.NOT_A_PHOTO: lambda language: PhotoOfAnotherType(NO_PHOTO, language),
    Trouble.TOO_MANY_PIXELS: lambda language: PhotoTooBig(TOO_MANY_PIXELS, language),
    Trouble.BROKEN: lambda language: PhotoRefused(CANNOT_BE_READ, language),
    Trouble.BUSY: lambda language: PhotoNotStored(NOT_STORED, language),
}


def keep_photo(
    *, report: FieldReport, client_id: uuid.UUID, content: bytes, now: dt.datetime
) -> tuple[ReportPhoto, bool]:
    """Draw a photo anew and keep it with its report; return the row and False if it was kept before.

    Raises PhotoTooBig (over 8 MB or 20 million pixels), PhotoOfAnotherType, PhotoRefused (broken, or a fifth one),
    PhotoNotStored (the disk is full), ClientIdReused; then nothing is kept. The sentences are in the hand's language.
    """
    language = report.hand.language
    if len(content) > MOST_BYTES:
        raise PhotoTooBig(TOO_BIG, language)
    drawn = drawn_anew(content, language=language)
    sha256 = hashlib.sha256(drawn).hexdigest()
    rows = ReportPhoto.objects.filter(farm=report.farm, client_id=client_id)
    written: list[Path] = []

    def make() -> ReportPhoto:
        FieldReport.objects.select_for_update().get(pk=report.pk)  # photos of one report wait for each other
        if ReportPhoto.objects.filter(report=report).count() >= MOST_PHOTOS:
            raise PhotoRefused(ENOUGH, language)
        stored_as = f"{report.farm_id}/{secrets.token_hex(16)}.jpg"
        written.append(_stored(stored_as, drawn, language))
        width_px, height_px = Image.open(io.BytesIO(drawn), formats=["JPEG"]).size
        return ReportPhoto.objects.create(
            farm=report.farm,
            client_id=client_id,
            report=report,
            work_record=WorkRecord.objects.filter(farm=report.farm, client_id=report.client_id).first(),
            incident=_incident_of(report),
            stored_as=stored_as,
            sha256=sha256,
            width_px=width_px,
            height_px=height_px,
            size_bytes=len(drawn),
            recorded_at=now,
        )

    try:
        with transaction.atomic():
            photo, is_new = keep_once(
                rows, client_id, make, lambda kept: kept.report_id == report.pk and kept.sha256 == sha256
            )
    except BaseException:
        _forget(written)
        raise
    if not is_new:
        _forget(written)
    return photo, is_new


def drawn_anew(content: bytes, *, language: str = Language.ENGLISH) -> bytes:
    """Return a photo drawn anew as a JPEG, by a process with limits; raises as `keep_photo` does."""
    try:
        return drawn_apart(content, most_wait_s=MOST_WAIT_S)
    except NotDrawn as error:
        raise _REFUSED[error.trouble](language) from error


def photo_path(stored_as: str) -> Path:
    """Return where the bytes of a photo lie."""
    return Path(settings.PHOTO_DIR) / stored_as


def sweep_photos(*, now: dt.datetime) -> Swept:
    """Remove files of the photo folder that no row names and that are a day old, and tell rows without a file."""
    named = set(ReportPhoto.objects.values_list("stored_as", flat=True))
    return sweep_folder(folder=Path(settings.PHOTO_DIR), named=named, now=now)


def _incident_of(report: FieldReport) -> Incident | None:
    ids: list[Any] = [report.client_id, puncture_id(report.client_id)]
    return Incident.objects.filter(farm=report.farm, client_id__in=ids).first()


def _stored(stored_as: str, content: bytes, language: str) -> Path:
    path = photo_path(stored_as)
    try:
        store_whole(path, content)
    except OSError as error:
        raise PhotoNotStored(NOT_STORED, language) from error
    return path


def _forget(paths: list[Path]) -> None:
    for path in paths:
        path.unlink(missing_ok=True)
