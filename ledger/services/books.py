"""A farm's own choices for its books."""

import datetime as dt
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm
from ledger.models import (
    Account,
    BookSettings,
    Category,
    Entry,
    FuelBy,
    Line,
    PunctureTo,
    SourceKind,
    StockCost,
    YearChoice,
)
from ledger.selectors.posting_facts import year_choices
from ledger.selectors.said import label_said
from ledger.selectors.stock import STOCKS
from ledger.services.journal import hold_books

YEARS = range(1990, 2200)


class ChoiceUnknown(DomainError):
    """A choice that the books do not offer."""

    code = "choice_unknown"


class ChoiceMade(DomainError):
    """A choice of a year that was made before, or that the books of the year have gone beyond."""

    code = "choice_made"
    kind = Kind.CONFLICT


def choose_puncture(*, farm: Farm, puncture_to: str) -> BookSettings:
    """Choose who bears a puncture from now on: `field` or `machine_pool`. What was posted stays."""
    if puncture_to not in PunctureTo.values:
        raise ChoiceUnknown(
            _("A puncture goes to {known}, not to {given!r}.").format(
                known=" or to ".join(PunctureTo.values), given=puncture_to
            ),
            fields={"puncture_to": "Not known."},
        )
    row, _new = BookSettings.objects.update_or_create(farm=farm, defaults={"puncture_to": puncture_to})
    return row


def choose_year(
    *, farm: Farm, year: int, stock_cost: str, fuel_by: str, chosen_by: Any = None, now: dt.datetime
) -> tuple[YearChoice, bool]:
    """Choose how the use of stocks and fuel is counted in a calendar year; False beside it where that was chosen before.

    It is chosen once, and not against what the books of that year already did. Raises ChoiceUnknown and ChoiceMade.
    """
    _refuse_unknown("stock_cost", stock_cost, StockCost.values)
    _refuse_unknown("fuel_by", fuel_by, FuelBy.values)
    if year not in YEARS:
        raise ChoiceUnknown(
            _("{year} is no year of these books.").format(year=year), fields={"year": "Which year?"}
        )
    with transaction.atomic():
        hold_books(farm=farm)
        made = YearChoice.objects.filter(farm=farm, calendar_year=year).first()
        if made is not None:
            if (made.stock_cost, made.fuel_by) == (stock_cost, fuel_by):
                return made, False
            raise ChoiceMade(
                _(
                    "For {year} it was chosen on {day}: stocks at {stocks}; fuel by {fuel}. "
                    "A year is chosen once."
                ).format(
                    year=year,
                    day=f"{made.chosen_at:%Y-%m-%d}",
                    stocks=label_said(made.get_stock_cost_display()),
                    fuel=label_said(made.get_fuel_by_display()),
                )
            )
        _refuse_too_late(farm, year, stock_cost, fuel_by)
        choice = YearChoice.objects.create(
            farm=farm,
            calendar_year=year,
            stock_cost=stock_cost,
            fuel_by=fuel_by,
            chosen_by=chosen_by,
            chosen_at=now,
        )
    return choice, True


def _refuse_too_late(farm: Farm, year: int, stock_cost: str, fuel_by: str) -> None:
    """Refuse another way of counting than that by which something of the year was booked and stands."""
    so_far = year_choices(farm=farm)(year)
    standing = Entry.objects.filter(farm=farm, happened_on__year=year, reversed_by=None)
    lines = Line.objects.filter(entry__in=standing.exclude(source_kind=SourceKind.REVERSAL))
    drawn = lines.filter(account__in=STOCKS, quantity_e4__lt=0, price_e4=None).exclude(
        entry__source_kind=SourceKind.BILL
    )
    burned = lines.filter(
        account=Account.FUEL_STOCK, category=Category.FUEL, entry__source_kind=SourceKind.WORK_RECORD
    )
    for chosen, before, found, says, label in (
        (
            stock_cost,
            so_far.stock_cost,
            drawn,
            _(
                "Work of {year} was booked already, entry {number} of {day}, and it counted stocks at {label}; "
                "choose otherwise for another year."
            ),
            so_far.get_stock_cost_display(),
        ),
        (
            fuel_by,
            so_far.fuel_by,
            burned,
            _(
                "Work of {year} was booked already, entry {number} of {day}, and it counted fuel by {label}; "
                "choose otherwise for another year."
            ),
            so_far.get_fuel_by_display(),
        ),
    ):
        first = None if chosen == before else found.order_by("entry__number").select_related("entry").first()
        if first is not None:
            raise ChoiceMade(
                says.format(
                    year=year,
                    number=first.entry.number,
                    day=first.entry.happened_on,
                    label=label_said(label),
                )
            )


def _refuse_unknown(name: str, chosen: str, known: list[str]) -> None:
    if chosen not in known:
        says = _("{name} is {known}, not {given!r}.").format(
            name=name, known=_(" or ").join(known), given=chosen
        )
        raise ChoiceUnknown(says, fields={name: "Not known."})
