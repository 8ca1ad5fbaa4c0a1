"""Moving a pass by hand: the plain form that works without a script, its price, keeping it, and going back."""

import datetime as dt
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse, QueryDict
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.desk import moving
from farmops.desk.anew import newest_number
from farmops.farms.models import Farm, Membership, Role
from farmops.pages.access import for_roles
from farmops.pages.boxes import Boxes
from farmops.pages.changed_page import changed_facts
from farmops.pages.move_page import move_facts, price_facts, ways_of
from farmops.pages.plan_news_page import news_facts
from farmops.pages.views.planning import plain_reason, plan_page
from scheduling.models import FieldPass, WeekPlan
from scheduling.selectors.plan_documents import with_documents, without_documents
from scheduling.selectors.spoken import names_of_plan
from scheduling.selectors.versions import week_version
from scheduling.services.moving import Priced, WeekChanged
from scheduling.services.moving_again import moved_before, undone_before

MOST_OUTFIT, MOST_SEEN = 200, 40
ASKED = ("outfit", "day", "hour")


@for_roles(Role.MANAGER)
def move(request: HttpRequest, farm: Farm, membership: Membership, number: int, pass_id: int) -> HttpResponse:
    """Show where a pass stands on GET, and with an hour asked for what moving it there would cost; on POST keep that."""
    plan, row = _plan(farm, number), _row(farm, pass_id)
    if request.method == "POST":
        return _keep(request, farm, plan, row)
    if not all(request.GET.get(name) for name in ASKED):
        return _shown(request, farm, plan, row)
    boxes = Boxes(request.GET)
    return _shown(request, farm, plan, row, boxes, _priced(farm, plan, row, boxes))


@require_POST
@for_roles(Role.MANAGER)
def undo(request: HttpRequest, farm: Farm, membership: Membership, number: int) -> HttpResponse:
    """Go back to the plan before a move."""
    plan = _plan(farm, number)
    try:
        back = moving.undo_move(
            plan=plan,
            seen=_seen(request),
            made_by=request.user,  # type: ignore[arg-type]
            now=clock.now(),
        )
    except WeekChanged:
        before = undone_before(plan=plan, seen=_seen(request), made_by=request.user)  # type: ignore[arg-type]
        if before is None:
            messages.error(
                request,
                _("The week was changed meanwhile, so nothing was undone. This is the week as it is now."),
            )
            return plan_page(farm, newest_number(farm=farm))
        back = before
    except DomainError as error:
        messages.error(request, error.says)
        return plan_page(farm, newest_number(farm=farm))
    says = _("The move is undone: plan {number} is again as plan {before} was.")
    messages.success(request, says.format(number=back.number, before=plan.limits["moved"]["of_plan"]))
    return plan_page(farm, back.number)


@require_GET
@for_roles(Role.MANAGER)
def ways(request: HttpRequest, farm: Farm, membership: Membership, number: int, pass_id: int) -> HttpResponse:
    """Tell the script which outfits a plan reckons with for a pass."""
    plan, row = _plan(farm, number), _row(farm, pass_id)
    found = ways_of(plan=plan, field_pass=row, names=names_of_plan(plan=plan))
    told = [{"outfit": one.outfit, "says": one.says, "resources": one.resources} for one in found]
    return JsonResponse({"ways": told})


def _plan(farm: Farm, number: int) -> WeekPlan:
    plans = without_documents().select_related("made_by")
    return with_documents(plan=get_object_or_404(plans, farm=farm, number=number))


def _row(farm: Farm, pass_id: int) -> FieldPass:
    rows = FieldPass.objects.select_related("season__field__pivot__pump", "farm")
    return get_object_or_404(rows, farm=farm, pk=pass_id)


def _seen(request: HttpRequest) -> str:
    """Return the version of the week that a change goes by: the script's header, else the form's own box."""
    return moving.version_of(request.headers.get("If-Match", "")) or request.POST.get("seen", "")[:MOST_SEEN]


def _priced(farm: Farm, plan: WeekPlan, row: FieldPass, boxes: Boxes) -> Priced | None:
    """Return the price of what stands in the boxes; None where something in them is wrong."""
    outfit, day, hour = boxes.text("outfit", most=MOST_OUTFIT), boxes.day("day"), boxes.hour("hour")
    if day is None or hour is None or boxes.wrong:
        return None
    starts_at = dt.datetime.combine(day, hour, ZoneInfo(farm.zone))
    try:
        return moving.price_move(
            plan=plan, field_pass=row, outfit=outfit, starts_at=starts_at, now=clock.now()
        )
    except DomainError as error:
        boxes.refused(error, otherwise="move", names={"starts_at": "hour"})
        boxes.wrong = {name: plain_reason(farm, error.says) for name in boxes.wrong}
        return None


def _keep(request: HttpRequest, farm: Farm, plan: WeekPlan, row: FieldPass) -> HttpResponse:
    boxes = Boxes(request.POST)
    seen = _seen(request)
    if seen and seen != week_version(farm=farm):
        priced = _priced(farm, plan, row, boxes)
        again = _moved_before(request, priced, seen)
        if priced is None or again is None:
            return _changed(request, farm, plan, row, boxes.typed)
        return _moved(request, farm, priced, again)
    priced = _priced(farm, plan, row, boxes)
    if priced is None:
        return _shown(request, farm, plan, row, boxes)
    try:
        kept = moving.keep_move(
            priced=priced,
            seen=seen,
            made_by=request.user,  # type: ignore[arg-type]
            now=clock.now(),
        )
    except WeekChanged:
        again = _moved_before(request, priced, seen)
        if again is None:
            return _changed(request, farm, plan, row, boxes.typed)
        kept = again
    except DomainError as error:
        boxes.refused(error, otherwise="move", names={"starts_at": "hour"})
        return _shown(request, farm, plan, row, boxes)
    return _moved(request, farm, priced, kept)


def _moved_before(request: HttpRequest, priced: Priced | None, seen: str) -> WeekPlan | None:
    """Return the plan of the same move, where this request is one that was sent twice."""
    if priced is None:
        return None
    return moved_before(priced=priced, seen=seen, made_by=request.user)  # type: ignore[arg-type]


def _moved(request: HttpRequest, farm: Farm, priced: Priced, kept: WeekPlan) -> HttpResponse:
    told = price_facts(priced=priced)
    says = _("{headline} Plan {number} has it so: read it, then send it.")
    messages.success(request, says.format(headline=told["headline"], number=kept.number))
    page = plan_page(farm, kept.number)
    if "If-Match" not in request.headers:
        return page
    # The script goes to the new plan by itself: were it redirected, it would read the page and its message away.
    return HttpResponse(status=201, headers={"Location": page["Location"]})


def _changed(
    request: HttpRequest, farm: Farm, plan: WeekPlan, row: FieldPass, typed: dict[str, Any]
) -> HttpResponse:
    """Show both versions: the move as it was asked for, and the week as it is now."""
    newest = _plan(farm, newest_number(farm=farm))
    asked = QueryDict(mutable=True)
    asked.update({name: str(typed.get(name, "")) for name in ASKED})
    again = reverse("pages:move", args=[farm.code, newest.number, row.pk])
    context = {
        "farm": farm,
        "place": "week",
        **changed_facts(farm=farm, seen=plan, newest=newest, field_pass=row, typed=typed),
        "again": f"{again}?{asked.urlencode()}",
    }
    answer = render(request, "pages/week_changed.html", context, status=412)
    answer["ETag"] = moving.entity_tag(week_version(farm=farm))
    return answer


def _shown(
    request: HttpRequest,
    farm: Farm,
    plan: WeekPlan,
    row: FieldPass,
    boxes: Boxes | None = None,
    priced: Priced | None = None,
) -> HttpResponse:
    version = week_version(farm=farm)
    facts = move_facts(farm=farm, plan=plan, field_pass=row)
    wrong = boxes.wrong if boxes else {}
    context: dict[str, Any] = {
        "farm": farm,
        "place": "week",
        "plan": plan,
        "version": version,
        "newest_number": newest_number(farm=farm),
        "news": news_facts(plan=plan, now=clock.now(), always=True),
        **facts,
        "typed": boxes.typed if boxes else facts["blank"],
        "wrong": wrong,
        "price": price_facts(priced=priced) if priced is not None else None,
    }
    answer = render(request, "pages/move.html", context, status=422 if wrong else 200)
    answer["ETag"] = moving.entity_tag(version)
    return answer
