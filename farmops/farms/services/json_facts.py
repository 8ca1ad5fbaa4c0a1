"""Reading a JSON file of facts so that every refusal names the file, the path in it and what is wrong.

A `Node` is one object of the file. Its readers take a key, check the value and remember that the key was used;
`finish` refuses keys that nobody asked for, so that a mistyped key is never silently dropped.
"""

import datetime as dt
import json
import re
from collections.abc import Collection, Iterator, Mapping
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any

from django.utils.translation import gettext as _

from farmops.core.problems import DomainError
from farmops.core.strict_json import strict_loads

MOST_BYTES = 20 * 1024 * 1024
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_CODE = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")


class BadFarmFile(DomainError):
    """A file of facts that cannot be used; the sentence names the file and the path in it."""

    code = "bad_farm_file"


def read_json(path: Path) -> Any:
    """Return the content of a UTF-8 JSON file; numbers with a point are read as exact decimals."""
    try:
        if path.stat().st_size > MOST_BYTES:
            raise BadFarmFile(f"{path}: the file is larger than {MOST_BYTES // 1024 // 1024} MB.")
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError as error:
        raise BadFarmFile(f"{path}: there is no such file.") from error
    except OSError as error:
        raise BadFarmFile(f"{path}: the file cannot be read: {error.strerror}.") from error
    except UnicodeDecodeError as error:
        raise BadFarmFile(f"{path}: the file is not UTF-8 text (byte {error.start}).") from error
    try:
        return strict_loads(text, parse_float=Decimal)
    except json.JSONDecodeError as error:
        raise BadFarmFile(
            f"{path}: line {error.lineno}, column {error.colno}: not JSON: {error.msg}."
        ) from error
    except (ValueError, RecursionError) as error:
        raise BadFarmFile(f"{path}: not JSON that can be used: {error}.") from error


class Node:
    """One object of a JSON file."""

    def __init__(self, value: Any, *, path: Path, at: str = "") -> None:
        self.path = path
        self.at = at
        if not isinstance(value, Mapping):
            raise self.wrong(_("an object is wanted here, not {kind}").format(kind=_kind(value)))
        self._value = value
        self._used: set[str] = set()

    def wrong(self, says: str, key: str = "") -> BadFarmFile:
        """Return the refusal of a value, to be raised."""
        place = self._place(key)
        return BadFarmFile(f"{self.path}: {place}: {says}." if place else f"{self.path}: {says}.")

    def _place(self, key: str) -> str:
        return f"{self.at}.{key}" if self.at and key else self.at or key

    def raw(self, key: str) -> Any:
        """Return a value as it stands, or None."""
        self._used.add(key)
        return self._value.get(key)

    def text(self, key: str, *, most: int, default: str | None = None) -> str:
        """Return a text of at most so many characters; required when there is no default."""
        value = self.raw(key)
        if value is None:
            return self._absent(key, default)
        if not isinstance(value, str):
            raise self.wrong(_("a text is wanted, not {kind}").format(kind=_kind(value)), key)
        value = value.strip()
        if not value and default is None:
            raise self.wrong(_("is empty"), key)
        if len(value) > most:
            raise self.wrong(
                _("{count} characters are more than the {most} allowed").format(count=len(value), most=most),
                key,
            )
        if not value.isprintable():
            raise self.wrong(_("holds a character that cannot be printed"), key)
        return value

    def code(self, key: str, *, known: Collection[str] | None = None, what: str = "code") -> str:
        """Return a code of lower-case letters, digits and hyphens; one of the known ones where they are given."""
        value = self.text(key, most=40)
        if not _CODE.fullmatch(value):
            raise self.wrong(
                _("{value} is not a code of lower-case letters, digits and hyphens").format(
                    value=repr(value)
                ),
                key,
            )
        if known is not None and value not in known:
            raise self.wrong(
                _("no {what} has the code {value}; known: {known}").format(
                    what=_(what), value=repr(value), known=_several(known)
                ),
                key,
            )
        return value

    def choice(self, key: str, choices: Collection[str], *, default: str | None = None) -> str:
        """Return one of the words allowed."""
        value = self.text(key, most=60, default=default)
        if value not in choices:
            raise self.wrong(
                _("{value} is not one of {known}").format(value=repr(value), known=_several(choices)), key
            )
        return value

    def number(
        self, key: str, *, least: float, most: float, decimals: int, default: Decimal | None = None
    ) -> Decimal:
        """Return a number within a range, with at most so many decimals."""
        value = self.optional_number(key, least=least, most=most, decimals=decimals)
        if value is None:
            return self._absent(key, default)
        return value

    def optional_number(self, key: str, *, least: float, most: float, decimals: int) -> Decimal | None:
        """Return a number within a range, or None where the key is absent."""
        value = self.raw(key)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, (int, Decimal)):
            raise self.wrong(_("a number is wanted, not {kind}").format(kind=_kind(value)), key)
        try:
            exact = Decimal(value).quantize(Decimal(1).scaleb(-decimals))
        except InvalidOperation as error:
            raise self.wrong(_("{value} is out of range").format(value=value), key) from error
        if not Decimal(str(least)) <= exact <= Decimal(str(most)):
            raise self.wrong(
                _("{value} is outside {least} to {most}").format(
                    value=value, least=f"{least:g}", most=f"{most:g}"
                ),
                key,
            )
        if exact != value:
            raise self.wrong(
                _("{value} has more than {decimals} decimals").format(value=value, decimals=decimals), key
            )
        return exact

    def whole(self, key: str, *, least: int, most: int, default: int | None = None) -> int:
        """Return a whole number within a range."""
        given = None if default is None else Decimal(default)
        return int(self.number(key, least=least, most=most, decimals=0, default=given))

    def flag(self, key: str, *, default: bool) -> bool:
        """Return true or false."""
        value = self.raw(key)
        if value is None:
            return default
        if not isinstance(value, bool):
            raise self.wrong(_("true or false is wanted, not {kind}").format(kind=_kind(value)), key)
        return value

    def date(self, key: str) -> dt.date:
        """Return a date written YYYY-MM-DD."""
        value = self.text(key, most=10)
        try:
            if not _DATE.fullmatch(value):
                raise ValueError(value)
            return dt.date.fromisoformat(value)
        except ValueError as error:
            raise self.wrong(
                _("{value} is not a date such as 2026-04-20").format(value=repr(value)), key
            ) from error

    def optional_date(self, key: str) -> dt.date | None:
        """Return a date, or None where the key is absent."""
        return None if self.raw(key) is None else self.date(key)

    def time(self, key: str, *, default: dt.time | None = None) -> dt.time:
        """Return a clock time written HH:MM, 24 hours."""
        if self.raw(key) is None:
            return self._absent(key, default)
        value = self.text(key, most=5)
        try:
            return dt.datetime.strptime(value, "%H:%M").time()  # noqa: DTZ007  (a clock time has no zone)
        except ValueError as error:
            raise self.wrong(
                _("{value} is not a time such as 07:00 or 18:30").format(value=repr(value)), key
            ) from error

    def words(self, key: str, choices: Collection[str]) -> list[str]:
        """Return a list of words, each of those allowed and none twice."""
        value = self.raw(key)
        if not isinstance(value, list) or not value:
            raise self.wrong(_("a list with at least one word is wanted"), key)
        for index, word in enumerate(value):
            if word not in choices:
                raise self.wrong(
                    _("{value} is not one of {known}").format(value=repr(word), known=_several(choices)),
                    f"{key}[{index}]",
                )
            if word in value[:index]:
                raise self.wrong(_("{value} stands twice").format(value=repr(word)), f"{key}[{index}]")
        return value

    def nodes(self, key: str, *, required: bool = False) -> Iterator["Node"]:
        """Yield the objects of a list."""
        value = self.raw(key)
        if value is None:
            if required:
                raise self.wrong(_("is missing"), key)
            return
        if not isinstance(value, list):
            raise self.wrong(_("a list is wanted, not {kind}").format(kind=_kind(value)), key)
        for index, item in enumerate(value):
            yield Node(item, path=self.path, at=f"{self._place(key)}[{index}]")

    def node(self, key: str) -> "Node":
        """Return the object under a key."""
        value = self.raw(key)
        if value is None:
            raise self.wrong(_("is missing"), key)
        return Node(value, path=self.path, at=self._place(key))

    def finish(self) -> None:
        """Refuse keys that nobody asked for."""
        for key in self._value:
            if key not in self._used:
                raise self.wrong(f"the key is not known here; known keys: {_several(self._used)}", key)

    def _absent(self, key: str, default: Any) -> Any:
        if default is None:
            raise self.wrong(_("is missing"), key)
        return default


def _kind(value: Any) -> str:
    if value is None:
        return "null"
    names = {bool: "true or false", str: "a text", list: "a list", int: "a number", Decimal: "a number"}
    return names.get(type(value), "an object")


def _several(words: Collection[str]) -> str:
    return ", ".join(sorted(words)) or "none"
