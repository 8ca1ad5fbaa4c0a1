"""Addresses that mail comes back from."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.digests.models import SuppressedAddress
from farmops.digests.services.suppressing import lift
from farmops.farms.models import Farm, Membership, Role
from farmops.pages.access import for_roles
from farmops.pages.addresses_page import addresses_facts


@never_cache
@for_roles(Role.MANAGER)
def addresses(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show to which addresses nothing is sent, and who stopped a mail."""
    context = {"farm": farm, "place": "mail", **addresses_facts(farm=farm)}
    return render(request, "pages/mail_addresses.html", context)


@require_POST
@for_roles(Role.MANAGER)
def lift_one(request: HttpRequest, farm: Farm, membership: Membership, row_id: int) -> HttpResponse:
    """Send to an address again."""
    row = get_object_or_404(SuppressedAddress.objects.select_related("farm"), farm=farm, pk=row_id)
    if lift(suppressed=row, by=request.user, now=clock.now()):  # type: ignore[arg-type]
        messages.success(request, _("Mail goes to {address} again.").format(address=row.address))
    return redirect("pages:mail_addresses", farm_code=farm.code)
