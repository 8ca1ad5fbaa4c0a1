"""Photos of reports: drawn anew by a process of their own, stored whole or not at all, and swept against the rows."""

import contextlib
import datetime as dt
import hashlib
import io
import os
import secrets
import subprocess
import sys
import uuid
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import transaction
from PIL import Image

from farmops.core import photo_drawing
from farmops.core.keeping import keep_once
from farmops.core.models import Language
from farmops.core.problems import DomainError, Kind
from scheduling.models import FieldReport, Incident, ReportPhoto, WorkRecord
from scheduling.selectors.reports import puncture_id
from scheduling.services.report_body import Said

MOST_BYTES = 8 * 1024 * 1024
MOST_PHOTOS = 4
MOST_WAIT_S = 30
STALE = dt.timedelta(hours=24)
TEMPORARY = ".part"

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


@dataclass(frozen=True)
class Swept:
    """What a sweep of the photo folder found: files that no row names, which it removed, and rows without a file."""

    removed: list[str]
    missing: list[str]


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
    program = [sys.executable, "-I", str(Path(photo_drawing.__file__))]
    try:
        done = subprocess.run(
            program, input=content, capture_output=True, timeout=MOST_WAIT_S, env={}, check=False
        )
    except (
        subprocess.TimeoutExpired
    ) as error:  # its own limit ends a photo that is too much; this machine is busy
        raise PhotoNotStored(NOT_STORED, language) from error
    if done.returncode == photo_drawing.NOT_A_PHOTO:
        raise PhotoOfAnotherType(NO_PHOTO, language)
    if done.returncode == photo_drawing.TOO_MANY_PIXELS:
        raise PhotoTooBig(TOO_MANY_PIXELS, language)
    if done.returncode != photo_drawing.DRAWN or not done.stdout:
        raise PhotoRefused(CANNOT_BE_READ, language)
    return done.stdout


def photo_path(stored_as: str) -> Path:
    """Return where the bytes of a photo lie."""
    return Path(settings.PHOTO_DIR) / stored_as


def sweep_photos(*, now: dt.datetime) -> Swept:
    """Remove files of the photo folder that no row names and that are a day old, and tell rows without a file."""
    folder = Path(settings.PHOTO_DIR)
    named = set(ReportPhoto.objects.values_list("stored_as", flat=True))
    found = {path.relative_to(folder).as_posix(): path for path in folder.glob("*/*") if path.is_file()}
    removed = []
    for name, path in sorted(found.items()):
        written_at = dt.datetime.fromtimestamp(path.stat().st_mtime, dt.UTC)
        if name not in named and written_at < now - STALE:
            path.unlink(missing_ok=True)
            removed.append(name)
    return Swept(removed, sorted(named - found.keys()))


def _incident_of(report: FieldReport) -> Incident | None:
    ids: list[Any] = [report.client_id, puncture_id(report.client_id)]
    return Incident.objects.filter(farm=report.farm, client_id__in=ids).first()


def _stored(stored_as: str, content: bytes, language: str) -> Path:
    """Write the bytes beside their place, to the disk, and move them there whole."""
    path = photo_path(stored_as)
    part = path.with_suffix(TEMPORARY)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with part.open("xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
    except OSError as error:
        with contextlib.suppress(OSError):
            part.unlink()
        with contextlib.suppress(OSError):
            path.unlink()
        raise PhotoNotStored(NOT_STORED, language) from error
    return path


def _forget(paths: list[Path]) -> None:
    for path in paths:
        path.unlink(missing_ok=True)
