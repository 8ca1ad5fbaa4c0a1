"""What a reader is told of the books in the language that is on. Nothing of this is ever stored."""

import datetime as dt
from functools import lru_cache

from django.utils.dates import MONTHS
from django.utils.translation import get_language, gettext_noop, pgettext
from django.utils.translation import gettext as _

from farmops.farms.models import Crop, Season
from ledger.costing.money import MoneyError

MONEY_SENTENCES = (
    gettext_noop("The price {price} is negative; a price is zero or more."),
    gettext_noop("Cannot divide by {divisor}."),
    gettext_noop("An area of {area_ac} ac has no cost per acre."),
    gettext_noop("The {what} {value!r} is not text, a whole number or a Decimal; a float is never exact."),
    gettext_noop("The {what} {value} is not a number."),
    gettext_noop("The {what} {value} is out of any range."),
    gettext_noop(
        "The {what} {value!r} is not a plain number such as 1234.50: digits with a point before the decimals, "
        "no thousands marks, no currency sign."
    ),
    gettext_noop("The amount {value} has more than two decimals; nothing smaller than a cent is booked."),
    gettext_noop(
        "The price {value} has more than four decimals; nothing smaller than a hundredth of a cent is booked."
    ),
    gettext_noop("The quantity {value} has more than four decimals; nothing smaller than 0.0001 is booked."),
    gettext_noop("The {what} {value} is more than {most}, which no single line holds."),
)
"""What the pure arithmetic of money refuses with, for the catalogue."""


def label_said(label: str) -> str:
    """Return a category, a crop, a unit or a choice in the reader's word."""
    return _(label) if label else ""


def yield_unit_said(unit: str) -> str:
    """Return the unit of a yield as it stands behind a number: one word of them is a word, the others are signs."""
    return pgettext("how many", "bale") if unit == "bale" else unit


def month_said(month: dt.date) -> str:
    """Return a month of a year: April 2026, or abril de 2026."""
    said = str(MONTHS[month.month])
    if (get_language() or "").startswith("es"):
        said = said.lower()
    return pgettext("a month", "{month} {year}").format(month=said, year=month.year)


def season_said(season: Season) -> str:
    """Return a season: its field, crop and year, and its part where it is not the whole field."""
    return season_words(
        field=str(season.field), crop=season.crop, crop_year=season.crop_year, part=season.part
    )


def season_words(*, field: str, crop: str, crop_year: int, part: str, language: str | None = None) -> str:
    """Return what `season_said` does of a season whose facts were read without its rows, `field` being its field's name.

    `language` is the one that is on, for who says a thousand of them and asks for it once.
    """
    said = f"{field} {_crop_said(crop, language or get_language())} {crop_year}"
    return f"{said} ({part})" if part else said


@lru_cache(maxsize=256)
def _crop_said(crop: str, _language: str | None) -> str:
    """Return a crop in the language that is on: a page says that of a thousand seasons."""
    return label_said(str(dict(Crop.choices).get(crop, crop)))


def money_said(error: MoneyError) -> str:
    """Return the sentence of a refused amount."""
    what = {
        "amount": pgettext("what is refused", "amount"),
        "price": pgettext("what is refused", "price"),
        "quantity": pgettext("what is refused", "quantity"),
    }
    facts = {
        name: what.get(str(fact), fact) if name == "what" else fact for name, fact in error.facts.items()
    }
    return _(error.says).format(**facts)
