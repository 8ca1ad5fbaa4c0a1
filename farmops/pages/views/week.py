"""The week: what the manager decides on Sunday evening and again after rain."""

import datetime as dt

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.desk import services as desk
from farmops.farms.models import Farm, Membership, Role
from farmops.pages.access import for_roles
from farmops.pages.board import week_board
from scheduling.models import WeekPlan
from scheduling.selectors.plans import current_plan
from scheduling.services import planning

SECONDS = 8.0


@for_roles(Role.MANAGER)
def week(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show one plan, by default the one that counts."""
    number = request.GET.get("plan", "")
    if number.isdecimal() and len(number) < 9:
        plan: WeekPlan | None = get_object_or_404(WeekPlan, farm=farm, number=int(number))
    else:
        plan = current_plan(farm=farm)
    newest = WeekPlan.objects.filter(farm=farm).order_by("-number").first()
    context = {
        "farm": farm,
        "place": "week",
        "plan": plan,
        "newest": newest,
        "board": week_board(farm=farm, plan=plan) if plan else None,
        "plan_from": _next_monday(farm),
    }
    return render(request, "pages/week.html", context)


@require_POST
@for_roles(Role.MANAGER)
def plan_again(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Make a plan from a day on; what was sent is held on to where it can be."""
    try:
        first_on = dt.date.fromisoformat(request.POST.get("first_on", ""))
    except ValueError:
        messages.error(request, "Give the first day of the plan as a date, such as 2026-04-20.")
        return redirect("pages:week", farm_code=farm.code)
    try:
        plan = desk.plan_week(
            farm=farm,
            first_on=first_on,
            seconds=SECONDS,
            made_by=request.user,  # type: ignore[arg-type]
            now=clock.now(),
            keep_sent=True,
        )
    except DomainError as error:
        messages.error(request, error.says)
        return redirect("pages:week", farm_code=farm.code)
    messages.success(request, f"Plan {plan.number} is made. Read it, then send it.")
    return redirect(f"{request.path.removesuffix('plan/')}?plan={plan.number}")


@require_POST
@for_roles(Role.MANAGER)
def send(request: HttpRequest, farm: Farm, membership: Membership, number: int) -> HttpResponse:
    """Make a plan the one that the morning sheets follow."""
    plan = get_object_or_404(WeekPlan, farm=farm, number=number)
    try:
        planning.send_plan(plan=plan, now=clock.now())
    except DomainError as error:
        messages.error(request, error.says)
    else:
        messages.success(request, f"Plan {plan.number} is sent: the next morning sheets follow it.")
    return redirect("pages:week", farm_code=farm.code)


def _next_monday(farm: Farm) -> dt.date:
    today = clock.local_date(clock.now(), farm.zone)
    return today + dt.timedelta(days=-today.weekday() % 7)
