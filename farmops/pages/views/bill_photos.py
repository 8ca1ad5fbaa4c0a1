"""Photos of bills: kept as they came with a form, and shown to the office as pictures and as nothing else."""

import hashlib
import uuid
from collections.abc import Iterable

from csp.decorators import csp_replace
from django.core.files.uploadedfile import UploadedFile
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.cache import cache_control

from farmops.core import clock
from farmops.core.photos import MOST_BYTES
from farmops.core.problems import DomainError
from farmops.farms.models import Farm, Membership, Role
from farmops.pages.access import for_roles
from ledger.models import Bill, BillPhoto
from ledger.services.bill_photos import bill_photo_path, is_as_kept, keep_bill_photo

A_DAY_S = 24 * 3600


@csp_replace({"default-src": ["'none'"], "sandbox": []})
@cache_control(private=True, max_age=A_DAY_S)
@for_roles(Role.BOOKKEEPER, Role.MANAGER)
def photo(request: HttpRequest, farm: Farm, membership: Membership, photo_id: int) -> HttpResponse:
    """Show a photo of a bill of the farm."""
    row = get_object_or_404(BillPhoto, farm=farm, pk=photo_id)
    path = bill_photo_path(row.stored_as)
    content = path.read_bytes() if path.is_file() else b""
    if not is_as_kept(photo=row, content=content):
        raise Http404  # what lies there is no photo of this bill
    answer = HttpResponse(content, content_type="image/jpeg")
    answer["X-Content-Type-Options"] = "nosniff"
    answer["Content-Disposition"] = f'inline; filename="bill-{row.pk}.jpg"'  # not said
    return answer


def keep_photos(bill: Bill, files: Iterable[UploadedFile]) -> list[tuple[str, str]]:
    """Keep the photos that came with a form; return the name of each that was not kept, and why.

    The same photo of the same bill sent again is the same one. The bill stands whatever becomes of its photos.
    """
    not_kept = []
    for file in files:
        content = file.read(MOST_BYTES + 1)  # one over the limit is enough to be refused
        client_id = uuid.uuid5(bill.client_id, hashlib.sha256(content).hexdigest())
        try:
            keep_bill_photo(bill=bill, client_id=client_id, content=content, now=clock.now())
        except DomainError as error:
            not_kept.append((str(file.name or ""), error.says))
    return not_kept
