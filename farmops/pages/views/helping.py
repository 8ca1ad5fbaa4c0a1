"""What would help: questions of a plan's week, answered in dollars; nothing is stored and nothing is sent."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from farmops.core import clock
from farmops.core.models import LongWork, LongWorkState
from farmops.core.problems import DomainError
from farmops.desk.help_lines import help_from_json
from farmops.desk.long_work import HELP, begin_help
from farmops.desk.supposing import refuse_to_suppose
from farmops.farms.models import Farm, Membership, Role
from farmops.pages import words
from farmops.pages.access import for_roles
from farmops.pages.boxes import Boxes
from farmops.pages.help_page import asking_facts, help_facts, plan_days, supposed
from farmops.pages.views.planning import plain_reason
from scheduling.models import WeekPlan
from scheduling.selectors.plan_documents import with_documents, without_documents
from scheduling.solver import ProblemError, parse_problem

USUAL_SECONDS, ONE_SECONDS = 24.0, 10.0
MOST_USD_PER_H = 10_000
MOST_READ = 1_000
_READ: set[tuple[int, int, str]] = set()
"""Plans whose problems were read whole in this process: by farm, row id and the hash of the problem."""


@for_roles(Role.MANAGER)
def help_week(request: HttpRequest, farm: Farm, membership: Membership, number: int) -> HttpResponse:
    """Show what can be asked on GET; on POST work out the answer and show it above the questions."""
    plan = with_documents(
        plan=get_object_or_404(without_documents().select_related("farm"), farm=farm, number=number)
    )
    if not _is_of_this_form(plan):
        says = _("Plan {number} was stored in an older form; plan again to ask of the new one.")
        messages.error(request, says.format(number=plan.number))
        return redirect(f"{reverse('pages:week', args=[farm.code])}?plan={plan.number}")
    if request.method != "POST":
        return _shown(request, farm, plan, work=_answered(request, plan))
    boxes = Boxes(request.POST)
    asked = [] if request.POST.get("then") == "usual" else _asked(boxes, plan)
    if boxes.wrong:
        return _shown(request, farm, plan, boxes=boxes)
    try:
        refuse_to_suppose(plan=plan, suppose=asked)
    except DomainError as error:
        boxes.wrong["what"] = plain_reason(farm, error.says)
        return _shown(request, farm, plan, boxes=boxes)
    work = begin_help(
        plan=plan,
        suppose=asked,
        seconds=ONE_SECONDS if asked else USUAL_SECONDS,
        asked_by=request.user,  # type: ignore[arg-type]
        now=clock.now(),
    )
    if not work.is_over:
        return redirect("pages:one_long_work", farm_code=farm.code, work_id=work.pk)
    if work.state != LongWorkState.FINISHED:
        boxes.wrong["what"] = plain_reason(farm, work.says)
    return _shown(request, farm, plan, boxes=boxes, work=work)


def _is_of_this_form(plan: WeekPlan) -> bool:
    """Whether the planner of today reads the plan's problem, which never changes: of each plan it is worked out once."""
    mark = (plan.farm_id, plan.pk, plan.problem_hash)
    if mark not in _READ:
        try:
            parse_problem(plan.problem)
        except ProblemError:
            return False
        if len(_READ) >= MOST_READ:
            _READ.clear()
        _READ.add(mark)
    return True


def _answered(request: HttpRequest, plan: WeekPlan) -> LongWork | None:
    """Return the long work whose answers the address asks for."""
    asked = request.GET.get("answers", "")
    if not (asked.isascii() and asked.isdecimal() and len(asked) < 19):
        return None
    finished = LongWork.objects.filter(farm=plan.farm, kind=HELP, state=LongWorkState.FINISHED)
    return finished.filter(pk=int(asked), result__plan=plan.number).first()


def _asked(boxes: Boxes, plan: WeekPlan) -> list[str]:
    """Return the one question of the form."""
    known = [value for _group, rows in asking_facts(plan=plan)["choices"] for value, _said in rows]
    what = boxes.one_of("what", known, says=_("Choose what to suppose."))
    day = boxes.one_of(
        "day", ["", *(day.isoformat() for day in plan_days(plan))], says=_("Choose a day of the plan.")
    )
    price = boxes.number_if_any("usd_per_h")
    if price is not None and not 0 <= price <= MOST_USD_PER_H:
        boxes.wrong["usd_per_h"] = _("A price an hour is 0 to {most} dollars.").format(
            most=f"{MOST_USD_PER_H:,}"
        )
    elif price is not None and ":+" not in what:
        boxes.wrong["usd_per_h"] = _("Only what is added has a price an hour.")
    return [supposed(what=what, day=day, usd_per_h=f"{price:.2f}" if price is not None else "")]


def _shown(
    request: HttpRequest,
    farm: Farm,
    plan: WeekPlan,
    *,
    boxes: Boxes | None = None,
    work: LongWork | None = None,
) -> HttpResponse:
    days = plan_days(plan)
    answers: dict[str, Any] = {}
    if work is not None and work.state == LongWorkState.FINISHED:
        answers = help_facts(found=help_from_json(work.result[words.speaking()]))
    context = {
        "farm": farm,
        "place": "week",
        "plan": plan,
        "span": _("{first} to {last}").format(first=words.long_date(days[0]), last=words.long_date(days[-1])),
        "typed": boxes.typed if boxes else {},
        "wrong": boxes.wrong if boxes else {},
        "usual_seconds": round(USUAL_SECONDS),
        "one_seconds": round(ONE_SECONDS),
        **asking_facts(plan=plan),
        **answers,
    }
    return render(request, "pages/help.html", context, status=422 if boxes and boxes.wrong else 200)
