"""Hours by hand and week, and the same as a file."""

import datetime as dt

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBadRequest
from django.http.request import QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.api.fields import day_from
from farmops.core.problems import DomainError
from farmops.desk.days import first_instant
from farmops.farms.models import Farm, Hand, Membership, Role
from farmops.pages import words
from farmops.pages.access import for_roles
from farmops.pages.boxes import Boxes, plain
from farmops.pages.fleet_page import Refused
from farmops.pages.hours_page import DAYS, hours_csv, hours_facts, reason_key, week_of
from scheduling.services.hours import say_why_fewer

MOST_DAYS = 400


@for_roles(Role.MANAGER, Role.BOOKKEEPER)
def hours(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show what each hand was offered and worked in a week, and why fewer."""
    today = _today(farm)
    return _week(request, farm, _day(request.GET, "week") or today, today)


@for_roles(Role.MANAGER, Role.BOOKKEEPER)
def hours_file(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Give the hours of a week, or from a first to a last day, as a file."""
    today = _today(farm)
    first_on = _day(request.GET, "first") or week_of(_day(request.GET, "week") or today)
    last_on = _day(request.GET, "last") or first_on + dt.timedelta(days=DAYS - 1)
    if not 0 <= (last_on - first_on).days < MOST_DAYS:
        return HttpResponseBadRequest(
            _("The days from {first} to {last} are none, or more than {most}.").format(
                first=first_on, last=last_on, most=MOST_DAYS
            ),
            content_type="text/plain; charset=utf-8",  # not said
        )
    body = hours_csv(farm=farm, first_on=first_on, last_on=last_on, today=today)
    name = f"{farm.code}-hours-{first_on}-{last_on}.csv"
    return HttpResponse(
        body.encode(),
        content_type="text/csv; charset=utf-8",  # not said
        headers={"Content-Disposition": f'attachment; filename="{name}"'},  # not said
    )


@require_POST
@for_roles(Role.MANAGER, Role.BOOKKEEPER)
def say_why(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Keep why fewer hours were worked on a day than were offered."""
    boxes = Boxes(request.POST)
    hand = get_object_or_404(Hand, farm=farm, pk=boxes.row_id("hand"))
    day, why = _day(request.POST, "day"), boxes.note("why")
    if day is None:
        raise Http404
    if not boxes.wrong:
        try:
            say_why_fewer(
                farm=farm,
                hand=hand,
                client_id=boxes.client_id(),
                work_on=day,
                why=why,
                recorded_by=request.user,  # type: ignore[arg-type]
                now=clock.now(),
            )
        except DomainError as error:
            boxes.wrong["why"] = plain(error.says)
    if boxes.wrong:
        refused = Refused(reason_key(hand.pk, day), boxes.typed, boxes.wrong)
        return _week(request, farm, day, _today(farm), refused)
    messages.success(
        request,
        _("Kept for {hand}, {day}: {why}.").format(hand=hand.name, day=words.short_date(day), why=why),
    )
    return redirect(f"{reverse('pages:hours', args=[farm.code])}?week={week_of(day)}")


def _week(
    request: HttpRequest, farm: Farm, day: dt.date, today: dt.date, refused: Refused | None = None
) -> HttpResponse:
    facts = hours_facts(farm=farm, first_on=week_of(day), today=today, refused=refused)
    if refused is not None and not facts["shows_refused"]:
        messages.error(request, refused.wrong["why"])  # of a hand who works here no more there is no row
    context = {"farm": farm, "place": "fleet", **facts}
    return render(request, "pages/hours.html", context, status=422 if refused else 200)


def _today(farm: Farm) -> dt.date:
    return clock.local_date(first_instant(farm=farm, now=clock.now()), farm.zone)


def _day(given: QueryDict, name: str) -> dt.date | None:
    """Return a day of an address or a form; what is none counts as not given."""
    try:
        return day_from(given.get(name, ""))
    except ValueError:
        return None
