"""The hand's day, and the door by which its reports come in."""

import datetime as dt
import hashlib
import uuid
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from http import HTTPStatus

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import get_object_or_404, redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import translation
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.views.decorators.cache import cache_control
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.api.fields import day_from
from farmops.core.keeping import ClientIdReused
from farmops.core.problems import MEDIA_TYPE, STATUS, DomainError, Kind, problem
from farmops.farms.models import Farm, Field, Hand, Membership, Role
from farmops.pages import day_page, field_shape, words
from farmops.pages.access import for_roles
from farmops.pages.day_kept import kept_body
from farmops.pages.kept_forms import new_id
from farmops.pages.report_boxes import BOXES
from farmops.pages.report_forms import clock_of, reports_from_post, told
from farmops.pages.shown_forms import Typed
from scheduling.models import FieldReport
from scheduling.services.photos import MOST_BYTES, keep_photo
from scheduling.services.receiving import Received, receive_report

ANSWERS = {"kept": HTTPStatus.CREATED, "again": HTTPStatus.OK, "parked": HTTPStatus.ACCEPTED}
"""How a script is answered, by what became of its report; of several the last of these counts."""
A_WEEK_S = 7 * 24 * 3600


@gzip_page
@for_roles(Role.HAND)
def day(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show the signed-in hand's day."""
    hand = _hand(membership)
    asked = request.GET.get("day", "")
    try:
        on = day_from(asked) if asked else None
    except ValueError as error:
        raise Http404 from error
    now = clock.now()
    days = day_page.days_with_work(farm=farm, hand=hand)
    on = on or day_page.day_of(days=days, today=clock.local_date(now, farm.zone))
    return _page(request, farm, hand, on, now, days=days)


@cache_control(private=True, max_age=A_WEEK_S)
@for_roles(Role.HAND)
def shape(request: HttpRequest, farm: Farm, membership: Membership, code: str) -> HttpResponse:
    """Show a field's outline."""
    field = get_object_or_404(Field, farm=farm, code=code)
    return HttpResponse(field_shape.picture(field), content_type="image/svg+xml")


@gzip_page
@require_POST
@for_roles(Role.HAND)
def send(request: HttpRequest, farm: Farm, membership: Membership, kind: str) -> HttpResponse:
    """Take in what a form says; sent twice it is the same report. A script that asks for JSON is answered in it."""
    hand, now = _hand(membership), clock.now()
    if kind not in BOXES:
        raise Http404
    with translation.override(hand.language):
        try:
            on = day_from(request.POST.get("day", ""))
            sent = reports_from_post(kind, request.POST, tapped=field_shape.taps_on(farm))
        except ValueError as error:
            raise Http404 from error
        if request.POST.get("hand", hand.code) != hand.code:
            return _of_another(request, farm)
        senders = clock_of(request.POST)
        try:
            answers = [
                receive_report(
                    farm=farm,
                    hand=hand,
                    client_id=one.client_id,
                    kind=kind,
                    body=one.body,
                    made_at=senders.made_at,
                    made_offset_min=senders.made_offset_min,
                    sent_at=senders.sent_at,
                    sent_by=request.user,  # type: ignore[arg-type]
                    now=now,
                )
                for one in sent
            ]
        except DomainError as error:
            return _refused(request, farm, hand, on, now, kind, error)
        wrong = [error for one in answers[:1] for error in _keep_photos(request, one.report, now)]
        later = next((error for error in wrong if error.kind is Kind.UNAVAILABLE), None)
        if later is not None and _asks_json(request):
            return _problem(request, later, later.says)  # a queue keeps its photos and sends them again
        return _answered(request, farm, on, answers, [error.says for error in wrong])


def _keep_photos(request: HttpRequest, report: FieldReport, now: dt.datetime) -> list[DomainError]:
    """Keep the photos of a form; the same photo sent again is the same one. Return why one was not kept.

    The report stands whatever becomes of its photos.
    """
    wrong = []
    for file in request.FILES.getlist("photos"):
        content = file.read(MOST_BYTES + 1)  # one over the limit is enough to be refused
        name = hashlib.sha256(content).hexdigest()
        try:
            keep_photo(report=report, client_id=uuid.uuid5(report.client_id, name), content=content, now=now)
        except DomainError as error:
            wrong.append(error)
    return wrong


def _answered(
    request: HttpRequest, farm: Farm, on: dt.date, answers: list[Received], wrong: list[str]
) -> HttpResponse:
    worst = max(answers, key=lambda one: list(ANSWERS).index(one.state), default=None)
    if _asks_json(request):
        if worst is None:
            return HttpResponse(status=HTTPStatus.NO_CONTENT)
        body = {
            "client_id": request.POST["client_id"],
            "state": worst.state,
            "says": " ".join([worst.says, *wrong]),
            "received_at": worst.report.received_at.isoformat(),
        }
        answer = JsonResponse(body, status=ANSWERS[worst.state])
        if worst.state == "again":
            answer["Idempotency-Replayed"] = "true"
        return answer
    if worst is None:
        messages.warning(request, _("Tick what you looked at."))
    else:
        level = messages.WARNING if worst.state == "parked" else messages.SUCCESS
        messages.add_message(request, level, worst.says)
    for says in dict.fromkeys(wrong):
        messages.error(request, says)
    return redirect(f"{reverse('pages:day', args=[farm.code])}?day={on.isoformat()}")


def _refused(
    request: HttpRequest, farm: Farm, hand: Hand, on: dt.date, now: dt.datetime, kind: str, error: DomainError
) -> HttpResponse:
    """Give back a report that was not kept, with a sentence at each box that it is about."""
    says, wrong = told(kind, request.POST, error.fields)
    if isinstance(error, ClientIdReused):
        says, wrong = _("This was sent before with other facts in it. Load the page again."), {}
    says = says or error.says
    if _asks_json(request):
        return _problem(request, error, says, wrong)
    messages.error(request, says)
    typed = Typed(request.POST, wrong)
    return _page(request, farm, hand, on, now, typed=typed, status=STATUS[error.kind])


def _problem(
    request: HttpRequest, error: DomainError, says: str, wrong: Mapping[str, str] | None = None
) -> HttpResponse:
    status = STATUS[error.kind]
    rows = [{"pointer": f"/{name}", "detail": one} for name, one in (wrong or {}).items()]
    body = problem(status=status, code=error.code, detail=says, instance=request.path, errors=rows)
    return JsonResponse(body, status=status, content_type=MEDIA_TYPE)


def _of_another(request: HttpRequest, farm: Farm) -> HttpResponse:
    """Refuse a form of a page that was opened as another hand: nobody's hours are to be kept under another's name."""
    says = _("That page was somebody else's, so nothing was kept. This is your own.")
    if _asks_json(request):
        body = problem(
            status=HTTPStatus.FORBIDDEN, code="not_your_page", detail=says, instance=request.path, errors=[]
        )
        return JsonResponse(body, status=HTTPStatus.FORBIDDEN, content_type=MEDIA_TYPE)
    messages.error(request, says)
    return redirect("pages:day", farm_code=farm.code)


def _page(
    request: HttpRequest,
    farm: Farm,
    hand: Hand,
    on: dt.date,
    now: dt.datetime,
    typed: Typed | None = None,
    status: int = HTTPStatus.OK,
    days: Sequence[dt.date] | None = None,
) -> HttpResponse:
    with translation.override(hand.language):
        if days is None:
            days = day_page.days_with_work(farm=farm, hand=hand)
        told = day_page.told_of_reports(farm=farm, hand=hand, day=on, now=now)
        own: dict[str, Callable[[], str]] = {name: partial(_block, name, rows) for name, rows in told.items()}
        if typed is None:
            own |= {"csrf_token": partial(get_token, request), "client_id": new_id}
            body = kept_body(farm=farm, hand=hand, day=on, now=now, days=days, own=own)
        else:
            facts = day_page.day_facts(farm=farm, hand=hand, day=on, now=now, typed=typed, days=days)
            facts |= {"farm": farm, **{name: make() for name, make in own.items()}}
            body = mark_safe(render_to_string("pages/day_body.html", facts, request))
        context = {
            "farm": farm,
            "place": "day",
            "hand": hand,
            "made_at": now,
            "day_said": words.long_date(on, hand.language),
            "body": body,
        }
        return render(request, "pages/day.html", context, status=status)


def _block(name: str, rows: Sequence[Mapping[str, object]]) -> str:
    return mark_safe(render_to_string(f"pages/day_{name}.html", {name: rows}).rstrip("\n"))


def _asks_json(request: HttpRequest) -> bool:
    return request.headers.get("Accept", "").split(",")[0].strip() == "application/json"


def _hand(membership: Membership) -> Hand:
    if membership.hand is None:
        raise Http404
    return membership.hand
