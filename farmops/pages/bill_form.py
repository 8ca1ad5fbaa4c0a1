"""What was typed into the form of a bill, read into what the books take. Days and dollars as they stand on paper."""

import datetime as dt
import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from farmops.core import clock
from farmops.farms.models import Farm, Implement, Machine, Pump, Season
from farmops.pages.boxes import MOST_SHOWN, Boxes, no_number, read_number
from ledger.models import Bill, Entity, SharedBy
from ledger.selectors.bill_ends import has_rest, usual_place
from ledger.selectors.bills import bill_place_words, bill_places, last_category
from ledger.selectors.categories import category_book
from ledger.selectors.payees import one_spaced, payee_called
from ledger.services.bill_items import MOST_ITEMS, NewBillItem
from scheduling.models import Incident

ROWS = 6
SHARES = {
    SharedBy.ACRES.value: gettext_noop("by acres"),
    SharedBy.EQUAL.value: gettext_noop("in equal parts"),
    "": gettext_noop("the farm"),
}
"""Words that may be typed for a place: all fields of the crop year, or the farm as a whole."""
INCIDENT = gettext_noop("incident {number}")
PLAIN = re.compile(r"-?[0-9]{10,15}(\.[0-9]+)?")
US_DAY = re.compile(r"(?P<month>[0-9]{1,2})[/.-](?P<day>[0-9]{1,2})([/.-](?P<year>[0-9]{2}|[0-9]{4}))?")
FRESH_DAYS = 31  # farm judgement: a bill of the last weeks was paid today, for an older one the day is asked
NEXT_DAYS = 60  # farm judgement: a bill without a year is of the months behind, or dated a little ahead
LINE_NO = re.compile(r"[a-z_]+_([0-9]{1,3})")
ROW_FIELDS = ("category", "item", "quantity", "unit", "lot", "amount_usd", "place", "says")
NAMES = {"shared_by": "place", "season": "place", "machine": "place", "pump": "place", "items": "amount_usd"}


@dataclass(frozen=True)
class Place:
    """Where a bill or an item goes, as it was typed: a row by its kind, or a share over all fields."""

    kind: str = ""
    row: Season | Machine | Implement | Pump | Incident | None = None
    shared_by: str = ""
    is_told: bool = False


def read_day(text: str, *, today: dt.date, ahead_days: int = NEXT_DAYS) -> dt.date | None:
    """Return a day as people here write it: 4/20, 4/20/26, 4/20/2026 or 2026-04-20; None for what is none.

    Without a year it is that day of this year, or of the last where it would be more than so many days ahead.
    """
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        found = US_DAY.fullmatch(text)
    if found is None:
        return None
    year = found["year"]
    try:
        if year:
            full = int(year) + (2000 if len(year) == 2 else 0)
            return dt.date(full, int(found["month"]), int(found["day"]))
        day = dt.date(today.year, int(found["month"]), int(found["day"]))
        is_ahead = day > today + dt.timedelta(days=ahead_days)
        return day.replace(year=today.year - 1) if is_ahead else day
    except ValueError:
        return None


def no_day(text: str) -> str:
    """Return what is said to a text that is no day."""
    return _("“{text}” is not a day such as 4/20/2026.").format(text=text[:MOST_SHOWN])


def share_words() -> dict[str, str]:
    """Return the words for a share over all fields, and for the farm, in the reader's language, by their codes."""
    return {code: _(said) for code, said in SHARES.items()}


def incident_words(pk: int) -> str:
    """Return an incident as it is typed for a place."""
    return _(INCIDENT).format(number=pk)


def written(day: dt.date) -> str:
    """Return a day as the form shows it."""
    return f"{day.month}/{day.day}/{day.year}"


def bill_told(boxes: Boxes, *, farm: Farm, now: dt.datetime) -> dict[str, Any]:
    """Return what `enter_bill` takes, as it was typed; what was not understood stands in `boxes.wrong`."""
    today = clock.local_date(now, farm.zone)
    name = boxes.note("payee")
    known = payee_called(farm=farm, name=name)
    payee = one_spaced(name) if known is None else known.name
    told: dict[str, Any] = {
        "payee": payee,
        "number": boxes.note("number"),
        "bill_on": _day(boxes, "bill_on", today),
        "amount_usd": _amount(boxes, "amount_usd", says=_("Give the dollars, below zero for a credit.")),
        "sales_tax_usd": _amount(boxes, "sales_tax_usd") or "0",
        "crop_year": _year(boxes),
        "note": boxes.note("note"),
        "check_no": boxes.note("check_no"),
    }
    if boxes.text("is_paid") or told["check_no"]:
        told["paid_on"] = _paid_on(boxes, told["bill_on"], today)
    code = boxes.text("entity")
    if code:
        told["entity"] = Entity.objects.filter(farm=farm, code=code).first()
        if told["entity"] is None:
            boxes.wrong["entity"] = _("Choose one of the entities.")
    category = boxes.text("category") or last_category(farm=farm, payee=payee)
    year = told["crop_year"] or (told["bill_on"] or today).year
    places = bill_places(farm=farm, crop_year=year)
    incident = _incident(boxes, farm)
    items = _items(boxes, places, category, told["amount_usd"])
    if not category and not items:
        boxes.wrong["category"] = (
            _("Say what it is for; the next bill of this payee will be for the same.")
            if Bill.objects.filter(farm=farm, payee__name=payee).exists()
            else _(
                "No bill of “{payee}” is known yet: say what this one is for, or choose whom it is from in the list."
            ).format(payee=payee[:MOST_SHOWN])
        )
    told |= {"category": "" if items else category, "items": items}
    if incident is not None:
        return told | {"incident": incident}
    return told | _placed(boxes, farm, places, year, told)


def typed_of(bill: Bill) -> dict[str, str]:
    """Return a bill as it would be typed, for the form that corrects it."""
    names = bill_place_words(farm=bill.farm, crop_year=bill.crop_year or bill.bill_on.year)

    def named(*rows: Season | Machine | Implement | Pump | None) -> str:
        return next((names.get((type(row), row.pk), "") for row in rows if row is not None), "")

    place = named(bill.season, bill.machine, bill.implement, bill.pump)
    if not has_rest(bill=bill) and bill.incident is None:
        place = ""
    elif not place:
        place = share_words()[bill.shared_by] if bill.incident is None else incident_words(bill.incident.pk)
    typed = {
        "payee": bill.payee.name,
        "number": bill.number,
        "bill_on": written(bill.bill_on),
        "amount_usd": _dollars(bill.cents),
        "sales_tax_usd": _dollars(bill.sales_tax_cents) if bill.sales_tax_cents else "",
        "category": bill.category,
        "crop_year": str(bill.crop_year or ""),
        "entity": bill.entity.code if bill.entity else "",
        "place": place,
        "note": bill.note,
    }
    for number, item in enumerate(bill.items.all()):
        typed |= {
            f"category_{number}": item.category,
            f"item_{number}": item.item,
            f"quantity_{number}": ""
            if item.quantity_e4 is None
            else _plain(Decimal(item.quantity_e4).scaleb(-4)),
            f"unit_{number}": item.unit,
            f"lot_{number}": item.lot,
            f"amount_usd_{number}": _dollars(item.cents),
            f"says_{number}": item.says,
            f"place_{number}": named(item.season, item.machine),
        }
    return typed


def rows_in(typed: Mapping[str, Any]) -> int:
    """Return how many lines a form has: six, or as many as were typed or entered before."""
    numbers = [int(found[1]) for name in typed if (found := LINE_NO.fullmatch(name)) is not None]
    return min(max([ROWS - 1, *numbers]), MOST_ITEMS) + 1


def name_at(field: str) -> str:
    """Return the box of a field as the books call it: `items/1/quantity` is `quantity_1`."""
    found = re.fullmatch(r"items/(\d+)/(\w+)", field)
    if found is None:
        return NAMES.get(field, field)
    return f"{'place' if found[2] in ('season', 'machine') else found[2]}_{found[1]}"


def _day(boxes: Boxes, name: str, today: dt.date, *, ahead_days: int = NEXT_DAYS) -> dt.date | None:
    text = boxes.text(name)
    day = read_day(text, today=today, ahead_days=ahead_days)
    if day is None:
        boxes.wrong[name] = no_day(text) if text else _("Give the day.")
    return day


def _paid_on(boxes: Boxes, bill_on: dt.date | None, today: dt.date) -> dt.date | None:
    """Return the day of payment: as typed, else today for a fresh bill of this year.

    The tax year and form 1099 go by it, so that of an older bill is asked and never taken for today.
    """
    if not boxes.text("paid_on") and bill_on is not None:
        if bill_on.year == today.year and today - bill_on <= dt.timedelta(days=FRESH_DAYS):
            return today
        boxes.wrong["paid_on"] = _("Give the day on which it was paid: taxes go by it.")
        return None
    return _day(boxes, "paid_on", today, ahead_days=0)


def _incident(boxes: Boxes, farm: Farm) -> Incident | None:
    """Return the incident that was typed as a place; the wrong one is told as any other place is."""
    text = boxes.text("place").casefold()
    for said in (INCIDENT, _(INCIDENT)):
        found = re.fullmatch(said.format(number="([0-9]{1,9})"), text)
        if found is not None:
            return Incident.objects.filter(farm=farm, pk=int(found[1])).first()
    return None


def _amount(boxes: Boxes, name: str, *, says: str = "") -> Decimal | str | None:
    text = boxes.text(name).replace("$", "").replace("−", "-").strip()
    if not text:
        if says:
            boxes.wrong[name] = says
        return None
    value = read_number(text)
    if value is None and PLAIN.fullmatch(text):
        return text
    if value is None:
        boxes.wrong[name] = no_number(text)
    return value


def _year(boxes: Boxes) -> int | None:
    text = boxes.text("crop_year")
    if not text:
        return None
    if not re.fullmatch(r"[0-9]{4}", text):
        boxes.wrong["crop_year"] = _("“{text}” is not a year such as 2026.").format(text=text[:MOST_SHOWN])
        return None
    return int(text)


def _place(boxes: Boxes, name: str, places: dict[str, Season | Machine | Implement | Pump]) -> Place:
    text = boxes.text(name)
    if not text:
        return Place()
    shares = {said: code for words in (SHARES, share_words()) for code, said in words.items()}
    if text.casefold() in shares and name == "place":
        return Place(shared_by=shares[text.casefold()], is_told=True)
    row = places.get(text) or _called(text, places)
    kind = type(row).__name__.lower()
    if row is None or (name != "place" and not isinstance(row, Season | Machine)):
        says = (
            _("“{text}” is no code of a field with a season, or of a machine, implement, pump or incident.")
            if name == "place"
            else _(
                "“{text}” is no code of a field with a season, or of a machine. A line without a place goes where the "
                "bill goes."
            )
        )
        boxes.wrong[name] = says.format(text=text[:MOST_SHOWN])
        return Place(is_told=True)
    return Place(kind=kind, row=row, is_told=True)


def _called(
    text: str, places: dict[str, Season | Machine | Implement | Pump]
) -> Season | Machine | Implement | Pump | None:
    """Return the one place that people call so, by its name or its code; a field by its only season of the year."""
    wanted = text.casefold()
    found = [
        row
        for code, row in places.items()
        if wanted == code.casefold()
        or (" " not in code and wanted == (row.field if isinstance(row, Season) else row).name.casefold())
    ]
    return found[0] if len(found) == 1 else None


def _placed(
    boxes: Boxes,
    farm: Farm,
    places: dict[str, Season | Machine | Implement | Pump],
    year: int,
    told: Mapping[str, Any],
) -> dict[str, Any]:
    place = _place(boxes, "place", places)
    if place.row is not None:
        return {place.kind: place.row}
    if place.is_told:
        return {"shared_by": place.shared_by}
    items = told["items"]
    rest = [one.category for one in items if not (one.item or one.season or one.machine)]
    if items and not rest:
        return {"shared_by": ""}  # its lines say it
    return usual_place(
        farm=farm,
        categories=category_book(farm=farm),
        payee=told["payee"],
        wanted=rest or [told["category"]],
        crop_year=year,
    )


def _items(
    boxes: Boxes,
    places: dict[str, Season | Machine | Implement | Pump],
    category: str,
    amount_usd: Decimal | str | None,
) -> list[NewBillItem]:
    """Return the lines that were filled in. One line alone without dollars has those of the bill."""
    rows = [
        row for row in range(rows_in(boxes.typed)) if any(boxes.text(f"{name}_{row}") for name in ROW_FIELDS)
    ]
    if rows != list(range(len(rows))):
        boxes.wrong[f"category_{rows[0]}"] = _("Fill the lines from the first one on, without a gap.")
    found = []
    for row in rows:
        is_alone = len(rows) == 1 and not boxes.text(f"amount_usd_{row}")
        amount = amount_usd if is_alone else _amount(boxes, f"amount_usd_{row}", says=_("Give its dollars."))
        place = _place(boxes, f"place_{row}", places)
        quantity = _amount(boxes, f"quantity_{row}")
        item = NewBillItem(
            category=boxes.text(f"category_{row}") or category,
            amount_usd=amount if amount is not None else "0",
            item=boxes.text(f"item_{row}"),
            lot=boxes.text(f"lot_{row}"),
            quantity=quantity,
            unit=boxes.text(f"unit_{row}"),
            season=place.row if isinstance(place.row, Season) else None,
            machine=place.row if isinstance(place.row, Machine) else None,
            says=boxes.note(f"says_{row}"),
        )
        found.append(item)
    return found


def _dollars(cents: int) -> str:
    return f"{Decimal(cents).scaleb(-2):f}"


def _plain(value: Decimal) -> str:
    return f"{value.normalize():f}"
