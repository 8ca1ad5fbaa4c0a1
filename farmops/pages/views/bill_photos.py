"""Photos of bills: sent with a bill or later, and shown to the office as pictures and as nothing else."""

import hashlib
import uuid

from csp.decorators import csp_replace
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.photos import MOST_BYTES
from farmops.core.problems import DomainError
from farmops.farms.models import Farm, Membership, Role
from farmops.pages.access import for_roles
from ledger.models import Bill, BillPhoto
from ledger.services.bill_photos import bill_photo_path, is_as_kept, keep_bill_photo

A_DAY_S = 24 * 3600


@require_POST
@for_roles(Role.BOOKKEEPER, Role.MANAGER)
def add(request: HttpRequest, farm: Farm, membership: Membership, bill_id: int) -> HttpResponse:
    """Keep photos of a bill that was entered before."""
    bill = get_object_or_404(Bill, farm=farm, pk=bill_id)
    if keep_photos(request, bill) == 0:
        messages.error(request, _("Choose a photo of the bill."))
    return redirect("pages:bill", farm_code=farm.code, bill_id=bill.pk)


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


def keep_photos(request: HttpRequest, bill: Bill) -> int:
    """Keep the photos that came with a form and say of each that was not kept why; return how many came.

    The same photo of the same bill sent again is the same one. The bill stands whatever becomes of its photos.
    """
    files = request.FILES.getlist("photos")
    for file in files:
        content = file.read(MOST_BYTES + 1)  # one over the limit is enough to be refused
        client_id = uuid.uuid5(bill.client_id, hashlib.sha256(content).hexdigest())
        try:
            keep_bill_photo(bill=bill, client_id=client_id, content=content, now=clock.now())
        except DomainError as error:
            says = _("The bill is kept, its photo is not: {why}")
            messages.error(request, says.format(why=error.says))
    return len(files)
