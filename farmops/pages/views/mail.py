"""The manager's pages of the mail: a day's, one mail as it went out, what did not go out, and a look before."""

import datetime as dt

from csp.constants import NONE, UNSAFE_INLINE
from csp.decorators import csp_replace
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db.models import Q
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST

from farmops.core import clock
from farmops.core.api.fields import day_from
from farmops.core.models import Language
from farmops.core.problems import DomainError
from farmops.digests.models import MailTrouble, OutboxRow, SheetKind
from farmops.digests.services.asking import send_again, try_again
from farmops.digests.services.troubles import end_trouble
from farmops.farms.models import Farm, Membership, Role
from farmops.pages.access import for_roles
from farmops.pages.asked_days import asked_page
from farmops.pages.mail_look_page import Look, look_at, look_facts
from farmops.pages.mail_page import mail_facts
from farmops.pages.mail_row_page import as_sent, html_of, mail_row_facts
from farmops.pages.undelivered_page import undelivered_facts

SHUT_IN = csp_replace(
    {
        "default-src": [NONE],
        "script-src": [NONE],
        "img-src": [NONE],
        "connect-src": [NONE],
        "form-action": [NONE],
        "style-src": [UNSAFE_INLINE],
        "sandbox": [],
    }
)
"""A mail brings its own styles and may run nothing, fetch nothing and be nobody."""


@never_cache
@for_roles(Role.MANAGER)
def mail(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show the mail of a day."""
    now = clock.now()
    day = _day(request) or clock.local_date(now, farm.zone)
    context = {"farm": farm, "place": "mail", **mail_facts(farm=farm, day=day, now=now)}
    return render(request, "pages/mail.html", context)


@never_cache
@for_roles(Role.MANAGER)
def undelivered(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show what did not go out."""
    facts = undelivered_facts(farm=farm, now=clock.now(), page=asked_page(request.GET))
    context = {"farm": farm, "place": "mail", **facts}
    return render(request, "pages/mail_undelivered.html", context)


@never_cache
@for_roles(Role.MANAGER)
def mail_row(request: HttpRequest, farm: Farm, membership: Membership, row_id: int) -> HttpResponse:
    """Show one mail."""
    row = _row(farm, row_id)
    context = {"farm": farm, "place": "mail", **mail_row_facts(row=row, now=clock.now())}
    return render(request, "pages/mail_row.html", context)


@never_cache
@require_GET
@for_roles(Role.MANAGER)
def mail_as_sent(request: HttpRequest, farm: Farm, membership: Membership, row_id: int) -> HttpResponse:
    """Give a mail as it went out as a file, without what would let its reader in."""
    row = _row(farm, row_id)
    message = as_sent(row)
    if message is None:
        raise Http404
    name = f"{row.local_day:%Y-%m-%d}-{row.person_code}-{row.kind}.eml"
    return HttpResponse(
        message.as_bytes(),
        content_type="message/rfc822",  # not said
        headers={"Content-Disposition": f'attachment; filename="{name}"'},  # not said
    )


@never_cache
@require_GET
@SHUT_IN
@for_roles(Role.MANAGER)
def mail_as_shown(request: HttpRequest, farm: Farm, membership: Membership, row_id: int) -> HttpResponse:
    """Show a mail as a mail reader does."""
    message = as_sent(_row(farm, row_id))
    html = html_of(message) if message is not None else ""
    if not html:
        raise Http404
    return HttpResponse(html)


@require_POST
@for_roles(Role.MANAGER)
def mail_again(request: HttpRequest, farm: Farm, membership: Membership, row_id: int) -> HttpResponse:
    """Send a mail again, as a message of its own."""
    row = _row(farm, row_id)
    number = request.POST.get("number", "")
    if not number.isdecimal() or len(number) > 4:
        raise Http404
    try:
        row = send_again(row=row, by=request.user, now=clock.now(), number=int(number))  # type: ignore[arg-type]
    except DomainError as error:
        messages.error(request, error.says)
    else:
        messages.success(request, _("The mail goes out again, as it stands now."))
    return redirect("pages:mail_row", farm_code=farm.code, row_id=row.pk)


@require_POST
@for_roles(Role.MANAGER)
def mail_try(request: HttpRequest, farm: Farm, membership: Membership, row_id: int) -> HttpResponse:
    """Try a mail again that did not go out."""
    row = _row(farm, row_id)
    if try_again(row=row, by=request.user, now=clock.now()):  # type: ignore[arg-type]
        messages.success(request, _("The mail is tried again."))
    else:
        messages.error(request, _("This mail cannot be tried again: look at what became of it."))
    return redirect("pages:mail_row", farm_code=farm.code, row_id=row.pk)


@require_POST
@for_roles(Role.MANAGER)
def end(request: HttpRequest, farm: Farm, membership: Membership, trouble_id: int) -> HttpResponse:
    """End a trouble by a person's word: of this farm, or of the whole service."""
    trouble = get_object_or_404(MailTrouble, Q(farm=farm) | Q(farm=None), pk=trouble_id)
    is_new = end_trouble(trouble=trouble, by=request.user, now=clock.now())  # type: ignore[arg-type]
    messages.success(request, _("Done: it counts as settled.") if is_new else _("That was settled already."))
    return redirect("pages:mail", farm_code=farm.code)


@never_cache
@require_GET
@for_roles(Role.MANAGER, Role.BOOKKEEPER)
def mail_preview(
    request: HttpRequest, farm: Farm, membership: Membership, kind: str, of: str, person_id: int
) -> HttpResponse:
    """Show what a person's mail of a day would say now; nothing is made or written."""
    look = _look(request, farm, membership, kind, of, person_id)
    is_manager = membership.role == Role.MANAGER
    context = {"farm": farm, "place": "mail", "is_manager": is_manager, **look_facts(look)}
    return render(request, "pages/mail_preview.html", context)


@never_cache
@require_GET
@SHUT_IN
@for_roles(Role.MANAGER, Role.BOOKKEEPER)
def mail_preview_shown(
    request: HttpRequest, farm: Farm, membership: Membership, kind: str, of: str, person_id: int
) -> HttpResponse:
    """Show the same as a mail reader does."""
    look = _look(request, farm, membership, kind, of, person_id)
    if look.sheet is None:
        raise Http404
    return HttpResponse(look.sheet.html)


def _look(
    request: HttpRequest, farm: Farm, membership: Membership, kind: str, of: str, person_id: int
) -> Look:
    """Return a look at a mail: a manager's at any, a bookkeeper's at the own costs of the week."""
    own = (SheetKind.COSTS, "user", membership.user_id)
    if membership.role != Role.MANAGER and (kind, of, person_id) != own:
        raise PermissionDenied
    now = clock.now()
    language = request.GET.get("lang", "")
    if language and language not in Language.values:
        raise Http404
    return look_at(
        farm=farm,
        kind=kind,
        of=of,
        person_id=person_id,
        day=_day(request) or clock.local_date(now, farm.zone),
        language=language,
        now=now,
    )


def _row(farm: Farm, row_id: int) -> OutboxRow:
    rows = OutboxRow.objects.select_related("farm", "hand", "user").prefetch_related("tries", "bounces")
    return get_object_or_404(rows, farm=farm, pk=row_id)


def _day(request: HttpRequest) -> dt.date | None:
    """Return the day of the address; what is none counts as not given."""
    try:
        return day_from(request.GET.get("day", ""))
    except ValueError:
        return None
