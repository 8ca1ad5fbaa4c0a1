"""Long work: whoever pressed sees how far it is, calls it off if it takes too long, and goes on to what came of it."""

from http import HTTPStatus
from pathlib import Path

from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.long_work import call_off, pieces
from farmops.core.models import LongWork
from farmops.desk.long_work import clash_of
from farmops.farms.models import Farm, Membership, Role
from farmops.pages.access import for_roles
from farmops.pages.long_work_page import list_facts, now_facts, visible_kinds, work_facts
from farmops.pages.views.ledgers import MANIFEST, MANIFEST_TYPE
from farmops.pages.views.planning import no_plan
from ledger.exports.about import manifest_path

OFFICE = (Role.MANAGER, Role.BOOKKEEPER)
MOST_ROWS = 50


@for_roles(*OFFICE)
def long_work(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show what is under way and what ended in the last 30 days, the newest first."""
    rows = _visible(request, farm).order_by("-pk")
    before = request.GET.get("before", "")
    if before.isascii() and before.isdecimal() and len(before) < 19:
        rows = rows.filter(pk__lt=int(before))
    works = list(rows[: MOST_ROWS + 1])
    older = works[MOST_ROWS - 1].pk if len(works) > MOST_ROWS else None
    context = {"farm": farm, "place": "long_work", "older": older}
    return render(request, "pages/long_works.html", context | list_facts(farm=farm, works=works[:MOST_ROWS]))


@for_roles(*OFFICE)
def one_long_work(request: HttpRequest, farm: Farm, membership: Membership, work_id: int) -> HttpResponse:
    """Show one work. Asked for by the page itself it is the part that changes, and all of it once it has ended."""
    work = _one(request, farm, work_id)
    is_part = bool(getattr(request, "htmx", False))
    if is_part and not work.is_over:
        return render(request, "pages/long_work_now.html", now_facts(work=work))
    context = {
        "farm": farm,
        "place": "long_work",
        **work_facts(farm=farm, work=work),
    }
    if not is_part:
        return render(request, "pages/long_work.html", context)
    answer = render(request, "pages/long_work_whole.html", context)
    answer["HX-Retarget"], answer["HX-Reswap"] = "#work", "outerHTML"  # not said
    return answer


@require_POST
@for_roles(*OFFICE)
def call_off_long_work(
    request: HttpRequest, farm: Farm, membership: Membership, work_id: int
) -> HttpResponse:
    """Call a work off; what has ended already stays as it ended."""
    work = _one(request, farm, work_id)
    call_off(work=work, by=request.user, now=clock.now())  # type: ignore[arg-type]
    return redirect("pages:one_long_work", farm_code=farm.code, work_id=work.pk)


@for_roles(Role.MANAGER)
def long_work_clash(request: HttpRequest, farm: Farm, membership: Membership, work_id: int) -> HttpResponse:
    """Show the rules of which planning anew found that they cannot all be kept."""
    clash = clash_of(_one(request, farm, work_id))
    if clash is None:
        raise Http404
    answer = no_plan(request, farm, clash)
    answer.status_code = HTTPStatus.OK
    return answer


@for_roles(*OFFICE)
def long_work_file(
    request: HttpRequest, farm: Farm, membership: Membership, work_id: int
) -> HttpResponseBase:
    """Give the file that a work left, or its manifest."""
    work = _one(request, farm, work_id)
    if work.file_bytes is None:
        raise Http404
    if MANIFEST in request.GET:
        name = manifest_path(Path(work.file_name)).name
        return HttpResponse(work.result["manifest"], content_type=MANIFEST_TYPE, headers=_attached(name))
    headers = _attached(work.file_name) | {"Content-Length": str(work.file_bytes)}  # not said
    return StreamingHttpResponse(pieces(work=work), content_type=work.file_type, headers=headers)


def _attached(name: str) -> dict[str, str]:
    return {"Content-Disposition": f'attachment; filename="{name}"'}  # not said


def _visible(request: HttpRequest, farm: Farm) -> QuerySet[LongWork]:
    kinds = visible_kinds(request.farm_roles)  # type: ignore[attr-defined]
    return LongWork.objects.filter(farm=farm, kind__in=kinds).select_related(
        "asked_by", "call_off_by", "farm"
    )


def _one(request: HttpRequest, farm: Farm, work_id: int) -> LongWork:
    work: LongWork = get_object_or_404(_visible(request, farm), pk=work_id)
    return work
