"""The week: what the manager decides on Sunday evening and again after rain."""

import datetime as dt

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from farmops.core import clock, jobs
from farmops.core.problems import DomainError
from farmops.desk import days
from farmops.desk import services as desk
from farmops.desk.missing import missing_for_a_plan
from farmops.farms.models import Farm, Membership, Role
from farmops.pages import words
from farmops.pages.access import for_roles
from farmops.pages.board import week_board
from scheduling.models import WeekPlan
from scheduling.selectors.passes import field_names, keys_in_words
from scheduling.selectors.plans import current_plan
from scheduling.services import planning

SECONDS = 8.0
STALE_AFTER = dt.timedelta(minutes=2)


@for_roles(Role.MANAGER)
def week(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show one plan, by default the one that counts."""
    number = request.GET.get("plan", "")
    if number.isdecimal() and len(number) < 9:
        plan: WeekPlan | None = get_object_or_404(WeekPlan, farm=farm, number=int(number))
    else:
        plan = current_plan(farm=farm)
    today = clock.local_date(clock.now(), farm.zone)
    context = {
        "farm": farm,
        "place": "week",
        "plan": plan,
        "newest_number": _newest_number(farm),
        "board": week_board(farm=farm, plan=plan, today=today) if plan else None,
        "missing": [] if plan else missing_for_a_plan(farm=farm),
        "plan_from": days.suggested_day(farm=farm, today=today),
    }
    return render(request, "pages/week.html", context)


@require_POST
@for_roles(Role.MANAGER)
def plan_again(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Make a plan from a day on; what was sent is held on to where it can be. Pressed twice, it is made once."""
    back = redirect("pages:week", farm_code=farm.code)
    now = clock.now()
    try:
        first_on = dt.date.fromisoformat(request.POST.get("first_on", ""))
    except ValueError:
        messages.error(request, "Give the first day of the plan as a date, such as 2026-04-20.")
        return back
    newest = _newest_number(farm)
    seen = request.POST.get("seen", "")
    if seen.isdecimal() and len(seen) < 9 and int(seen) < newest:
        messages.success(request, f"Plan {newest} was made meanwhile; this is it.")
        return _plan_page(farm, newest)
    job = f"plan of farm {farm.pk}"
    if not jobs.claim(job=job, slot=newest, now=now, stale_after=STALE_AFTER):
        messages.success(request, "A plan is being worked out already. Look again in ten seconds.")
        return back
    try:
        plan = _make_plan(request, farm, first_on, now)
    except DomainError as error:
        messages.error(request, keys_in_words(words.dates_said(error.says), names=field_names(farm=farm)))
        return back
    finally:
        jobs.give_back(job=job, slot=newest)
    messages.success(request, f"Plan {plan.number} is made. Read it, then send it.")
    return _plan_page(farm, plan.number)


def _make_plan(request: HttpRequest, farm: Farm, first_on: dt.date, now: dt.datetime) -> WeekPlan:
    days.refuse_far_day(farm=farm, first_on=first_on, today=clock.local_date(now, farm.zone))
    return desk.plan_week(
        farm=farm,
        first_on=first_on,
        seconds=SECONDS,
        made_by=request.user,  # type: ignore[arg-type]
        now=now,
        keep_sent=True,
    )


def _plan_page(farm: Farm, number: int) -> HttpResponse:
    return redirect(f"{reverse('pages:week', args=[farm.code])}?plan={number}")


def _newest_number(farm: Farm) -> int:
    newest = WeekPlan.objects.filter(farm=farm).order_by("-number").first()
    return newest.number if newest else 0


@require_POST
@for_roles(Role.MANAGER)
def send(request: HttpRequest, farm: Farm, membership: Membership, number: int) -> HttpResponse:
    """Make a plan the one that the morning sheets follow."""
    plan = get_object_or_404(WeekPlan, farm=farm, number=number)
    try:
        planning.send_plan(plan=plan, now=clock.now())
    except DomainError as error:
        messages.error(request, words.dates_said(error.says))
    else:
        messages.success(request, f"Plan {plan.number} is sent: the next morning sheets follow it.")
    return redirect("pages:week", farm_code=farm.code)
