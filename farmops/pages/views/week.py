"""The week: what the manager decides on Sunday evening and again after rain."""

import datetime as dt
from dataclasses import dataclass
from functools import partial
from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.middleware.csrf import get_token
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.desk import days
from farmops.desk.anew import newest_number
from farmops.desk.missing import missing_for_a_plan
from farmops.farms.models import Farm, Membership, Role
from farmops.pages import words
from farmops.pages.access import for_roles
from farmops.pages.board import BY, OUTFITS, week_board
from farmops.pages.board_cells import drawn_board
from farmops.pages.change_page import changes_against
from farmops.pages.kept_parts import PASSING, KeptParts
from farmops.pages.people_page import people_facts, people_mark
from farmops.pages.plan_news_page import news_facts
from farmops.pages.views.planning import plain_reason, plan_page, planned_again
from farmops.pages.week_kept import week_mark
from scheduling.models import PlanState, WeekPlan
from scheduling.selectors.changes import plan_before
from scheduling.selectors.plan_documents import with_documents, without_documents
from scheduling.selectors.plans import current_plan_at_hand
from scheduling.selectors.versions import week_version
from scheduling.services import planning
from scheduling.services.moving import MOVED
from scheduling.services.planning import BadWeek

SECONDS = 8.0
FIRST_ON = "first_on"
"""The box of the first day to plan, and the word of the address that fills it."""
MOST_TYPED = 40


@for_roles(Role.MANAGER)
def week(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show one plan, by default the one that counts."""
    number = request.GET.get("plan", "")
    if number.isdecimal() and len(number) < 9:
        found = get_object_or_404(without_documents(), farm=farm, number=int(number))
        plan: WeekPlan | None = with_documents(plan=found)
    else:
        plan = current_plan_at_hand(farm=farm)
    if plan is not None:
        plan.farm = farm
    today = clock.local_date(clock.now(), farm.zone)
    by = request.GET.get("by", OUTFITS)
    by = by if by in BY else OUTFITS
    at = request.GET.get("rows", "")
    page = int(at) if at.isdecimal() and len(at) < 5 else 1
    newest = newest_number(farm=farm)
    typed = request.GET.get(FIRST_ON)
    can_move = plan is not None and (plan.number == newest or plan.state == PlanState.SENT)
    working = days.working_day(farm=farm, today=today)
    shown = _Shown(by, page, newest, can_move, week_version(farm=farm), working)
    context = {
        "farm": farm,
        "place": "week",
        "plan": plan,
        "has_plan": plan is not None,
        "news": _news(plan),
        "newest_number": newest,
        "body": _body(request, farm, plan, today, shown) if plan else "",
        "can_move": can_move,
        "missing": [] if plan else missing_for_a_plan(farm=farm),
        "plan_from": days.suggested_day(farm=farm, today=today).isoformat() if typed is None else typed,
        "plan_from_wrong": "" if typed is None else _first_day(farm, typed, today)[1],
        "waits_until": _waits_until(farm, today),
    }
    return render(request, "pages/week.html", context)


def _news(plan: WeekPlan | None) -> dict[str, Any] | None:
    """Return what is newer than a plan that can still be sent, where it touches the plan."""
    if plan is None or plan.state != PlanState.MADE:
        return None
    return news_facts(plan=plan, now=clock.now())


@dataclass(frozen=True)
class _Shown:
    """What is shown of a week: what stands down the side, which page of it, beside which plans of the farm, and the day
    that the pages are about.
    """

    by: str
    page: int
    newest: int
    can_move: bool
    version: str
    working: dt.date


def _body(request: HttpRequest, farm: Farm, plan: WeekPlan, today: dt.date, shown: _Shown) -> SafeString:
    """Return all that a page tells of a plan, kept while nothing of it changes."""
    before = plan_before(plan=plan)
    return KeptParts(partial(week_mark, farm=farm, plan=plan, before=before), of=farm.pk).part(
        "pages/week_body.html",
        asked=(plan.pk, today, shown),
        facts=partial(_week_facts, farm, plan, today, shown),
        own={"csrf_token": partial(get_token, request)},
    )


def _week_facts(farm: Farm, plan: WeekPlan, today: dt.date, shown: _Shown) -> dict[str, Any]:
    board = week_board(farm=farm, plan=plan, today=today, working=shown.working, by=shown.by, page=shown.page)
    return {
        PASSING: not 1 <= shown.page <= board.pages,
        "farm": farm,
        "plan": plan,
        "board": board,
        "drawn": drawn_board(board, by=shown.by, can_move=shown.can_move),
        "page_numbers": range(1, board.pages + 1),
        "newest_number": shown.newest,
        "by": shown.by,
        "sides": [(key, words.named(said)) for key, said in BY.items()],
        "version": shown.version,
        "can_move": shown.can_move,
        "moved": plan.limits.get(MOVED) if plan.number == shown.newest else None,
        "changes": changes_against(plan),
    }


def _waits_until(farm: Farm, today: dt.date) -> str:
    """Return a sentence where every pass waits for its time, so that there is nothing to plan yet; else nothing."""
    first = days.nothing_before(farm=farm, today=today)
    if first is None:
        return ""
    says = _(
        "Every pass waits for its time: the first may start on {day}, {year}. There is nothing to plan before; a plan "
        "looks at most {most} days ahead."
    )
    return says.format(day=words.long_date(first), year=first.year, most=days.MOST_DAYS_AHEAD)


def _first_day(farm: Farm, typed: str, today: dt.date) -> tuple[dt.date | None, str]:
    """Return the day from which to plan, and what is wrong with what was typed for it."""
    try:
        first_on = dt.date.fromisoformat(typed)
        days.refuse_far_day(farm=farm, first_on=first_on, today=today)
    except ValueError:
        return None, _("Give the first day of the plan as a date, such as 2026-04-20.")
    except BadWeek as error:
        return None, plain_reason(farm, error.says)
    return first_on, ""


@require_POST
@for_roles(Role.MANAGER)
def plan_again(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Make a plan from a day on; what was sent is held on to where it can be. Pressed twice, it is made once.

    Where there is no plan, the day that was typed goes along in the address of the week and stands in its box again.
    """
    newest = newest_number(farm=farm)
    seen = request.POST.get("seen", "")
    if seen.isdecimal() and len(seen) < 9 and int(seen) < newest:
        messages.success(request, _("Plan {number} was made meanwhile; this is it.").format(number=newest))
        return plan_page(farm, newest)
    typed = request.POST.get(FIRST_ON, "")[:MOST_TYPED]
    back = f"{reverse('pages:week', args=[farm.code])}?{urlencode({FIRST_ON: typed})}"
    first_on, wrong = _first_day(farm, typed, clock.local_date(clock.now(), farm.zone))
    if wrong:
        return redirect(back)
    return planned_again(
        request,
        farm,
        kept="",
        back=back,
        first_on=first_on,
        seconds=SECONDS,
    )


@for_roles(Role.MANAGER)
def people(request: HttpRequest, farm: Farm, membership: Membership, number: int) -> HttpResponse:
    """Show what each hand has in a plan, before it is sent and for paper."""
    plan = with_documents(plan=get_object_or_404(without_documents(), farm=farm, number=number))
    plan.farm = farm
    before = plan_before(plan=plan)
    body = KeptParts(partial(people_mark, plan=plan, before=before), of=farm.pk).part(
        "pages/week_people_body.html",
        asked=plan.pk,
        facts=lambda: {"farm": farm, "plan": plan, **people_facts(plan=plan, before=before)},
        own={"csrf_token": partial(get_token, request)},
    )
    context = {"farm": farm, "place": "week", "plan": plan, "body": body, "news": _news(plan)}
    return render(request, "pages/week_people.html", context)


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
        says = _("Plan {number} is sent: the next morning sheets follow it.")
        messages.success(request, says.format(number=plan.number))
    return redirect("pages:week", farm_code=farm.code)
