"""Pools and their share-outs: look at what each field would get, share out, look at it again, undo it."""

from functools import partial
from http import HTTPStatus
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.farms.models import Farm, Membership, Role
from farmops.pages import share_out_page, words
from farmops.pages.access import for_roles
from farmops.pages.boxes import Boxes, plain
from farmops.pages.kept_forms import body_with_forms
from farmops.pages.kept_parts import KeptParts
from ledger.models import SharedBy
from ledger.selectors.office_marks import share_outs_mark
from ledger.selectors.pools import NoSuchPool, Pool, pool_named
from ledger.selectors.share_outs import MadeShareOut, made_share_out
from ledger.services.share_outs import ShareOutOutcome, reverse_share_out, share_out_pool

YEAR_DIGITS = 4


@for_roles(Role.BOOKKEEPER, Role.MANAGER)
def share_outs(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show the pools on GET; on POST try a share-out, or make it as it was shown; sent twice it is one."""
    if request.method != "POST":
        return _shown(request, farm)
    boxes = Boxes(request.POST)
    client_id, pool = boxes.client_id(), _pool(farm, boxes)
    facts: dict[str, Any] = {
        "shared_by": _shared_by(boxes, pool),
        "crop_year": _year(boxes),
        "first_on": boxes.day("first_on"),
        "last_on": boxes.day("last_on"),
        "why": boxes.note("why"),
    }
    tries, shown = boxes.text("then") != "book", boxes.text("shown")
    if pool is None or boxes.wrong:
        return _shown(request, farm, boxes)
    by: dict[str, Any] = {"made_by": request.user, "now": clock.now(), "dry_run": tries, "shown": shown}
    try:
        outcome = share_out_pool(farm=farm, client_id=client_id, pool=pool, **facts, **by)
    except DomainError as error:
        boxes.refused(error, otherwise="pool", names={"day": "last_on"})
        return _shown(request, farm, boxes, chosen=pool)
    if outcome.share_out is None:
        return _shown(request, farm, boxes, outcome, is_other=not tries)
    messages.success(request, _went(outcome.total_cents))
    return redirect("pages:share_out", farm_code=farm.code, share_out_id=outcome.share_out.pk)


@for_roles(Role.BOOKKEEPER, Role.MANAGER)
def share_out(request: HttpRequest, farm: Farm, membership: Membership, share_out_id: int) -> HttpResponse:
    """Show what each season got of a share-out, and why."""
    return _shown_one(request, farm, _row(farm, share_out_id))


@require_POST
@for_roles(Role.BOOKKEEPER, Role.MANAGER)
def reverse(request: HttpRequest, farm: Farm, membership: Membership, share_out_id: int) -> HttpResponse:
    """Undo a share-out with a reason."""
    boxes, made = Boxes(request.POST), _row(farm, share_out_id)
    why = boxes.note("why")
    try:
        if not boxes.wrong:
            reverse_share_out(share_out=made.share_out, why=why, made_by=request.user, now=clock.now())
    except DomainError as error:
        if "why" not in error.fields:
            messages.error(request, plain(error.says))
            return redirect("pages:share_out", farm_code=farm.code, share_out_id=share_out_id)
        boxes.refused(error, otherwise="why")
    if boxes.wrong:
        return _shown_one(request, farm, made, boxes)
    messages.success(request, _("The share-out was reversed; its pool holds it again."))
    return redirect("pages:share_out", farm_code=farm.code, share_out_id=share_out_id)


def _shown_one(
    request: HttpRequest, farm: Farm, made: MadeShareOut, refused: Boxes | None = None
) -> HttpResponse:
    context = {"farm": farm, "place": "costs", **share_out_page.share_out_facts(farm=farm, made=made)}
    if refused is not None:
        context |= {"typed": refused.typed, "wrong": refused.wrong}
    return render(request, "pages/share_out.html", context, status=422 if refused else 200)


def _went(total_cents: int) -> str:
    said = _("{amount} were shared out.") if total_cents >= 0 else _("{amount} went back to the fields.")
    return said.format(amount=words.dollars(abs(total_cents)))


def _row(farm: Farm, share_out_id: int) -> MadeShareOut:
    made = made_share_out(farm=farm, share_out_id=share_out_id)
    if made is None:
        raise Http404
    return made


def _pool(farm: Farm, boxes: Boxes) -> Pool | None:
    key = boxes.text("pool")
    try:
        return pool_named(farm=farm, key=key)
    except NoSuchPool:
        boxes.wrong["pool"] = _("Choose a pool.")
        return None


def _shared_by(boxes: Boxes, pool: Pool | None) -> str:
    """Return by what a pool is shared; what the form offers first is the way of its own kind."""
    if boxes.text("shared_by") == share_out_page.AS_USED:
        return share_out_page.usual_way(pool.kind) if pool is not None else ""
    return boxes.one_of("shared_by", SharedBy.values, says=_("Choose by what."))


def _year(boxes: Boxes) -> int | None:
    text = boxes.text("crop_year")
    if not text.isascii() or not text.isdecimal() or len(text) != YEAR_DIGITS:
        boxes.wrong["crop_year"] = _("Give the crop year, as 2026.")
        return None
    return int(text)


def _shown(
    request: HttpRequest,
    farm: Farm,
    boxes: Boxes | None = None,
    tried: ShareOutOutcome | None = None,
    *,
    is_other: bool = False,
    chosen: Pool | None = None,
) -> HttpResponse:
    today = clock.local_date(clock.now(), farm.zone)
    refused: dict[str, Any] | None = None
    if boxes is not None:
        refused = {"typed": boxes.typed, "wrong": boxes.wrong, "is_other": is_other}
    if refused is not None and tried is not None:
        refused |= share_out_page.tried_facts(farm=farm, typed=refused["typed"], tried=tried)
    if refused is not None and chosen is not None:
        refused["empty"] = share_out_page.empty_pool(farm=farm, pool=chosen, today=today)
    body = body_with_forms(
        request,
        "pages/share_outs_body.html",
        kept=KeptParts(partial(share_outs_mark, farm=farm), of=("share-outs", farm.pk)),
        asked=today,
        facts=lambda: {"farm": farm, **share_out_page.share_out_list(farm=farm, today=today)},
        fresh={},
        refused=refused,
    )
    status = HTTPStatus.CONFLICT if is_other else HTTPStatus.OK
    if boxes is not None and boxes.wrong:
        status = HTTPStatus.UNPROCESSABLE_ENTITY
    context = {"farm": farm, "place": "costs", "body": body}
    return render(request, "pages/share_outs.html", context, status=status)
