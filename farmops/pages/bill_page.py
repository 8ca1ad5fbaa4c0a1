"""What the pages of bills show: what is owed, what came lately, one bill with its photo, and the form that enters one."""

import datetime as dt
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from farmops.core import clock
from farmops.farms.models import Farm, Machine, Season
from farmops.pages import words
from farmops.pages.bill_form import incident_words, rows_in, share_words, typed_of, written
from farmops.pages.bill_places import line_place_said, place_said
from farmops.pages.fleet_page import Refused
from ledger.models import Bill, BillPayment, Entity
from ledger.selectors.bills import (
    bill_place_words,
    corrected_bills,
    entries_of,
    is_paid,
    items_known,
    listed_bills,
    payee_hints,
    payment_of,
    reversed_in_books,
)
from ledger.selectors.categories import CategoryBook, category_book
from scheduling.models import Incident

MOST_HINTS = 200
MOST_SHOWN = 40
MOST_INCIDENTS = 20


def bills_facts(
    *, farm: Farm, now: dt.datetime, refused: Refused | None = None, beside: Refused | None = None
) -> dict[str, Any]:
    """Return the unpaid bills, the newest ones and an empty form, or the one that was refused.

    `beside` is a refused form of another kind: that of a payment, by its bill, or of a new category.
    """
    categories = category_book(farm=farm)
    today = clock.local_date(now, farm.zone)
    unpaid, newest = listed_bills(farm=farm, most=MOST_SHOWN + 1)
    undone = reversed_in_books(bills=[*unpaid, *newest])
    owed_cents = sum(bill.cents for bill in unpaid)
    return {
        "headline": _headline(len(unpaid), owed_cents),
        "unpaid": [bill_row(bill, categories, undone) | {"pay_key": f"pay-{bill.pk}"} for bill in unpaid],
        "beside": beside or Refused(),
        "owed": words.dollars(owed_cents),
        "newest": [bill_row(bill, categories, undone) for bill in newest[:MOST_SHOWN]],
        "is_more": len(newest) > MOST_SHOWN,
        "today": written(today),
        "form": form_facts(farm=farm, categories=categories, now=now, refused=refused)
        | ({"first": ""} if beside else {}),
    }


def bill_facts(*, farm: Farm, bill: Bill, now: dt.datetime, refused: Refused | None = None) -> dict[str, Any]:
    """Return one bill: its facts, items, photos, and the form that corrects it."""
    categories = category_book(farm=farm)
    row = bill_row(bill, categories, reversed_in_books(bills=[bill]))
    older = corrected_bills(bill=bill)
    newer = Bill.objects.filter(supersedes=bill).first()
    refused = refused or Refused(typed=typed_of(bill))
    return {
        "bill": row,
        "headline": f"{bill.payee.name}: {words.dollars(bill.cents)}",
        "facts": [(name, said) for name, said in _told(bill, row) if said],
        "items": [
            {
                "category": words.named(categories.label(item.category)),
                "item": item.item,
                "lot": item.lot,
                "quantity": "" if item.quantity_e4 is None else words_of(item.quantity_e4, item.unit),
                "place": line_place_said(bill, item, categories),
                "says": item.says,
                "amount": words.dollars(item.cents),
            }
            for item in bill.items.all()
        ],
        "photos": [photo.pk for photo in bill.photos.all()],
        "payment": payment_words(payment_of(bill=bill)),
        "older": older[0] if older else None,
        "older_photos": [photo.pk for one in older for photo in one.photos.all()],
        "newer": newer,
        "entries": [
            {
                "number": entry.number,
                "is_of_payment": entry.payment_id is not None,
                "reversed_by": entry.reversed_by.number if hasattr(entry, "reversed_by") else None,
            }
            for entry in entries_of(bill=bill)
        ],
        "today": written(clock.local_date(now, farm.zone)),
        "form": form_facts(farm=farm, categories=categories, now=now, refused=refused),
        "is_refused": bool(refused.wrong),
    }


def form_facts(
    *, farm: Farm, categories: CategoryBook, now: dt.datetime, refused: Refused | None
) -> dict[str, Any]:
    """Return what the form of a bill offers, with what was typed before."""
    refused = refused or Refused()
    today = clock.local_date(now, farm.zone)
    typed = {"bill_on": written(today), **refused.typed}
    wrong, rows = refused.wrong, rows_in(typed)
    places = bill_place_words(farm=farm, crop_year=today.year)
    return {
        "typed": typed,
        "wrong": wrong,
        "first": "" if wrong else "payee",
        "payees": [
            (hint.payee, words.named(categories.label(hint.category)))
            for hint in payee_hints(farm=farm, most=MOST_HINTS)
        ],
        "categories": [(row.code, words.named(row.label)) for row in categories.billed()],
        "places": [*share_words().values(), *places.values(), *_incidents(farm)],
        "line_places": [name for (kind, _pk), name in places.items() if kind in (Season, Machine)],
        "items": [
            (code, words.named(categories.label(category)))
            for code, category, _unit in items_known(farm=farm)
        ],
        "entities": list(Entity.objects.filter(farm=farm).values_list("code", "name")),
        "rows": [_line(number, typed, wrong) for number in range(rows)],
        "has_rows": any(typed.get(f"{name}_{n}") for n in range(rows) for name in ("category", "item", "amount_usd"))
        or any(name[-2:-1] == "_" and name[-1].isdigit() for name in wrong),
    }  # fmt: skip


def _incidents(farm: Farm) -> list[str]:
    """Return the incidents without a bill, newest first, as they are typed for a place."""
    billed = Bill.objects.filter(farm=farm, superseded_by__isnull=True, incident__isnull=False)
    rows = Incident.objects.filter(farm=farm).exclude(pk__in=billed.values("incident"))
    newest = rows.order_by("-happened_at", "-pk").values_list("pk", flat=True)
    return [incident_words(pk) for pk in newest[:MOST_INCIDENTS]]


def bill_row(bill: Bill, categories: CategoryBook, undone: tuple[set[int], set[int]]) -> dict[str, Any]:
    """Return one bill as a row of a table; `undone` says of which bills and of which payments the entry was reversed."""
    items = list(bill.items.all())
    labels = dict.fromkeys(words.named(categories.label(item.category)) for item in items)
    paid = getattr(bill, "payment", None)
    return {
        "pk": bill.pk,
        "payee": bill.payee.name,
        "number": bill.number,
        "on": words.table_date(bill.bill_on),
        "amount": words.dollars(bill.cents),
        "is_credit": bill.cents < 0,
        "category": ", ".join(labels) or words.named(categories.label(bill.category)),
        "place": place_said(bill, categories),
        "entity": bill.entity.name if bill.entity else "",
        "paid": _settled(bill, undone),
        "check_no": paid.check_no if paid is not None else "",
        "photos": len(bill.photos.all()),
    }


def payment_words(payment: BillPayment | None) -> str:
    """Return a payment by its check and its day; empty where there is none."""
    if payment is None:
        return ""
    says = _("the payment of {day} by check {check}") if payment.check_no else _("the payment of {day}")
    return says.format(day=words.full_date(payment.paid_on), check=payment.check_no)


def words_of(quantity_e4: int, unit: str) -> str:
    """Return a quantity with its unit."""
    whole, rest = divmod(abs(quantity_e4), 10_000)
    decimals = f".{rest:04d}".rstrip("0") if rest else ""
    return f"{'−' if quantity_e4 < 0 else ''}{whole:,}{decimals} {unit}"


def _headline(count: int, owed_cents: int) -> str:
    if not count:
        return _("Every bill is paid")
    return ngettext(
        "{count} bill is not paid: {amount}", "{count} bills are not paid: {amount}", count
    ).format(count=words.capital(words.count_word(count)), amount=words.dollars(owed_cents))


def _told(bill: Bill, row: dict[str, Any]) -> list[tuple[str, str]]:
    return [
        (_("Invoice"), bill.number),
        (_("Day of the bill"), row["on"]),
        (_("Dollars"), row["amount"]),
        (_("of it sales tax"), words.dollars(bill.sales_tax_cents) if bill.sales_tax_cents else ""),
        (pgettext("bill", "For"), row["category"]),
        (_("Goes to"), row["place"]),
        (_("Crop year"), str(bill.crop_year or "")),
        (_("In the name of"), row["entity"]),
        (pgettext("bill", "Paid"), row["paid"] or _("not yet")),
        (_("Note"), bill.note),
    ]


def _settled(bill: Bill, undone: tuple[set[int], set[int]]) -> str:
    """Return how a bill was settled, as the books have it; empty where it is owed."""
    of_bills, of_payments = undone
    if bill.pk in of_bills:
        return _("reversed in the books")
    paid = getattr(bill, "payment", None)
    if paid is None:
        is_settled = bill.supersedes_id is not None and is_paid(bill=bill)
        return pgettext("bill", "paid") if is_settled else ""
    return "" if bill.pk in of_payments else _paid(paid)


def _paid(payment: Any) -> str:
    on = words.table_date(payment.paid_on)
    if not payment.check_no:
        return on
    return _("{day}, check {check}").format(day=on, check=payment.check_no)


def _line(number: int, typed: dict[str, Any], wrong: Any) -> dict[str, Any]:
    """Return one line of the form: what was typed and what is wrong of it."""
    names = ("category", "item", "quantity", "unit", "lot", "amount_usd", "place", "says")
    row: dict[str, Any] = {name: typed.get(f"{name}_{number}", "") for name in names}
    said = {name: wrong[f"{name}_{number}"] for name in names if f"{name}_{number}" in wrong}
    at = f"line-{number}"  # not said
    return {**row, "no": number, "shown": number + 1, "at": at, "bad": said, "wrong": " ".join(said.values())}
