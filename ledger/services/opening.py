"""What was in stock when the books began: entered once for each item and lot."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

from django.core.validators import slug_re
from django.db import IntegrityError, transaction

from farmops.core.nudge import nudge
from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm
from ledger.costing.money import MoneyError, cents_from, quantity_e4_from, usd_text
from ledger.models import OpeningStock
from ledger.selectors.bills import meant_item, stocked_unit
from ledger.selectors.categories import category_book
from ledger.services.bill_rules import refuse_far_date
from ledger.services.journal import hold_books
from ledger.services.periods import refuse_closed

LONGEST = {"item": 40, "lot": 40, "unit": 12}


class OpeningRefused(DomainError):
    """Opening stock that does not make sense."""

    code = "opening_refused"


class OpeningDiffers(DomainError):
    """The same item and lot was entered before with other facts."""

    code = "opening_differs"
    kind = Kind.CONFLICT


def enter_opening_stock(
    *,
    farm: Farm,
    client_id: uuid.UUID,
    item: str,
    category: str,
    quantity: Decimal | str,
    unit: str,
    amount_usd: Decimal | str,
    on: dt.date,
    lot: str = "",
    supersedes: OpeningStock | None = None,
    entered_by: Any = None,
    now: dt.datetime,
) -> tuple[OpeningStock, bool]:
    """Enter seed, chemical, fertilizer or fuel that was there when the books began; False beside it for a repeat.

    `client_id` is made by the sender: the same id with the same facts is the same count, with others a conflict. An
    item and lot is entered once; what was wrong is superseded. Refuses a day in a closed month.
    """
    refuse_far_date(farm=farm, name="on", day=on, now=now)
    wanted: dict[str, Any] = {
        **_facts(farm, item.strip(), category, quantity, unit.strip(), amount_usd, lot.strip()),
        "on": on,
        "supersedes": supersedes,
    }
    if supersedes is not None and supersedes.farm_id != farm.pk:
        raise OpeningRefused(f"What is superseded is not one of {farm}.", fields={"supersedes": "Another's."})
    with transaction.atomic():
        hold_books(farm=farm)
        known = OpeningStock.objects.filter(farm=farm, client_id=client_id).first()
        if known is not None:
            return _same(known, wanted), False
        refuse_closed(farm=farm, day=on)
        _refuse_twice(farm, wanted)
        try:
            with transaction.atomic():
                row = OpeningStock.objects.create(
                    farm=farm, client_id=client_id, entered_by=entered_by, entered_at=now, **wanted
                )
        except IntegrityError:
            known = OpeningStock.objects.filter(farm=farm, client_id=client_id).first()
            if known is None:
                raise
            return _same(known, wanted), False
        nudge("opening.entered")
    return row, True


def _facts(
    farm: Farm,
    item: str,
    category: str,
    quantity: Decimal | str,
    unit: str,
    amount_usd: Decimal | str,
    lot: str,
) -> dict[str, Any]:
    for name, text in (("item", item), ("lot", lot), ("unit", unit)):
        if len(text) > LONGEST[name] or not text.isprintable() or (not text and name != "lot"):
            says = f"The {name} of opening stock is one line of at most {LONGEST[name]} characters."
            raise OpeningRefused(says, fields={name: says})
    if not slug_re.fullmatch(item):
        raise OpeningRefused(
            f"{item!r} is no code of an item: letters, digits, - and _.", fields={"item": "Not a code."}
        )
    if meant := meant_item(farm=farm, item=item):
        says = f"{item} is written {meant} here; under another code its use would miss it."
        raise OpeningRefused(says, fields={"item": says})
    categories = category_book(farm=farm)
    if categories.stock(category) is None:
        known = ", ".join(code for code in categories if categories.stock(code) is not None)
        raise OpeningRefused(
            f"{category!r} is not a category of what is in stock; known: {known}.",
            fields={"category": "Not known."},
        )
    try:
        cents = cents_from(amount_usd)
    except MoneyError as error:
        raise OpeningRefused(str(error), fields={"amount_usd": str(error)}) from error
    try:
        quantity_e4 = quantity_e4_from(quantity)  # type: ignore[arg-type]
    except MoneyError as error:
        raise OpeningRefused(str(error), fields={"quantity": str(error)}) from error
    if cents < 0:
        raise OpeningRefused(
            f"The amount {usd_text(cents)} is below zero; what is in stock had cost something, or 0.",
            fields={"amount_usd": "Below zero."},
        )
    if quantity_e4 <= 0:
        raise OpeningRefused(
            f"The quantity {quantity} is not above zero; what is not there is not entered.",
            fields={"quantity": "Not above zero."},
        )
    return {
        "item": item,
        "category": category,
        "lot": lot,
        "quantity_e4": quantity_e4,
        "unit": unit,
        "cents": cents,
    }


def _refuse_twice(farm: Farm, wanted: dict[str, Any]) -> None:
    before, item, lot = wanted["supersedes"], wanted["item"], wanted["lot"]
    if before is not None:
        if (before.item, before.lot) != (item, lot):
            raise OpeningRefused(
                f"A correction is of the same item and lot as before: {_named(before.item, before.lot)}.",
                fields={"item": "Another item."},
            )
        if OpeningStock.objects.filter(supersedes=before).exists():
            raise OpeningDiffers(
                f"The opening stock of {_named(item, lot)} was corrected before; take the newer one."
            )
    else:
        known = OpeningStock.objects.filter(farm=farm, item=item, lot=lot, superseded_by__isnull=True).first()
        if known is not None:
            raise OpeningDiffers(
                f"The opening stock of {_named(item, lot)} was entered on {known.entered_at:%Y-%m-%d} for {known.on}; "
                "enter a correction that supersedes it."
            )
    unit = stocked_unit(farm=farm, item=item)
    if before is None and unit is not None and unit != wanted["unit"]:
        raise OpeningRefused(
            f"{item} is in stock by the {unit}, and this is by the {wanted['unit']}.",
            fields={"unit": "Another unit."},
        )


def _same(known: OpeningStock, wanted: dict[str, Any]) -> OpeningStock:
    differs = [name for name, value in wanted.items() if getattr(known, name) != value]
    if differs:
        raise OpeningDiffers(
            f"This opening stock of {known.item} was entered before with another "
            f"{', '.join(name.removesuffix('_e4') for name in differs)}; enter a correction that supersedes it."
        )
    return known


def _named(item: str, lot: str) -> str:
    return f"{item}, lot {lot}" if lot else item
