"""Bills: the list of what is owed, entering one by keyboard, paying, one bill with its photo, and correcting it."""

from functools import cache, partial
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.farms.models import Farm, Membership, Role
from farmops.pages import words
from farmops.pages.access import for_roles
from farmops.pages.bill_doubts import ask, ask_of_bill, ask_of_day, is_said
from farmops.pages.bill_form import bill_told, name_at, no_day, read_day, typed_of
from farmops.pages.bill_page import bill_facts, bill_row, bills_facts, payment_words
from farmops.pages.boxes import Boxes, plain
from farmops.pages.fleet_page import Refused
from farmops.pages.kept_forms import body_with_forms
from farmops.pages.kept_parts import KeptParts
from farmops.pages.views.bill_photos import keep_photos
from ledger.models import Bill
from ledger.selectors.bills import SHOWN_BESIDE, is_paid, lacks_quantity, payment_of
from ledger.selectors.categories import CategoryBook, category_book
from ledger.selectors.office_marks import bills_mark
from ledger.selectors.periods import booking_day
from ledger.services.bills import BillDiffers, enter_bill, pay_bill
from ledger.services.categories import add_category

WITH = (
    "payee",
    "entity",
    "machine",
    "implement",
    "pump",
    "season__field",
    "incident",
    "payment",
    "supersedes",
)

MOST_OF_A_NAME = 60


@for_roles(Role.BOOKKEEPER, Role.MANAGER)
def bills(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show what is owed and what came lately, with an empty form."""
    return _list(request, farm)


@require_POST
@for_roles(Role.BOOKKEEPER, Role.MANAGER)
def enter(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Enter a bill and give the next empty form; sent twice it is one."""
    boxes = Boxes(request.POST)
    bill = _entered(request, farm, boxes)
    if bill is None:
        _ask_for_photos_again(request, boxes)
        return _list(request, farm, Refused("bill", boxes.typed, boxes.wrong))
    return redirect("pages:bills", farm_code=farm.code)


@for_roles(Role.BOOKKEEPER, Role.MANAGER)
def one(request: HttpRequest, farm: Farm, membership: Membership, bill_id: int) -> HttpResponse:
    """Show one bill."""
    return _one(request, farm, bill_id)


@require_POST
@for_roles(Role.BOOKKEEPER, Role.MANAGER)
def correct(request: HttpRequest, farm: Farm, membership: Membership, bill_id: int) -> HttpResponse:
    """Enter what a bill really says in its place; the wrong one stays in sight."""
    boxes, wrong_one = Boxes(request.POST), _bill(farm, bill_id)
    bill = _entered(request, farm, boxes, supersedes=wrong_one)
    if bill is None:
        _ask_for_photos_again(request, boxes)
        return _one(request, farm, bill_id, Refused("bill", boxes.typed, boxes.wrong))
    return redirect("pages:bill", farm_code=farm.code, bill_id=bill.pk)


@require_POST
@for_roles(Role.BOOKKEEPER, Role.MANAGER)
def add_photos(request: HttpRequest, farm: Farm, membership: Membership, bill_id: int) -> HttpResponse:
    """Keep photos of a bill that was entered before; those that are not kept are named at the box."""
    bill, files = _bill(farm, bill_id), request.FILES.getlist("photos")
    wrong = [f"{name[:MOST_OF_A_NAME]}: {why}" for name, why in keep_photos(bill, files)]
    not_kept = len(wrong)
    if wrong:
        wrong.append(_("No browser fills this box in again: choose the photo anew."))
    if not files:
        wrong.append(_("Choose a photo of the bill."))
    kept = len(files) - not_kept
    if kept:
        says = ngettext("{count} photo of the bill was kept.", "{count} photos of the bill were kept.", kept)
        messages.success(request, says.format(count=words.capital(words.count_word(kept))))
    if wrong:
        return _one(request, farm, bill_id, photos_wrong=" ".join(wrong))
    return redirect("pages:bill", farm_code=farm.code, bill_id=bill.pk)


@require_POST
@for_roles(Role.BOOKKEEPER, Role.MANAGER)
def pay(request: HttpRequest, farm: Farm, membership: Membership, bill_id: int) -> HttpResponse:
    """Say that a bill was paid, today unless another day is given."""
    boxes, now, bill = Boxes(request.POST), clock.now(), _bill(farm, bill_id)
    today = clock.local_date(now, farm.zone)
    text = boxes.text("paid_on")
    paid_on = read_day(text, today=today, ahead_days=0) if text else today
    beside = f"pay-{bill.pk}"  # not said
    if paid_on is None:
        return _list(request, farm, beside=Refused(beside, boxes.typed, {"paid_on": no_day(text)}))
    if not is_paid(bill=bill):
        ask_of_day(boxes, paid_on=paid_on, bill_on=bill.bill_on)
    if boxes.wrong:
        typed = {**boxes.typed, "is_asked": "yes"}
        return _list(request, farm, beside=Refused(beside, typed, {"paid_on": boxes.wrong["paid_on"]}))
    try:
        pay_bill(
            bill=bill, paid_on=paid_on, check_no=boxes.text("check_no"), entered_by=request.user, now=now
        )
    except DomainError as error:
        at = next((name for name in ("check_no", "paid_on") if name in error.fields), "")
        if at and not is_paid(bill=bill):
            return _list(request, farm, beside=Refused(beside, boxes.typed, {at: plain(error.says)}))
        messages.error(request, plain(error.says))
    else:
        says = _("Paid: {amount} to {payee}.")
        messages.success(request, says.format(amount=words.dollars(bill.cents), payee=bill.payee))
    return redirect("pages:bills", farm_code=farm.code)


@require_POST
@for_roles(Role.BOOKKEEPER, Role.MANAGER)
def category(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Add a category of the farm's own."""
    boxes = Boxes(request.POST)
    try:
        row, _is_new = add_category(
            farm=farm,
            code=boxes.text("code"),
            label=boxes.text("label"),
            is_stocked=bool(boxes.text("is_stocked")),
            counts_for_1099=bool(boxes.text("counts_for_1099")),
        )
    except DomainError as error:
        boxes.refused(error, otherwise="code")
        return _list(request, farm, beside=Refused("category", boxes.typed, boxes.wrong))
    else:
        messages.success(request, _("Bills may be for {label} now.").format(label=row.label))
    return redirect("pages:bills", farm_code=farm.code)


def _entered(request: HttpRequest, farm: Farm, boxes: Boxes, supersedes: Bill | None = None) -> Bill | None:
    """Return the bill as entered, with a message; None where something is wrong with it."""
    now = clock.now()
    told = bill_told(boxes, farm=farm, now=now)
    if not boxes.wrong:
        ask_of_bill(boxes, farm=farm, told=told, supersedes=supersedes)
    if boxes.wrong:
        return None
    if supersedes is not None and supersedes.incident is not None and "incident" not in told:
        stays = boxes.text("place") == typed_of(supersedes)["place"]  # nobody said that it goes elsewhere
        told |= {"incident": supersedes.incident, "shared_by": ""} if stays else {}
    was_paid = payment_of(bill=supersedes)
    try:
        bill, is_new = enter_bill(
            farm=farm,
            client_id=boxes.client_id(),
            supersedes=supersedes,
            is_another=is_said(boxes, "number"),
            entered_by=request.user,
            now=now,
            **told,
        )
    except DomainError as error:
        names = {name: name_at(name) for name in error.fields}
        boxes.refused(error, otherwise="payee", names=names)
        if isinstance(error, BillDiffers) and "number" in error.fields:
            ask(boxes, "number", plain(error.says))
        return None
    categories = category_book(farm=farm)
    messages.success(request, _kept(is_new, is_paid(bill=bill), _bill_words(bill, categories)))
    if was_paid is not None:
        _tell_of_payment(request, bill)
    _tell_of_month(request, bill)
    if lacks_quantity(bill=bill, categories=categories):
        messages.warning(
            request,
            _("It names no item code and quantity, so it stays in stock and no field bears it. Correct it."),
        )
    for _name, why in keep_photos(bill, request.FILES.getlist("photos")):
        messages.error(request, _("The bill is kept, its photo is not: {why}").format(why=why))
    return bill


def _ask_for_photos_again(request: HttpRequest, boxes: Boxes) -> None:
    """Say that photos came with a form that was refused: no browser fills them in again."""
    if request.FILES.getlist("photos"):
        boxes.wrong["photos"] = _("Choose the photo again: it was not kept, as something else is wrong.")


def _tell_of_payment(request: HttpRequest, bill: Bill) -> None:
    """Say what the payment of a corrected bill is now, where that changed the amount."""
    before, payment = bill.supersedes, payment_of(bill=bill)
    if before is None or payment is None or before.cents == bill.cents:
        return
    says = _("{payment} is now of {amount} instead of {before}, since the bill is paid whole.").format(
        payment=payment_words(payment), amount=words.dollars(bill.cents), before=words.dollars(before.cents)
    )
    messages.warning(request, words.capital(says))


def _tell_of_month(request: HttpRequest, bill: Bill) -> None:
    """Say that a bill of a closed month is booked into the next open one."""
    booked_on = booking_day(farm=bill.farm, day=bill.bill_on)
    if booked_on != bill.bill_on:
        says = _("{month} is closed: the bill is booked into {booked}.").format(
            month=words.month_and_year(bill.bill_on), booked=words.month_and_year(booked_on)
        )
        messages.warning(request, words.capital(says))


def _bill_words(bill: Bill, categories: CategoryBook) -> dict[str, str]:
    row = bill_row(bill, categories, (set(), set()))
    return {name: row[name] for name in ("amount", "payee", "category")} | {
        "place": row["place"] or _("what was owed")
    }


def _kept(is_new: bool, is_paid: bool, said: dict[str, str]) -> str:
    if is_new:
        says = (
            _("Kept: {amount} of {payee}, paid. For {category}; goes to {place}.")
            if is_paid
            else _("Kept: {amount} of {payee}. For {category}; goes to {place}.")
        )
    else:
        says = (
            _("Kept before: {amount} of {payee}, paid. For {category}; goes to {place}.")
            if is_paid
            else _("Kept before: {amount} of {payee}. For {category}; goes to {place}.")
        )
    return says.format(**said)


def _bill(farm: Farm, bill_id: int) -> Bill:
    rows = Bill.objects.filter(farm=farm).select_related(*WITH).prefetch_related(*SHOWN_BESIDE)
    return get_object_or_404(rows, pk=bill_id)


def _list(
    request: HttpRequest, farm: Farm, refused: Refused | None = None, *, beside: Refused | None = None
) -> HttpResponse:
    now = clock.now()

    def facts() -> dict[str, Any]:
        return {"farm": farm, **bills_facts(farm=farm, now=now, refused=refused, beside=beside)}

    is_refused = refused is not None or beside is not None
    body = body_with_forms(
        request,
        "pages/bills_body.html",
        kept=KeptParts(partial(bills_mark, farm=farm), of=("bills", farm.pk)),
        asked=clock.local_date(now, farm.zone),
        facts=facts,
        fresh={},
        refused={"typed": {} if refused is None else refused.typed} if is_refused else None,
    )
    context = {"farm": farm, "place": "costs", "body": body, "is_refused": is_refused}
    return render(request, "pages/bills.html", context, status=422 if is_refused else 200)


def _one(
    request: HttpRequest, farm: Farm, bill_id: int, refused: Refused | None = None, *, photos_wrong: str = ""
) -> HttpResponse:
    now, is_refused = clock.now(), refused is not None or bool(photos_wrong)

    @cache
    def facts() -> dict[str, Any]:
        told = bill_facts(farm=farm, bill=_bill(farm, bill_id), now=now, refused=refused)
        return {"farm": farm, "photos_wrong": photos_wrong, **told}

    kept = KeptParts(partial(bills_mark, farm=farm), of=("bills", farm.pk))
    body = body_with_forms(
        request,
        "pages/bill_body.html",
        kept=kept,
        asked=(bill_id, clock.local_date(now, farm.zone)),
        facts=facts,
        fresh={},
        refused={"typed": {} if refused is None else refused.typed} if is_refused else None,
    )
    headline = kept.values("bill", asked=bill_id, make=lambda: facts()["headline"])
    context = {
        "farm": farm,
        "place": "costs",
        "headline": headline,
        "body": body,
        "is_refused": refused is not None,
    }
    return render(request, "pages/bill.html", context, status=422 if is_refused else 200)
