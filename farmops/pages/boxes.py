"""What was typed into the boxes of a form: read as numbers, days and hours, with a sentence for each that is wrong."""

import datetime as dt
import re
import uuid
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from django.http import Http404
from django.http.request import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, pgettext_lazy

from farmops.core.api.fields import refused_character
from farmops.core.problems import DomainError
from farmops.core.written_numbers import read_number
from farmops.pages import words
from scheduling.selectors.kept_words import kept_said

MOST_SHOWN = 20
MOST_DIGITS = 15
SUBSTITUTE = "\x1a"
"""Stands for what was sent in error. Source: ECMA-48, SUB."""
LONG_NUMBER = re.compile(r"[+-]?([0-9]{10,}|[1-9][0-9]{0,2}(,[0-9]{3}){3,})([.,][0-9]*)?")
HOUR = re.compile(r"[0-9]{2}:[0-9]{2}(:[0-9]{2})?")
SAID_OF = {
    "said_at": gettext_noop("the day and hour"),
    "read_at": gettext_noop("the day and hour"),
    "rain_in": gettext_noop("the rain"),
    "temp_f": gettext_noop("the warmth"),
    "depth_in": gettext_noop("the depth"),
    "note": gettext_noop("the note"),
    "filled_at": gettext_noop("the day and hour"),
    "delivered_at": gettext_noop("the day and hour"),
    "started_at": gettext_noop("the start"),
    "ended_at": gettext_noop("the end"),
    "gallons": gettext_noop("the number of gallons"),
    "holds_gal": gettext_noop("what it holds"),
    "share_pct": gettext_noop("the share"),
    "meter_h": gettext_noop("the meter"),
    "reading_h": gettext_noop("the meter"),
    "ticket_no": gettext_noop("the ticket"),
    "treated_ac": gettext_noop("the number of acres"),
    "reentry_h": gettext_noop("the number of hours to stay out"),
    "plant_back_days": gettext_noop("the number of days to planting"),
    "wind_mph": gettext_noop("the wind"),
    "registration_no": gettext_noop("the registration number"),
    "applicator_name": gettext_noop("the applicator"),
    "license_no": gettext_noop("the license"),
    "happened_at": gettext_noop("the day and hour"),
    "latitude_deg": gettext_noop("the latitude"),
    "longitude_deg": gettext_noop("the longitude"),
    "found_share_pct": gettext_noop("the share that is found"),
    "swath_ft": gettext_noop("the breadth that one looks over"),
    "walk_mph": gettext_noop("the walking speed"),
    "wage_cents_per_h": gettext_noop("the wage"),
    "puncture_cents": gettext_noop("the bill of a puncture"),
    "lost_h": gettext_noop("the number of hours lost"),
    "lost_cents_per_h": gettext_noop("an hour lost"),
    "done_at": gettext_noop("the day and hour"),
    "replaced_at": gettext_noop("the day and hour"),
    "hand_min": gettext_noop("the number of minutes"),
    "takes_min": gettext_noop("the number of minutes"),
    "parts_cents": gettext_noop("the number of cents for parts"),
    "counts_from_h": gettext_noop("the meter"),
    "every_h": gettext_noop("the number of hours"),
    "every_days": gettext_noop("the number of days"),
    "every_ac": gettext_noop("the number of acres"),
    "every_starts": gettext_noop("the number of starts"),
    "why": gettext_noop("why"),
    "rate": pgettext_lazy("spraying", "rate"),
    "unit": gettext_noop("unit"),
    "crop": gettext_noop("crop"),
    "product": gettext_noop("product"),
}
"""What the sentences of the services call a fact, and what a person calls it."""


def plain(says: str) -> str:
    """Return the sentence of a refusal with its dates and facts said as people say them."""
    told = words.dates_said(kept_said(says))
    for name, said in SAID_OF.items():
        told = re.sub(rf"\b{name}\b", _(str(said)), told)
    return told[:1].upper() + told[1:]


def no_number(text: str) -> str:
    """Return what is said to a text that is no number, or one of more digits than any box takes."""
    says = _("“{text}” is too large.") if LONG_NUMBER.fullmatch(text) else _("“{text}” is not a number.")
    return says.format(text=text[:MOST_SHOWN])


class Boxes:
    """The boxes of one form; `wrong` has the sentence at each box that was not understood."""

    def __init__(self, posted: QueryDict) -> None:
        self._posted = posted
        self._is_another = False
        self.wrong: dict[str, str] = {}

    @property
    def typed(self) -> dict[str, Any]:
        """Return what was typed, as it was typed; with an id of its own, where that of the form was kept with other words."""
        typed = {name: self._posted.get(name, "") for name in self._posted if name != "csrfmiddlewaretoken"}
        return typed | ({"client_id": str(uuid.uuid4())} if self._is_another else {})

    def client_id(self, name: str = "client_id") -> uuid.UUID:
        """Return the id that the form came with; a form without one was not made here."""
        try:
            return uuid.UUID(self._posted.get(name, ""))
        except ValueError as error:
            raise Http404 from error

    def text(self, name: str, *, most: int = 500) -> str:
        """Return a text without the white space around it, cut at a length no page offers to pass.

        A NUL, which no database keeps or looks for, is another sign that no text holds.
        """
        return self._posted.get(name, "").strip()[:most].replace("\0", SUBSTITUTE)

    def note(self, name: str) -> str:
        """Return a free text; a sign that no text holds, such as one that turns the line, is refused."""
        text = self.text(name)
        sign = refused_character(text, lines=True)
        if sign is not None:
            self.wrong[name] = _("The sign {sign} cannot be kept. Write it without.").format(sign=sign)
        return text

    def row_id(self, name: str) -> int | None:
        """Return the id of a row that a form offers, or None where the box is empty; what no row has is Http404."""
        text = self.text(name)
        if not text:
            return None
        if not text.isdecimal() or len(text) > MOST_DIGITS:
            raise Http404
        return int(text)

    def one_of(self, name: str, known: Iterable[str], *, says: str) -> str:
        """Return one of the words that a form offers."""
        text = self.text(name)
        if text not in set(known):
            self.wrong[name] = says
        return text

    def number(self, name: str, *, says: str) -> Decimal | None:
        """Return a number; `says` asks for it where the box is empty. Commas are read as `read_number` has it."""
        text = self.text(name)
        if not text:
            self.wrong[name] = says
            return None
        return self.number_if_any(name)

    def number_if_any(self, name: str) -> Decimal | None:
        """Return a number, or None where the box is empty or not understood."""
        text = self.text(name)
        if not text:
            return None
        value = read_number(text)
        if value is None:
            self.wrong[name] = no_number(text)
        return value

    def day(self, name: str) -> dt.date | None:
        """Return a date."""
        text = self.text(name)
        try:
            return dt.date.fromisoformat(text)
        except ValueError:
            self.wrong[name] = (
                _("“{text}” is not a day.").format(text=text[:MOST_SHOWN]) if text else _("Give the day.")
            )
            return None

    def hour(self, name: str) -> dt.time | None:
        """Return a time of day."""
        text = self.text(name)
        try:
            return dt.time.fromisoformat(text if HOUR.fullmatch(text) else "")
        except ValueError:
            self.wrong[name] = (
                _("“{text}” is not an hour.").format(text=text[:MOST_SHOWN]) if text else _("Give the hour.")
            )
            return None

    def refused(self, error: DomainError, *, otherwise: str, names: Mapping[str, str] | None = None) -> None:
        """Put a refusal's sentence at the box it is about, or at the box `otherwise` where that is none of the form's.

        `names` gives the box of a fact that is called otherwise in the form. Where it is about the id of the form, the
        form is drawn with another one.
        """
        if "client_id" in error.fields:
            self._is_another = True
            self.wrong[otherwise] = _(
                "This form was kept already, before you changed it. Keep it once more, and this is kept as well."
            )
            return
        renamed = dict.fromkeys((names or {}).get(name, name) for name in error.fields)
        at = next((name for name in renamed if name in self._posted), otherwise)
        self.wrong[at] = plain(error.says)

    def taken_back(self, at: str) -> None:
        """Say at a box that what was sent was kept before and counts no more; the form is drawn with another id."""
        self._is_another = True
        self.wrong[at] = _("This was kept, and taken back since. Keep it once more, and it counts again.")
