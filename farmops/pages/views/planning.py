"""Planning again from a page as long work, and telling what came of it: a plan, or the rules that clash."""

import datetime as dt

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from farmops.core import clock
from farmops.core.models import LongWork, LongWorkState
from farmops.core.problems import DomainError
from farmops.desk import days
from farmops.desk.anew import newest_number
from farmops.desk.long_work import begin_plan, clash_of
from farmops.desk.morning import SHORT_SECONDS
from farmops.farms.models import Farm
from farmops.pages import words
from farmops.pages.no_plan_page import no_plan_facts
from scheduling.selectors.passes import field_names, keys_in_words
from scheduling.selectors.said_again import said_again
from scheduling.services.planning import NoPlan


def plan_page(farm: Farm, number: int) -> HttpResponse:
    """Send on to the page of one plan."""
    return redirect(f"{reverse('pages:week', args=[farm.code])}?plan={number}")


def planned_again(
    request: HttpRequest,
    farm: Farm,
    *,
    kept: str,
    back: str,
    first_on: dt.date | None = None,
    seconds: float = SHORT_SECONDS,
) -> HttpResponse:
    """Have the days planned again after something was kept, from a day on or from the one the pages are about.

    Where there is no plan, `back` is the address to go to with the reason; rules that clash have a page of their own.
    """
    now = clock.now()
    try:
        work = begin_plan(
            farm=farm,
            first_on=first_on or days.day_to_plan_again(farm=farm, now=now),
            seconds=seconds,
            asked_by=request.user,  # type: ignore[arg-type]
            is_news=bool(kept),
            now=now,
        )
    except DomainError as error:
        return not_planned(request, farm, error.says, kept=kept, back=back)
    return planning_told(request, farm, work, kept=kept, back=back, is_of_it=bool(kept))


def planning_told(
    request: HttpRequest, farm: Farm, work: LongWork, *, kept: str, back: str, is_of_it: bool = False
) -> HttpResponse:
    """Send on to the page of planning that is under way, or tell what came of it where it has ended."""
    if not work.is_over:
        if kept:
            messages.success(request, kept)
        return redirect("pages:one_long_work", farm_code=farm.code, work_id=work.pk)
    clash = clash_of(work)
    if clash is not None:
        return no_plan(request, farm, clash, kept=kept)
    if work.state != LongWorkState.FINISHED:
        return not_planned(request, farm, work.says, kept=kept, back=back)
    if is_of_it:
        made = _("Plan {number} is made from it. Read it, then send it.")
    else:
        made = _("Plan {number} is made. Read it, then send it.")
    messages.success(request, f"{kept} {made.format(number=work.result['plan'])}".strip())
    return plan_page(farm, work.result["plan"])


def not_planned(request: HttpRequest, farm: Farm, says: str, *, kept: str, back: str) -> HttpResponse:
    """Go back with the reason why there is no new plan."""
    why = plain_reason(farm, says)
    none = _("There is no new plan: {why}").format(why=why)
    messages.error(request, f"{kept} {none}" if kept else why)
    return redirect(back)


def no_plan(request: HttpRequest, farm: Farm, error: NoPlan, *, kept: str = "") -> HttpResponse:
    """Show the rules that clash."""
    today = clock.local_date(clock.now(), farm.zone)
    context = {
        "farm": farm,
        "place": "week",
        "kept": kept,
        "is_again": True,
        "newest_number": newest_number(farm=farm),
        "plan_from": days.suggested_day(farm=farm, today=today).isoformat(),
        **no_plan_facts(farm=farm, error=error),
    }
    return render(request, "pages/no_plan.html", context, status=409)


def plain_reason(farm: Farm, says: str) -> str:
    """Return the sentence of a refusal with its passes and dates as people say them."""
    told = words.dates_said(says)
    return said_again(keys_in_words(told, names=field_names(farm=farm), language=words.speaking()))
