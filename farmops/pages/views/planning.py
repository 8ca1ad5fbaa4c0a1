"""Planning again from a page, and telling what came of it: a plan, or the rules that clash."""

import datetime as dt

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.desk import days
from farmops.desk.anew import PlanUnderWay, newest_number, plan_anew
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
    """Plan again after something was kept, from a day on or from the one the pages are about.

    Where there is no plan, `back` is the address to go to with the reason; rules that clash have a page of their own.
    """
    now = clock.now()
    from_day = first_on or days.day_to_plan_again(farm=farm, now=now)
    try:
        plan = plan_anew(
            farm=farm,
            first_on=from_day,
            seconds=seconds,
            made_by=request.user,  # type: ignore[arg-type]
            now=now,
        )
    except NoPlan as error:
        return no_plan(request, farm, error, kept=kept)
    except PlanUnderWay as error:
        messages.success(request, f"{kept} {error.says}".strip())
        return redirect(back)
    except DomainError as error:
        why = plain_reason(farm, error)
        none = _("There is no new plan: {why}").format(why=why)
        messages.error(request, f"{kept} {none}" if kept else why)
        return redirect(back)
    if kept:
        made = _("Plan {number} is made from it. Read it, then send it.").format(number=plan.number)
    else:
        made = _("Plan {number} is made. Read it, then send it.").format(number=plan.number)
    messages.success(request, f"{kept} {made}".strip())
    return plan_page(farm, plan.number)


def no_plan(request: HttpRequest, farm: Farm, error: NoPlan, *, kept: str = "") -> HttpResponse:
    """Show the rules that clash."""
    today = clock.local_date(clock.now(), farm.zone)
    context = {
        "farm": farm,
        "place": "week",
        "kept": kept,
        "is_again": True,
        "newest_number": newest_number(farm=farm),
        "plan_from": days.suggested_day(farm=farm, today=today),
        **no_plan_facts(farm=farm, error=error),
    }
    return render(request, "pages/no_plan.html", context, status=409)


def plain_reason(farm: Farm, error: DomainError) -> str:
    """Return the sentence of a refusal with its passes and dates as people say them."""
    told = words.dates_said(error.says)
    return said_again(keys_in_words(told, names=field_names(farm=farm), language=words.speaking()))
