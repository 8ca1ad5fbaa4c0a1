"""What was in stock when the books began: entered once for each item and lot."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

from django.core.validators import slug_re
from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from farmops.core.nudge import nudge
from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm
from ledger.costing.money import MoneyError, cents_from, quantity_e4_from, usd_said
from ledger.models import OpeningStock
from ledger.selectors.bills import meant_item, stocked_unit
from ledger.selectors.categories import category_book
from ledger.selectors.said import money_said
from ledger.services.bill_rules import name_said, refuse_far_date
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
        raise OpeningRefused(
            _("What is superseded is not one of {farm}.").format(farm=farm),
            fields={"supersedes": "Another's."},
        )
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
            says = _("The {name} of opening stock is one line of at most {most} characters.").format(
                name=name_said(name), most=LONGEST[name]
            )
            raise OpeningRefused(says, fields={name: says})
    if not slug_re.fullmatch(item):
        raise OpeningRefused(
            _("{item!r} is no code of an item: letters, digits, - and _.").format(item=item),
            fields={"item": "Not a code."},
        )
    if meant := meant_item(farm=farm, item=item):
        says = _("{item} is written {meant} here; under another code its use would miss it.").format(
            item=item, meant=meant
        )
        raise OpeningRefused(says, fields={"item": says})
    categories = category_book(farm=farm)
    if categories.stock(category) is None:
        known = ", ".join(code for code in categories if categories.stock(code) is not None)
        raise OpeningRefused(
            _("{category!r} is not a category of what is in stock; known: {known}.").format(
                category=category, known=known
            ),
            fields={"category": "Not known."},
        )
    try:
        cents = cents_from(amount_usd)
    except MoneyError as error:
        raise OpeningRefused(money_said(error), fields={"amount_usd": money_said(error)}) from error
    try:
        quantity_e4 = quantity_e4_from(quantity)  # type: ignore[arg-type]
    except MoneyError as error:
        raise OpeningRefused(money_said(error), fields={"quantity": money_said(error)}) from error
    if cents < 0:
        raise OpeningRefused(
            _("The amount {amount} is below zero; what is in stock had cost something, or 0.").format(
                amount=usd_said(cents)
            ),
            fields={"amount_usd": "Below zero."},
        )
    if quantity_e4 <= 0:
        raise OpeningRefused(
            _("The quantity {quantity} is not above zero; what is not there is not entered.").format(
                quantity=quantity
            ),
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
                _("A correction is of the same item and lot as before: {item}.").format(
                    item=_named(before.item, before.lot)
                ),
                fields={"item": "Another item."},
            )
        if OpeningStock.objects.filter(supersedes=before).exists():
            raise OpeningDiffers(
                _("The opening stock of {item} was corrected before; take the newer one.").format(
                    item=_named(item, lot)
                )
            )
    else:
        known = OpeningStock.objects.filter(farm=farm, item=item, lot=lot, superseded_by__isnull=True).first()
        if known is not None:
            raise OpeningDiffers(
                _(
                    "The opening stock of {item} was entered on {day} for {on}; "
                    "enter a correction that supersedes it."
                ).format(item=_named(item, lot), day=f"{known.entered_at:%Y-%m-%d}", on=known.on)
            )
    unit = stocked_unit(farm=farm, item=item)
    if before is None and unit is not None and unit != wanted["unit"]:
        raise OpeningRefused(
            _("{item} is in stock by the {unit}, and this is by the {other}.").format(
                item=item, unit=unit, other=wanted["unit"]
            ),
            fields={"unit": "Another unit."},
        )


def _same(known: OpeningStock, wanted: dict[str, Any]) -> OpeningStock:
    differs = [name for name, value in wanted.items() if getattr(known, name) != value]
    if differs:
        raise OpeningDiffers(
            _(
                "This opening stock of {item} was entered before with another {what}; "
                "enter a correction that supersedes it."
            ).format(
                item=known.item, what=", ".join(name_said(name.removesuffix("_e4")) for name in differs)
            ),
            fields={"client_id": "used"},
        )
    return known


def _named(item: str, lot: str) -> str:
    return _("{item}, lot {lot}").format(item=item, lot=lot) if lot else item
