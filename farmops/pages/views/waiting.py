"""Reports that wait for the manager: taken over, corrected where need be, or set aside with a reason."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.api.fields import refused_character
from farmops.core.problems import STATUS, DomainError
from farmops.farms.models import Farm, Membership, Role
from farmops.pages import words
from farmops.pages.access import for_roles
from farmops.pages.boxes import plain
from farmops.pages.waiting_page import Refused, changes_of, waiting_facts
from farmops.pages.waiting_words import label_of
from scheduling.models import ParkedReport
from scheduling.services.parked import set_aside, take_over
from scheduling.services.refusals import ParkedSettled
from scheduling.services.report_body import BodyUnreadable


@for_roles(Role.MANAGER)
def waiting(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show what waits and what was settled of late."""
    return _shown(request, farm)


@require_POST
@for_roles(Role.MANAGER)
def take(request: HttpRequest, farm: Farm, membership: Membership, parked_id: int) -> HttpResponse:
    """Take a report over, with what was corrected in its boxes."""
    row = _row(farm, parked_id)
    changes = changes_of(row.report, _posted(request))
    return _settle(request, farm, row, changes=changes)


@require_POST
@for_roles(Role.MANAGER)
def aside(request: HttpRequest, farm: Farm, membership: Membership, parked_id: int) -> HttpResponse:
    """Set a report aside."""
    return _settle(request, farm, _row(farm, parked_id), changes=None)


def _settle(
    request: HttpRequest, farm: Farm, row: ParkedReport, *, changes: dict[str, Any] | None
) -> HttpResponse:
    typed = _posted(request)
    note, now = typed.get("note", "").strip(), clock.now()
    sign = refused_character(note, lines=True)
    if sign is not None:
        says = _("The sign {sign} cannot be kept. Write it without.").format(sign=sign)
        return _shown(request, farm, Refused(row.pk, typed, says), status=422)
    user: Any = request.user
    try:
        if changes is None:
            set_aside(parked=row, reason=note, settled_by=user, now=now)
        else:
            take_over(parked=row, changes=changes, note=note, settled_by=user, now=now)
    except ParkedSettled as error:
        messages.error(request, error.says)
        return redirect("pages:waiting", farm_code=farm.code)
    except DomainError as error:
        told = _unreadable(error) if isinstance(error, BodyUnreadable) else plain(error.says)
        refused = Refused(row.pk, typed, told, frozenset(error.fields))
        return _shown(request, farm, refused, status=STATUS[error.kind])
    told = (
        _("The report of {name} is set aside.")
        if changes is None
        else _("The report of {name} is taken over.")
    )
    messages.success(request, told.format(name=row.report.hand.name))
    return redirect("pages:waiting", farm_code=farm.code)


def _unreadable(error: BodyUnreadable) -> str:
    """Return what is wrong with values, each by what people call it."""
    faults = error.in_language(words.speaking()).fields
    return " ".join(
        words.dates_said(f"{label_of(name)}{says.removeprefix(name)}" if says.startswith(name) else says)
        for name, says in faults.items()
    )


def _row(farm: Farm, parked_id: int) -> ParkedReport:
    return get_object_or_404(ParkedReport.objects.select_related("report__hand"), farm=farm, pk=parked_id)


def _posted(request: HttpRequest) -> dict[str, str]:
    return {name: request.POST.get(name, "") for name in request.POST}


def _shown(
    request: HttpRequest, farm: Farm, refused: Refused | None = None, status: int = 200
) -> HttpResponse:
    context = {"farm": farm, "place": "waiting", **waiting_facts(farm=farm, refused=refused)}
    return render(request, "pages/waiting.html", context, status=status)
