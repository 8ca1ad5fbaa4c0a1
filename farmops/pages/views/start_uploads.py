"""What was handed in as a file of a form."""

from django.core.files.uploadedfile import UploadedFile
from django.http import HttpRequest
from django.utils.translation import gettext as _

from farmops.farms.outlines.found import MOST_BYTES
from farmops.pages.boxes import Boxes


def content_of(request: HttpRequest, boxes: Boxes, name: str, *, is_needed: bool) -> bytes | None:
    """Return the bytes of a file, or None where there is none or too many; what is wrong stands at its box."""
    file = request.FILES.get(name)
    if not isinstance(file, UploadedFile):
        if is_needed:
            boxes.wrong[name] = _("Choose a file.")
        return None
    if (file.size or 0) > MOST_BYTES:
        boxes.wrong[name] = _("The file has {size} MB; at most {most} MB are taken.").format(
            size=f"{(file.size or 0) / 1024 / 1024:.0f}", most=MOST_BYTES // 1024 // 1024
        )
        return None
    return file.read()
