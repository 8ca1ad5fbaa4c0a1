"""Reading what a sender wrote into a report: each value as it was typed, or a sentence in the hand's language.

A body is a JSON object. Nothing is guessed: a value that cannot be read, one that is missing and a key that nobody
asked for are told all at once, and of such a report nothing is kept, so that the sender can write it again.
"""

import datetime as dt
import re
import uuid
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from farmops.core.api.fields import day_from, instant_from, refused_character
from farmops.core.problems import DomainError

EITHER = re.compile(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}")
"""A comma that may set off thousands or decimals: 1,200 gallons are not to be kept as 1.2."""
NUMBER = re.compile(r"[+-]?([0-9]{1,9}([.,][0-9]{0,9})?|[.,][0-9]{1,9})")
WHOLE = re.compile(r"[0-9]{1,15}")
CLOCK = re.compile(r"[0-9]{1,2}:[0-9]{2}(:[0-9]{2})?")
LOCAL = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}[T ][0-9]{2}:[0-9]{2}(:[0-9]{2})?")
MOST_NUMBER = Decimal(10**6)
MOST_ITEMS = 20
MOST_TEXT = 5000
SHOWN = 20
OUTSIDE = frozenset({"kind", "body", "made_offset_min"})
"""What stands beside the body in a report."""


class Said(NamedTuple):
    """A sentence in the two languages of the hands."""

    en: str
    es: str

    def said(self, language: str) -> str:
        """Return the sentence in a language; English where it is not known."""
        return self.es if language == "es" else self.en


class BodyUnreadable(DomainError):
    """A report that cannot be read: nothing of it is kept, and the sentences say what to write instead."""

    code = "report_unreadable"

    def __init__(self, faults: Mapping[str, Said], language: str = "en") -> None:
        self.faults = dict(faults)
        told = {name: fault.said(language) for name, fault in self.faults.items()}
        super().__init__(" ".join(told.values()), fields=told)

    def in_language(self, language: str) -> "BodyUnreadable":
        """Return the same refusal, told in a language."""
        return BodyUnreadable(self.faults, language)

    def within(self, name: str) -> "BodyUnreadable":
        """Return the same refusal of a body that stands under a name in something larger."""
        told = BodyUnreadable(self.faults)
        told.says, told.fields = (
            self.says,
            {at if at in OUTSIDE else f"{name}/{at}": says for at, says in self.fields.items()},
        )
        return told


class BodyReader:
    """Reads the values of one object by their names; `finish` tells everything that was wrong."""

    def __init__(
        self, body: Mapping[str, Any], zone: str, *, at: str = "", faults: dict[str, Said] | None = None
    ) -> None:
        self._body = body
        self._zone = ZoneInfo(zone)
        self._at = at
        self._asked: set[str] = set()
        self._faults: dict[str, Said] = {} if faults is None else faults
        self._inside: list[BodyReader] = []

    def finish(self) -> None:
        """Raise BodyUnreadable with all that could not be read, and with the keys that nobody asked for."""
        self._tell_unknown_keys()
        if self._faults:
            raise BodyUnreadable(self._faults)

    def text(self, name: str, *, most: int = MOST_TEXT, needed: bool = False) -> str:
        """Return a text without the white space around it, "" where there is none."""
        value = self._get(name)
        if value in (None, ""):
            return self._missing(name, "") if needed else ""
        if not isinstance(value, str):
            return self._wrong(name, Said("is no text", "no es texto"), "")
        told = value.replace("\r\n", "\n").strip()
        sign = refused_character(told, lines=True)
        if sign is not None:
            says = Said(
                f"holds a sign that cannot be kept ({sign})", f"tiene un signo que no se puede ({sign})"
            )
            return self._wrong(name, says, "")
        if len(told) > most:
            says = Said(f"has more than {most} letters", f"tiene más de {most} letras")
            return self._wrong(name, says, "")
        return told

    def number_if_any(
        self, name: str, *, least: Decimal = Decimal(0), most: Decimal = MOST_NUMBER, decimals: int = 9
    ) -> Decimal | None:
        """Return a number written with a point or a comma, None where there is none."""
        value = self._get(name)
        if value in (None, ""):
            return None
        written = str(value).strip() if isinstance(value, int | str) and not isinstance(value, bool) else "?"
        if not NUMBER.fullmatch(written):
            return self._wrong(name, _of(value, Said("is not a number", "no es un número")), None)
        if EITHER.fullmatch(written):
            whole = written.replace(",", "")
            says = Said(
                f"may be {whole} or {written.replace(',', '.')}: write it without the comma",
                f"puede ser {whole} o {written.replace(',', '.')}: escríbalo sin la coma",
            )
            return self._wrong(name, _of(value, says), None)
        number = Decimal(written.replace(",", ".")) + 0  # + 0 turns -0 into 0
        if not least <= number <= most:
            says = Said(f"is not {least} to {most}", f"no está entre {least} y {most}")
            if least == 0 and number < 0:
                says = Said("cannot be below zero", "no puede ser menos de cero")
            return self._wrong(name, _of(value, says), None)
        exponent = number.normalize().as_tuple().exponent
        if isinstance(exponent, int) and -exponent > decimals:
            says = Said(f"has more than {decimals} decimals", f"tiene más de {decimals} decimales")
            return self._wrong(name, _of(value, says), None)
        return number

    def number(
        self, name: str, *, least: Decimal = Decimal(0), most: Decimal = MOST_NUMBER, decimals: int = 9
    ) -> Decimal:
        """Return a number that must be there."""
        if self._get(name) in (None, ""):
            return self._missing(name, least)
        found = self.number_if_any(name, least=least, most=most, decimals=decimals)
        return least if found is None else found

    def whole_if_any(self, name: str, *, most: int = 10**15) -> int | None:
        """Return a whole number of 0 and more, None where there is none."""
        value = self._get(name)
        if value in (None, ""):
            return None
        written = str(value).strip() if isinstance(value, int | str) and not isinstance(value, bool) else "?"
        if not WHOLE.fullmatch(written) or int(written) > most:
            says = Said("is not a whole number", "no es un número entero")
            if written[:1] in "-−" and WHOLE.fullmatch(written[1:]):
                says = Said("cannot be below zero", "no puede ser menos de cero")
            return self._wrong(name, _of(value, says), None)
        return int(written)

    def whole(self, name: str, *, most: int = 10**15) -> int:
        """Return a whole number that must be there."""
        if self._get(name) in (None, ""):
            return self._missing(name, 0)
        return self.whole_if_any(name, most=most) or 0

    def yes(self, name: str) -> bool:
        """Return true or false; false where it was not said."""
        value = self._get(name)
        if value is None:
            return False
        if not isinstance(value, bool):
            return self._wrong(name, Said("is neither true nor false", "no es sí ni no"), False)
        return value

    def yes_or_no(self, name: str) -> bool:
        """Return true or false, one of which must be said."""
        return self._missing(name, False) if self._get(name) is None else self.yes(name)

    def word(self, name: str, known: Iterable[str], *, needed: bool = False) -> str:
        """Return one of some words, "" where there is none."""
        value = self._get(name)
        if value in (None, ""):
            return self._missing(name, "") if needed else ""
        words = list(known)
        if not isinstance(value, str) or value not in words:
            listed = ", ".join(words)
            return self._wrong(name, Said(f"is not one of {listed}", f"no es uno de {listed}"), "")
        return value

    def day(self, name: str) -> dt.date:
        """Return a date that must be there."""
        value = self._get(name)
        if value in (None, ""):
            return self._missing(name, dt.date.min)
        try:
            return day_from(value if isinstance(value, str) else "")
        except ValueError:
            return self._wrong(name, _of(value, Said("is not a day", "no es un día")), dt.date.min)

    def clock_if_any(self, name: str) -> dt.time | None:
        """Return a time of the clock on the wall, None where there is none."""
        value = self._get(name)
        if value in (None, ""):
            return None
        try:
            written = value.strip().zfill(5) if isinstance(value, str) else ""
            return dt.time.fromisoformat(written if CLOCK.fullmatch(written) else "")
        except ValueError:
            return self._wrong(name, _of(value, Said("is not an hour", "no es una hora")), None)

    def instant_if_any(self, name: str) -> dt.datetime | None:
        """Return an instant with its offset, or one on the farm's clock where it has none; None where it is empty."""
        value = self._get(name)
        if value in (None, ""):
            return None
        says = Said("is not a day and hour", "no es un día con hora")
        try:
            if not (isinstance(value, str) and LOCAL.fullmatch(value.strip())):
                return instant_from(value if isinstance(value, str) else "")
            local = dt.datetime.fromisoformat(value.strip())
            day_from(local.date().isoformat())
        except ValueError:
            return self._wrong(name, _of(value, says), None)
        there = local.replace(tzinfo=self._zone)
        if there.astimezone(dt.UTC).astimezone(self._zone).replace(tzinfo=None) != local:
            says = Said("is an hour that the clock skips", "es una hora que el reloj se salta")
            return self._wrong(name, _of(value, says), None)
        return there

    def id_if_any(self, name: str) -> uuid.UUID | None:
        """Return an id that a sender made, None where there is none."""
        value = self._get(name)
        if value in (None, ""):
            return None
        try:
            return uuid.UUID(value if isinstance(value, str) else "")
        except ValueError:
            return self._wrong(name, Said("is not an id", "no es un número de reporte"), None)

    def inner(self, name: str) -> "BodyReader | None":
        """Return a reader of the object of that name, None where there is none."""
        value = self._get(name)
        if value is None:
            return None
        if not isinstance(value, Mapping):
            return self._wrong(name, Said("is not an object", "no se entiende"), None)
        return self._enter(value, name)

    def items(self, name: str, *, most: int = MOST_ITEMS) -> "list[BodyReader]":
        """Return readers of the objects of a list, none where there is no list."""
        return [self._enter(one, f"{name}/{at}") for at, one in enumerate(self._list(name, Mapping, most))]

    def wholes(self, name: str, *, most: int = 50) -> list[int]:
        """Return the whole numbers of a list, none where there is no list."""
        found = self._list(name, int | str, most)
        inside = self._enter({str(at): one for at, one in enumerate(found)}, name)
        return [inside.whole(str(at)) for at in range(len(found))]

    def _list(self, name: str, kind: Any, most: int) -> list[Any]:
        value = self._get(name)
        if value is None:
            return []
        if (
            not isinstance(value, list)
            or len(value) > most
            or not all(isinstance(one, kind) for one in value)
        ):
            says = Said(f"is not a list of at most {most}", f"no es una lista de hasta {most}")
            empty: list[Any] = []
            return self._wrong(name, says, empty)
        return value

    def _enter(self, body: Mapping[str, Any], name: str) -> "BodyReader":
        inside = BodyReader(body, self._zone.key, at=f"{self._at}{name}/", faults=self._faults)
        self._inside.append(inside)
        return inside

    def _get(self, name: str) -> Any:
        self._asked.add(name)
        return self._body.get(name)

    def _wrong(self, name: str, says: Said, otherwise: Any) -> Any:
        key = f"{self._at}{name}"
        self._faults.setdefault(key, Said(f"{key} {says.en}.", f"{key} {says.es}."))
        return otherwise

    def _missing(self, name: str, otherwise: Any) -> Any:
        return self._wrong(name, Said("is missing", "falta"), otherwise)

    def _tell_unknown_keys(self) -> None:
        for inside in self._inside:
            inside._tell_unknown_keys()
        unknown = [key for key in self._body if key not in self._asked]
        for key in unknown[:SHOWN]:
            self._wrong(str(key)[:SHOWN], Said("is not taken here", "no va en este reporte"), None)


def _of(value: Any, says: Said) -> Said:
    """Return a sentence with what was written, shortened."""
    written = "".join(sign for sign in str(value)[:SHOWN] if sign.isprintable())
    return Said(f"“{written}” {says.en}", f"“{written}” {says.es}")
