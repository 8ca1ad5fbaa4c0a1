"""When a farm's mail goes out and who wants what: the manager's pages, and the hand's own."""

from collections.abc import Mapping

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.models import User
from farmops.core.problems import DomainError
from farmops.digests.services.choosing import MailTimeRefused, choose, set_mail_times, set_reader
from farmops.farms.models import Farm, Hand, Membership, Role
from farmops.pages.access import for_roles
from farmops.pages.calendar_page import shown_calendar
from farmops.pages.mail_times_page import (
    Unreadable,
    boxes_facts,
    choices_typed,
    kinds_of,
    next_costs,
    people_facts,
    shown_person,
    times_facts,
    times_typed,
)


@never_cache
@for_roles(Role.MANAGER)
def mail_times(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show when the mail of the farm goes out, and keep it."""
    wrong: Mapping[str, str] = {}
    if request.method == "POST":
        try:
            typed = times_typed(request.POST.dict())
            set_mail_times(farm=farm, by=request.user, now=clock.now(), **typed)  # type: ignore[arg-type]
        except Unreadable as error:
            wrong = error.wrong
        except DomainError as error:
            wrong = error.fields
        else:
            messages.success(request, _("Kept. It holds from the next mail on."))
            return redirect("pages:mail_times", farm_code=farm.code)
    facts = times_facts(farm=farm, typed=request.POST.dict() if wrong else None, wrong=wrong)
    context = {"farm": farm, "place": "mail", **facts}
    return render(request, "pages/mail_times.html", context, status=422 if wrong else 200)


@never_cache
@for_roles(Role.MANAGER)
def mail_people(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show who gets what, in which hour."""
    return render(
        request, "pages/mail_people.html", {"farm": farm, "place": "mail", **people_facts(farm=farm)}
    )


@require_POST
@for_roles(Role.MANAGER)
def choose_for(
    request: HttpRequest, farm: Farm, membership: Membership, of: str, person_id: int
) -> HttpResponse:
    """Keep what a person wants, in the manager's words."""
    person = _person(farm, of, person_id)
    wrong = _keep(request, farm, person)
    if not wrong:
        name = shown_person(farm=farm, person=person).name
        messages.success(request, _("Kept what {name} wants.").format(name=name))
        return redirect("pages:mail_people", farm_code=farm.code)
    for says in wrong.values():
        messages.error(request, says)
    context = {"farm": farm, "place": "mail", **people_facts(farm=farm)}
    return render(request, "pages/mail_people.html", context, status=422)


@never_cache
@for_roles(Role.HAND)
def my_mail(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show a hand the mail the hand gets, and keep what is wanted."""
    hand = membership.hand
    if hand is None:
        raise Http404
    wrong: Mapping[str, str] = {}
    if request.method == "POST":
        wrong = _keep(request, farm, hand)
        if not wrong:
            messages.success(request, _("Kept."))
            return redirect("pages:my_mail", farm_code=farm.code)
    context = {
        "farm": farm,
        "place": "day",
        "person": shown_person(farm=farm, person=hand),
        "wrong": wrong,
        "calendar": shown_calendar(farm=farm, person=hand, absolute=request.build_absolute_uri),
        **boxes_facts(),
    }
    return render(request, "pages/my_mail.html", context, status=422 if wrong else 200)


@never_cache
@for_roles(Role.MANAGER, Role.BOOKKEEPER)
def office_mail(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show a manager or a bookkeeper the mail that person gets, and keep what is wanted."""
    user: User = request.user  # type: ignore[assignment]
    wrong: Mapping[str, str] = {}
    if request.method == "POST":
        wrong = _keep(request, farm, user)
        if not wrong:
            messages.success(request, _("Kept."))
            return redirect("pages:office_mail", farm_code=farm.code)
    context = {
        "farm": farm,
        "place": "mail",
        "person": shown_person(farm=farm, person=user),
        "wrong": wrong,
        "calendar": shown_calendar(farm=farm, person=user, absolute=request.build_absolute_uri),
        "roles": request.farm_roles,  # type: ignore[attr-defined]
        "costs": next_costs(farm=farm, person=user, now=clock.now()),
        **boxes_facts(),
    }
    return render(request, "pages/office_mail.html", context, status=422 if wrong else 200)


def _keep(request: HttpRequest, farm: Farm, person: Hand | User) -> Mapping[str, str]:
    """Keep what was chosen, all or nothing; return what is wrong with it, by the box."""
    now = clock.now()
    by: User = request.user  # type: ignore[assignment]
    try:
        typed = choices_typed(request.POST.dict(), kinds_of(farm=farm, person=person))
    except Unreadable as error:
        return error.wrong
    try:
        with transaction.atomic():
            for kind, facts in typed.items():
                choose(farm=farm, person=person, kind=kind, by=by, now=now, **facts)
            set_reader(
                farm=farm,
                person=person,
                by=by,
                now=now,
                units=request.POST.get("units", ""),
                wants_calendar_file=request.POST.get("calendar") == "yes",
            )
    except MailTimeRefused as error:
        return error.fields
    return {}


def _person(farm: Farm, of: str, person_id: int) -> Hand | User:
    if of == "hand":
        return get_object_or_404(Hand, farm=farm, pk=person_id)
    return get_object_or_404(User.objects.filter(memberships__farm=farm).distinct(), pk=person_id)
