"""What a cell of a table says, as `farm.json` would have it: numbers, days, hours and words as people type them."""

import re
import unicodedata
from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _

from farmops.core.models import Language
from farmops.core.written_numbers import read_number
from farmops.farms import operations
from farmops.farms.services.json_facts import WEEKDAYS

YES = {"yes", "y", "true", "1", "x", "si", "s"}
NO = {"no", "n", "false", "0"}
ALL = {"all", "everything", "todo", "todos"}
LANGUAGES = {
    "en": Language.ENGLISH,
    "english": Language.ENGLISH,
    "ingles": Language.ENGLISH,
    "es": Language.SPANISH,
    "spanish": Language.SPANISH,
    "espanol": Language.SPANISH,
}
DAY_WORDS = {
    word: number
    for number, day_words in enumerate(
        (
            ("mon", "monday", "lun", "lunes"),
            ("tue", "tues", "tuesday", "mar", "martes"),
            ("wed", "wednesday", "mie", "miercoles"),
            ("thu", "thur", "thurs", "thursday", "jue", "jueves"),
            ("fri", "friday", "vie", "viernes"),
            ("sat", "saturday", "sab", "sabado"),
            ("sun", "sunday", "dom", "domingo"),
        )
    )
    for word in day_words
}
HOUR = re.compile(r"([0-9]{1,2})(?:[:.]([0-9]{2}))?(?::00)?\s*(am|pm|a\.m\.|p\.m\.|a|p)?", re.IGNORECASE)
SHOWN = 30


class NotUnderstood(ValueError):
    """A cell that says nothing of the kind; the sentence says what would."""


def number_said(text: str) -> Any:
    """Return a number, exact; a sign for percent, dollars or a unit is none."""
    value = read_number(text)
    if value is None:
        raise NotUnderstood(
            _("“{text}” is not a number; the unit stands in the column's name").format(text=text[:SHOWN])
        )
    return int(value) if value == value.to_integral_value() else value.normalize()


def yes_said(text: str) -> bool:
    """Return yes or no."""
    word = plain_word(text)
    if word in YES or word in NO:
        return word in YES
    raise NotUnderstood(_("“{text}” is neither yes nor no").format(text=text[:SHOWN]))


def language_said(text: str) -> str:
    """Return the code of a language."""
    found = LANGUAGES.get(plain_word(text))
    if found is None:
        raise NotUnderstood(_("“{text}” is neither English nor Spanish").format(text=text[:SHOWN]))
    return found.value


def work_said(text: str, known: list[str]) -> list[str]:
    """Return kinds of work by their codes or by what they are called in either language; `all` is all of them."""
    if plain_word(text) in ALL:
        return list(known)
    by_word = _work_words(known)
    found: list[str] = []
    for piece in re.split(r"[;,/|\n]", text):
        word = plain_word(piece)
        if not word:
            continue
        if word not in by_word:
            raise NotUnderstood(
                _("“{text}” is no work that is known; known are: {known}").format(
                    text=piece.strip()[:SHOWN], known=", ".join(known)
                )
            )
        if by_word[word] not in found:
            found.append(by_word[word])
    return found


def days_said(text: str) -> list[str]:
    """Return days of the week: `mon-fri`, `mon tue thu`."""
    found: set[int] = set()
    for piece in re.split(r"[;,/\s]+", re.sub(r" ?- ?", "-", plain_word(text.replace("–", "-"), keep="-"))):
        first, _sign, last = piece.partition("-")
        if first not in DAY_WORDS or (last and last not in DAY_WORDS):
            raise NotUnderstood(_("“{text}” are not days such as mon-fri").format(text=text[:SHOWN]))
        begin, end = DAY_WORDS[first], DAY_WORDS[last or first]
        found |= {one % 7 for one in range(begin, (end if end >= begin else end + 7) + 1)}
    return [WEEKDAYS[one] for one in sorted(found)]


def hour_said(text: str) -> str:
    """Return a clock time HH:MM of 24 hours from `7`, `7:00`, `6 pm` or `18:30`."""
    match = HOUR.fullmatch(text.strip())
    if match:
        hour, minute = int(match[1]), int(match[2] or 0)
        half = (match[3] or "").lower()[:1]
        if half and 1 <= hour <= 12:
            hour = hour % 12 + (12 if half == "p" else 0)
        elif half:
            hour = 99
        if hour < 24 and minute < 60:
            return f"{hour:02d}:{minute:02d}"
    raise NotUnderstood(_("“{text}” is not an hour such as 7:00, 18:00 or 6 pm").format(text=text[:SHOWN]))


def one_of_named(text: str, known: Mapping[str, str], *, says: str) -> str:
    """Return the code of something by its name or its code; `says` has `{text}` and `{known}` where none is so."""
    word = plain_word(text)
    for code, name in known.items():
        if word in (plain_word(code), plain_word(name)):
            return code
    raise NotUnderstood(says.format(text=text[:SHOWN], known=", ".join(list(known.values())[:20])))


def plain_word(text: str, *, keep: str = "") -> str:
    """Return a word without accents, in small letters, with single spaces in place of signs."""
    bare = "".join(sign for sign in unicodedata.normalize("NFKD", text) if not unicodedata.combining(sign))
    return " ".join(re.sub(rf"[^0-9a-z{re.escape(keep)}]+", " ", bare.lower()).split())


def _work_words(known: list[str]) -> dict[str, str]:
    found = {}
    for code in known:
        said = operations.WORDS[operations.Operation(code)]
        for name in (code, said.english, said.spanish):
            found[plain_word(name)] = code
    return found
