"""One entry of the books: look at it, undo it with a reason."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.farms.models import Farm, Membership, Role
from farmops.pages.access import for_roles
from farmops.pages.boxes import Boxes, plain
from farmops.pages.entry_page import entry_page
from ledger.services.reversals import NoSuchEntry, reverse_by_number

OFFICE = (Role.BOOKKEEPER, Role.MANAGER)


@for_roles(*OFFICE)
def entry(request: HttpRequest, farm: Farm, membership: Membership, number: int) -> HttpResponse:
    """Show an entry with its lines, its source and the digest before it."""
    return _shown(request, farm, number)


@require_POST
@for_roles(*OFFICE)
def reverse(request: HttpRequest, farm: Farm, membership: Membership, number: int) -> HttpResponse:
    """Undo an entry with a reason; show the entry that undid it."""
    boxes = Boxes(request.POST)
    why = boxes.note("why")
    shown = number
    try:
        if not boxes.wrong:
            done = reverse_by_number(farm=farm, number=number, why=why, made_by=request.user, now=clock.now())
            shown = done.number
            messages.success(
                request, _("Entry {number} was reversed by entry {by}.").format(number=number, by=shown)
            )
    except NoSuchEntry as error:
        raise Http404 from error
    except DomainError as error:
        if "why" not in error.fields:
            messages.error(request, plain(error.says))
            return redirect("pages:entry", farm_code=farm.code, number=number)
        boxes.refused(error, otherwise="why")
    if boxes.wrong:
        return _shown(request, farm, number, boxes)
    return redirect("pages:entry", farm_code=farm.code, number=shown)


def _shown(request: HttpRequest, farm: Farm, number: int, refused: Boxes | None = None) -> HttpResponse:
    facts = entry_page(farm=farm, number=number)
    if facts is None:
        raise Http404
    context = {"farm": farm, "place": "costs", **facts}
    if refused is None:
        return render(request, "pages/entry.html", context)
    context |= {"typed": refused.typed, "wrong": refused.wrong}
    return render(request, "pages/entry.html", context, status=422)
