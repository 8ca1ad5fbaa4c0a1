"""What a crop is meant to cost an acre, by category; a slip is put right by a correction."""

import datetime as dt
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Crop, Farm, Season
from ledger.costing.money import MoneyError, cents_from
from ledger.models import BudgetLine
from ledger.selectors.categories import category_book
from ledger.selectors.said import label_said, money_said, season_said
from ledger.services.journal import hold_books

YEARS = range(1990, 2101)


class BudgetRefused(DomainError):
    """A line of a budget that does not make sense."""

    code = "budget_refused"


class BudgetDiffers(DomainError):
    """The same crop, category and year have another budget already."""

    code = "budget_differs"
    kind = Kind.CONFLICT


def set_budget(
    *,
    farm: Farm,
    crop_year: int,
    crop: str,
    category: str,
    usd_per_ac: str | Decimal,
    season: Season | None = None,
    corrects: bool = False,
    entered_by: Any = None,
    now: dt.datetime,
) -> tuple[BudgetLine, bool]:
    """Keep what a category is meant to cost an acre of a crop, or of one season of it, which outranks the crop.

    Returns the row and whether it is new: the same once more changes nothing. Another amount is refused, unless it
    corrects. BudgetRefused names the field that makes no sense.
    """
    cents = _checked(farm, crop_year, crop, category, usd_per_ac, season)
    key = {"farm": farm, "crop_year": crop_year, "crop": crop, "category": category, "season": season}
    with transaction.atomic():
        hold_books(farm=farm)
        last = BudgetLine.objects.filter(**key).order_by("-correction_no").first()
        if last is not None and last.cents_per_ac == cents:
            return last, False
        if last is not None and not corrects:
            raise BudgetDiffers(
                _(
                    "{category} of {what} is budgeted at {amount} an acre already; say that it is a correction."
                ).format(
                    category=label_said(category_book(farm=farm).label(category)),
                    what=season_said(season) if season else f"{label_said(crop)} {crop_year}",
                    amount=Decimal(last.cents_per_ac).scaleb(-2),
                ),
                fields={"usd_per_ac": "Another amount stands."},
            )
        row = BudgetLine.objects.create(
            **key,
            cents_per_ac=cents,
            correction_no=0 if last is None else last.correction_no + 1,
            entered_by=entered_by,
            entered_at=now,
        )
    return row, True


def _checked(
    farm: Farm,
    crop_year: int,
    crop: str,
    category: str,
    usd_per_ac: str | Decimal,
    season: Season | None,
) -> int:
    if crop_year not in YEARS:
        raise BudgetRefused(
            _("The crop year {year} is not between {first} and {last}.").format(
                year=crop_year, first=YEARS[0], last=YEARS[-1]
            ),
            fields={"crop_year": "Not a crop year."},
        )
    if crop not in Crop.values:
        raise BudgetRefused(
            _("{crop!r} is no crop; known: {known}.").format(crop=crop, known=", ".join(Crop.values)),
            fields={"crop": "Not known."},
        )
    if category not in category_book(farm=farm):
        raise BudgetRefused(
            _("{category!r} is no category of {farm}.").format(category=category, farm=farm),
            fields={"category": "Not known."},
        )
    if season is not None and (season.farm_id, season.crop_year, season.crop) != (farm.pk, crop_year, crop):
        raise BudgetRefused(
            _("{season} is not {crop} of {year} on {farm}.").format(
                season=season_said(season), crop=label_said(crop), year=crop_year, farm=farm
            ),
            fields={"season": "Another crop."},
        )
    try:
        cents = cents_from(usd_per_ac)
    except MoneyError as error:
        raise BudgetRefused(money_said(error), fields={"usd_per_ac": "Not an amount."}) from error
    if cents < 0:
        raise BudgetRefused(
            _("A budget of {amount} an acre is below zero.").format(amount=usd_per_ac),
            fields={"usd_per_ac": "Below zero."},
        )
    return cents
