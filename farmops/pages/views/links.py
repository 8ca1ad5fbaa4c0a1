"""The manager's page of sign-in links: make one for a hand, take back one, a hand's, or all."""

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.farms.models import Farm, Hand, Membership, Role, SignInLink
from farmops.farms.services.links import LINK_DAYS, make_link, revoke_link, revoke_links
from farmops.pages.access import for_roles
from farmops.pages.links_page import links_facts


@never_cache
@for_roles(Role.MANAGER)
def links(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show who can sign in by a link."""
    return _shown(request, farm)


@never_cache
@require_POST
@for_roles(Role.MANAGER)
def make(request: HttpRequest, farm: Farm, membership: Membership, hand_id: int) -> HttpResponse:
    """Make a link for a hand and show it this once: it is kept nowhere, so no other page can."""
    hand = get_object_or_404(Hand, farm=farm, pk=hand_id)
    try:
        secret = make_link(farm=farm, hand=hand, now=clock.now())
    except DomainError as error:
        messages.error(request, error.says)
        return _shown(request, farm, status=422)
    path = reverse("pages:enter", args=[secret])
    address = settings.SITE_ADDRESS + path if settings.SITE_ADDRESS else request.build_absolute_uri(path)
    return _shown(request, farm, made_for=hand, address=address)


@require_POST
@for_roles(Role.MANAGER)
def revoke(request: HttpRequest, farm: Farm, membership: Membership, link_id: int) -> HttpResponse:
    """Take one link back; pressed twice it is the same."""
    link = get_object_or_404(SignInLink.objects.select_related("hand"), farm=farm, pk=link_id)
    is_new = revoke_link(link=link, by=request.user, now=clock.now())  # type: ignore[arg-type]
    said = _("{name}'s link is taken back; who came in by it is signed out.").format(name=link.hand.name)
    messages.success(request, said if is_new else _("That link was taken back already."))
    return redirect("pages:links", farm_code=farm.code)


@require_POST
@for_roles(Role.MANAGER)
def revoke_of_hand(request: HttpRequest, farm: Farm, membership: Membership, hand_id: int) -> HttpResponse:
    """Take every link of a hand back."""
    hand = get_object_or_404(Hand, farm=farm, pk=hand_id)
    revoke_links(farm=farm, hand=hand, by=request.user, now=clock.now())  # type: ignore[arg-type]
    said = _("Every link of {name} is taken back; who came in by one is signed out.")
    messages.success(request, said.format(name=hand.name))
    return redirect("pages:links", farm_code=farm.code)


@require_POST
@for_roles(Role.MANAGER)
def revoke_all(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Take every link of the farm back."""
    revoke_links(farm=farm, by=request.user, now=clock.now())  # type: ignore[arg-type]
    said = _("Every link of the farm is taken back; who came in by one is signed out.")
    messages.success(request, said)
    return redirect("pages:links", farm_code=farm.code)


def _shown(
    request: HttpRequest, farm: Farm, *, made_for: Hand | None = None, address: str = "", status: int = 200
) -> HttpResponse:
    context = {
        "farm": farm,
        "place": "fleet",
        "days": LINK_DAYS,
        "made_for": made_for,
        "address": address,
        **links_facts(farm=farm, now=clock.now()),
    }
    return render(request, "pages/links.html", context, status=status)
