"""Orders of work: the list, one order as a line with its gaps, and changing it step by step."""

from typing import Any
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.farms.models import Farm, Membership, Role
from farmops.pages import order_page
from farmops.pages.access import for_roles
from farmops.pages.boxes import Boxes
from farmops.pages.order_form import changed_order
from farmops.pages.order_lay_page import laying_rows
from scheduling.models import OrderOfWork, OrderVersion
from scheduling.orders import Order
from scheduling.selectors.orders import KeptOrder, kept, versions_of
from scheduling.services.order_files import order_text, starting_orders
from scheduling.services.order_keeping import (
    OrderChanged,
    OrderRefused,
    add_order,
    change_order,
    free_code,
    put_away,
)

PLACE = "orders"


@for_roles(Role.MANAGER)
def orders(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show the orders of the farm and those to start from."""
    context = {
        "farm": farm,
        "place": PLACE,
        "layings": laying_rows(farm=farm),
        **order_page.order_rows(farm=farm),
    }
    return render(request, "pages/orders.html", context)


@require_POST
@for_roles(Role.MANAGER)
def copy_order(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Copy an order that ships, or one of the farm's, as a new one of the farm."""
    boxes = Boxes(request.POST)
    source, key = boxes.text("source"), boxes.text("key", most=40)
    if source == "shipped":
        order = starting_orders().get(key)
        if order is None:
            raise Http404
    else:
        order = kept(_row(farm, key)).order
    code = free_code(farm=farm, wanted=slugify(key) or "order")
    try:
        made = add_order(farm=farm, code=code, order=order, made_by=request.user, now=clock.now())  # type: ignore[arg-type]
    except DomainError as error:
        messages.error(request, error.says)
        return redirect("pages:orders", farm.code)
    messages.success(request, _("Copied. It is the farm’s own now: change what differs here."))
    return redirect("pages:order", farm.code, made.code)


@for_roles(Role.MANAGER)
def order(request: HttpRequest, farm: Farm, membership: Membership, code: str) -> HttpResponse:
    """Show one order; with `step`, the form of that step is open; with `version`, what it said then."""
    row = _row(farm, code)
    asked = request.GET.get("version", "")
    version = None
    if asked:
        if not asked.isdecimal() or len(asked) > 9:
            raise Http404
        version = get_object_or_404(OrderVersion, order=row, number=int(asked))
        version = version if version.number != row.newest_no else None
    return _shown(request, farm, kept(row), version=version, step=request.GET.get("step", ""))


@require_POST
@for_roles(Role.MANAGER)
def change(request: HttpRequest, farm: Farm, membership: Membership, code: str) -> HttpResponse:
    """Keep one change of an order as its next version, or say where it cannot be."""
    row = _row(farm, code)
    boxes = Boxes(request.POST)
    before = kept(row)
    seen = boxes.text("seen", most=9)
    now_asked, key = changed_order(boxes, before.order)
    if boxes.wrong:
        return _refused(request, farm, before, now_asked, key, boxes)
    try:
        after = change_order(
            row=row,
            order=now_asked,
            seen=int(seen) if seen.isdecimal() else 0,
            made_by=request.user,  # type: ignore[arg-type]
            now=clock.now(),
        )
    except OrderRefused as error:
        _place(boxes, error, now_asked, key)
        return _refused(request, farm, before, now_asked, key, boxes)
    except OrderChanged as error:
        messages.error(request, error.says)
        return redirect("pages:order", farm.code, code)
    if after.version.number == before.version.number:
        messages.success(request, _("Nothing was changed."))
    else:
        told = order_page.changes_said(before.order, after.order)
        messages.success(request, _("Kept: {told}. What was laid out before stays.").format(told=told))
    address = reverse("pages:order", args=[farm.code, code])
    is_open = boxes.text("do").startswith(("add", "copy"))
    return redirect(f"{address}?{urlencode({'step': key})}#step" if is_open else f"{address}#{key or 'main'}")


@require_POST
@for_roles(Role.MANAGER)
def away(request: HttpRequest, farm: Farm, membership: Membership, code: str) -> HttpResponse:
    """Put an order away, or take it out again."""
    put_away(row=_row(farm, code), away=request.POST.get("away") == "yes")
    return redirect("pages:orders", farm.code)


@for_roles(Role.MANAGER)
def order_file(request: HttpRequest, farm: Farm, membership: Membership, code: str) -> HttpResponse:
    """Hand out an order as a file that another farm can read in."""
    answer = HttpResponse(order_text(kept(_row(farm, code)).order), content_type="application/json")
    answer["Content-Disposition"] = f'attachment; filename="{code}.json"'  # not said
    return answer


def _row(farm: Farm, code: str) -> OrderOfWork:
    return get_object_or_404(OrderOfWork, farm=farm, code=code)


def _place(boxes: Boxes, error: OrderRefused, asked: Order, key: str) -> None:
    """Put each sentence at its box, where the form of the step has it; else all above the form."""
    number = asked.number_of(key)
    for at, says in error.fields.items():
        name = at.removeprefix(f"steps/{number - 1}/") if number else at
        boxes.wrong.setdefault(name if "/" not in name else "all", says)


def _refused(
    request: HttpRequest, farm: Farm, before: KeptOrder, asked: Order, key: str, boxes: Boxes
) -> HttpResponse:
    """Show the order as it stands, with what was typed in its form and what is wrong beside each box."""
    verb = boxes.text("do").partition(" ")[0]
    shown: dict[str, Any] = {"step": key, "typed": boxes.typed, "wrong": boxes.wrong}
    if verb not in ("step", "facts"):
        shown = {"step": "", "wrong": {"all": " ".join(dict.fromkeys(boxes.wrong.values()))}}
    return _shown(request, farm, before, status=422, **shown)


def _shown(
    request: HttpRequest,
    farm: Farm,
    shown: KeptOrder,
    *,
    version: OrderVersion | None = None,
    step: str = "",
    status: int = 200,
    **more: Any,
) -> HttpResponse:
    today = clock.local_date(clock.now(), farm.zone)
    facts = order_page.order_facts(farm=farm, kept=shown, today=today, version=version, step=step, **more)
    history = order_page.history_rows(versions_of(shown.row), zone=ZoneInfo(farm.zone))
    context = {"farm": farm, "place": PLACE, "history": history, **facts}
    return render(request, "pages/order.html", context, status=status)
