"""What was harvested off a season, entered by the office; a newer number is a correction."""

import datetime as dt
from decimal import Decimal, InvalidOperation
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Season
from ledger.models import SeasonYield
from ledger.selectors.said import season_said, yield_unit_said
from ledger.services.journal import hold_books

UNITS = ("lb", "bu", "ton", "bale", "cwt")
MOST = Decimal(10) ** 9


class YieldRefused(DomainError):
    """A yield that does not make sense."""

    code = "yield_refused"


class YieldDiffers(DomainError):
    """Another yield of the same season was entered before."""

    code = "yield_differs"
    kind = Kind.CONFLICT


def enter_yield(
    *,
    season: Season,
    quantity: str | Decimal,
    unit: str,
    corrects: bool = False,
    entered_by: Any = None,
    now: dt.datetime,
) -> tuple[SeasonYield, bool]:
    """Keep all that was harvested off a season so far. Returns the row and whether it is new.

    The same once more changes nothing; another number is refused, unless it corrects.
    """
    amount = _quantity(quantity)
    if unit not in UNITS:
        raise YieldRefused(
            _("{unit!r} is no unit of a yield; known: {known}.").format(unit=unit, known=", ".join(UNITS)),
            fields={"unit": "Not known."},
        )
    with transaction.atomic():
        hold_books(farm=season.farm)
        last = SeasonYield.objects.filter(season=season).order_by("-correction_no").first()
        if last is not None and (last.quantity, last.unit) == (amount, unit):
            return last, False
        if last is not None and not corrects:
            raise YieldDiffers(
                _(
                    "{season} brought in {quantity} {unit}, as was entered before; say that it is a correction."
                ).format(
                    season=season_said(season),
                    quantity=f"{last.quantity.normalize():f}",
                    unit=yield_unit_said(last.unit),
                ),
                fields={"quantity": "Another number stands."},
            )
        row = SeasonYield.objects.create(
            farm=season.farm,
            season=season,
            quantity=amount,
            unit=unit,
            correction_no=0 if last is None else last.correction_no + 1,
            entered_by=entered_by,
            entered_at=now,
        )
    return row, True


def _quantity(given: str | Decimal) -> Decimal:
    text = str(given).strip()
    try:
        if not text.isascii() or "_" in text or "e" in text.lower():
            raise InvalidOperation
        amount = Decimal(text)
        if not amount.is_finite():
            raise InvalidOperation
    except InvalidOperation as error:
        raise YieldRefused(
            _("The yield {text!r} is not a plain number such as 48200 or 61.5.").format(text=text),
            fields={"quantity": "Not a number."},
        ) from error
    if amount < 0:
        raise YieldRefused(
            _("The yield {text} is below zero.").format(text=text), fields={"quantity": "Below zero."}
        )
    if amount >= MOST or amount != amount.quantize(Decimal("0.001")):
        raise YieldRefused(
            _("The yield {text} has more than nine digits before, or three after the point.").format(
                text=text
            ),
            fields={"quantity": "Out of range."},
        )
    return amount
