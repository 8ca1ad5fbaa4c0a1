"""What the pages of bills show: what is owed, what came lately, one bill with its photo, and the form that enters one."""

import datetime as dt
import uuid
from typing import Any

from farmops.core import clock
from farmops.farms.models import Farm
from farmops.pages import words
from farmops.pages.bill_form import SHARES, rows_in, typed_of, written
from farmops.pages.fleet_page import Refused
from ledger.models import Bill, Entity
from ledger.selectors.bills import (
    bill_places,
    is_paid,
    items_known,
    payee_hints,
    reversed_in_books,
    standing_bills,
    unpaid_bills,
)
from ledger.selectors.categories import CategoryBook, category_book
from ledger.selectors.drafts import subject_of
from scheduling.models import Incident

MOST_HINTS = 200
MOST_SHOWN = 40
MOST_INCIDENTS = 20


def bills_facts(*, farm: Farm, now: dt.datetime, refused: Refused | None = None) -> dict[str, Any]:
    """Return the unpaid bills, the newest ones and an empty form, or the one that was refused."""
    categories = category_book(farm=farm)
    today = clock.local_date(now, farm.zone)
    unpaid = unpaid_bills(farm=farm)
    newest = list(standing_bills(farm=farm)[: MOST_SHOWN + 1])
    undone = reversed_in_books(bills=[*unpaid, *newest])
    owed_cents = sum(bill.cents for bill in unpaid)
    return {
        "headline": _headline(len(unpaid), owed_cents),
        "unpaid": [bill_row(bill, categories, undone) for bill in unpaid],
        "owed": words.dollars(owed_cents),
        "newest": [bill_row(bill, categories, undone) for bill in newest[:MOST_SHOWN]],
        "is_more": len(newest) > MOST_SHOWN,
        "today": written(today),
        "form": form_facts(farm=farm, now=now, refused=refused),
    }


def bill_facts(*, farm: Farm, bill: Bill, now: dt.datetime, refused: Refused | None = None) -> dict[str, Any]:
    """Return one bill: its facts, items, photos, and the form that corrects it."""
    categories = category_book(farm=farm)
    row = bill_row(bill, categories, reversed_in_books(bills=[bill]))
    newer = Bill.objects.filter(supersedes=bill).first()
    refused = refused or Refused(typed=typed_of(bill))
    return {
        "bill": row,
        "headline": f"{bill.payee.name}: {words.dollars(bill.cents)}",
        "facts": [(name, said) for name, said in _told(bill, row) if said],
        "items": [
            {
                "category": categories.label(item.category),
                "item": item.item,
                "lot": item.lot,
                "quantity": "" if item.quantity_e4 is None else words_of(item.quantity_e4, item.unit),
                "place": subject_of(season=item.season, machine=item.machine, implement=None, pump=None),
                "says": item.says,
                "amount": words.dollars(item.cents),
            }
            for item in bill.items.select_related("season__field", "machine")
        ],
        "photos": [photo.pk for photo in bill.photos.all()],
        "newer": newer,
        "today": written(clock.local_date(now, farm.zone)),
        "form": form_facts(farm=farm, now=now, refused=refused),
        "is_refused": bool(refused.wrong),
    }


def form_facts(*, farm: Farm, now: dt.datetime, refused: Refused | None) -> dict[str, Any]:
    """Return what the form of a bill offers, with what was typed before."""
    refused = refused or Refused()
    today = clock.local_date(now, farm.zone)
    categories = category_book(farm=farm)
    typed = {"bill_on": written(today), **refused.typed}
    wrong, rows = refused.wrong, rows_in(typed)
    return {
        "id": typed.get("client_id") or str(uuid.uuid4()),
        "typed": typed,
        "wrong": wrong,
        "first": "" if wrong else "payee",
        "payees": [
            (hint.payee, categories.label(hint.category)) for hint in payee_hints(farm=farm, most=MOST_HINTS)
        ],
        "categories": [(row.code, row.label) for row in categories.billed()],
        "places": [*SHARES, *bill_places(farm=farm, crop_year=today.year), *_incidents(farm)],
        "items": [(code, categories.label(category)) for code, category, _unit in items_known(farm=farm)],
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
    return [f"incident {pk}" for pk in newest[:MOST_INCIDENTS]]


def bill_row(bill: Bill, categories: CategoryBook, undone: tuple[set[int], set[int]]) -> dict[str, Any]:
    """Return one bill as a row of a table; `undone` says of which bills and of which payments the entry was reversed."""
    items = list(bill.items.all())
    labels = dict.fromkeys(categories.label(item.category) for item in items)
    paid = getattr(bill, "payment", None)
    return {
        "pk": bill.pk,
        "payee": bill.payee.name,
        "number": bill.number,
        "on": f"{bill.bill_on:%b} {bill.bill_on.day}, {bill.bill_on.year}",
        "amount": words.dollars(bill.cents),
        "is_credit": bill.cents < 0,
        "category": ", ".join(labels) or categories.label(bill.category),
        "place": _place(bill),
        "entity": bill.entity.name if bill.entity else "",
        "paid": _settled(bill, undone),
        "check_no": paid.check_no if paid is not None else "",
        "photos": len(bill.photos.all()),
        "form_id": str(uuid.uuid4()),
    }


def words_of(quantity_e4: int, unit: str) -> str:
    """Return a quantity with its unit."""
    whole, rest = divmod(abs(quantity_e4), 10_000)
    decimals = f".{rest:04d}".rstrip("0") if rest else ""
    return f"{'−' if quantity_e4 < 0 else ''}{whole:,}{decimals} {unit}"


def _headline(count: int, owed_cents: int) -> str:
    if not count:
        return "Every bill is paid"
    bills = "bill is" if count == 1 else "bills are"
    return f"{words.capital(words.count_word(count))} {bills} not paid: {words.dollars(owed_cents)}"


def _told(bill: Bill, row: dict[str, Any]) -> list[tuple[str, str]]:
    return [
        ("Invoice", bill.number),
        ("Day of the bill", row["on"]),
        ("Dollars", row["amount"]),
        ("of it sales tax", words.dollars(bill.sales_tax_cents) if bill.sales_tax_cents else ""),
        ("For", row["category"]),
        ("Goes to", row["place"]),
        ("Crop year", str(bill.crop_year or "")),
        ("In the name of", row["entity"]),
        ("Paid", row["paid"] or "not yet"),
        ("Note", bill.note),
    ]


def _place(bill: Bill) -> str:
    if bill.shared_by:
        share = "by acres" if bill.shared_by == "acres" else "in equal parts"
        return f"all fields of {bill.crop_year or bill.bill_on.year}, {share}"
    named = subject_of(season=bill.season, machine=bill.machine, implement=bill.implement, pump=bill.pump)
    if bill.incident is not None:
        return f"incident {bill.incident.pk}" + (f", {named}" if named else "")
    return named


def _settled(bill: Bill, undone: tuple[set[int], set[int]]) -> str:
    """Return how a bill was settled, as the books have it; empty where it is owed."""
    of_bills, of_payments = undone
    if bill.pk in of_bills:
        return "reversed in the books"
    paid = getattr(bill, "payment", None)
    if paid is None:
        return "paid" if is_paid(bill=bill) else ""
    return "" if bill.pk in of_payments else _paid(paid)


def _paid(payment: Any) -> str:
    on = payment.paid_on
    by_check = f", check {payment.check_no}" if payment.check_no else ""
    return f"{on:%b} {on.day}, {on.year}{by_check}"


def _line(number: int, typed: dict[str, Any], wrong: Any) -> dict[str, Any]:
    """Return one line of the form: what was typed and what is wrong of it."""
    names = ("category", "item", "quantity", "unit", "lot", "amount_usd", "place", "says")
    row: dict[str, Any] = {name: typed.get(f"{name}_{number}", "") for name in names}
    said = [wrong[f"{name}_{number}"] for name in names if f"{name}_{number}" in wrong]
    return {**row, "no": number, "shown": number + 1, "wrong": " ".join(said)}
