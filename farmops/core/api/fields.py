"""Values that are taken as they are written or refused: nothing is guessed, cut or rounded.

JSON has numbers, texts and true or false; each field takes one of them. Digits are 0 to 9, an instant carries its
offset, a decimal is written as a text, since a binary fraction is seldom what was meant.
"""

import datetime as dt
import re
import unicodedata
import uuid
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

MOST_WHOLE = 2_147_483_647
FIRST_YEAR, LAST_YEAR = 1900, 2199
DIGITS = re.compile(r"-?[0-9]{1,10}")
_DECIMAL = re.compile(r"-?[0-9]{1,18}(\.[0-9]{1,18})?")
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_CLOCK = re.compile(r"[0-9]{2}:[0-9]{2}(:[0-9]{2})?")
_INSTANT = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}(\.[0-9]{1,6})?(Z|[+-][0-9]{2}:[0-9]{2})"
)
_CODE = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_UUID = re.compile(r"[0-9a-fA-F]{8}(-[0-9a-fA-F]{4}){3}-[0-9a-fA-F]{12}")
_TURNS_THE_LINE = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def day_from(text: str) -> dt.date:
    """Return the date of a text such as 2026-04-20; raises ValueError with a sentence."""
    if not _DAY.fullmatch(text):
        raise ValueError("Write a date such as 2026-04-20.")
    try:
        day = dt.date.fromisoformat(text)
    except ValueError as error:
        raise ValueError(f"{text} is not a day of the calendar.") from error
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise ValueError(f"Days lie in {FIRST_YEAR} to {LAST_YEAR}.")
    return day


def instant_from(text: str) -> dt.datetime:
    """Return the instant of an RFC 3339 text with its offset; raises ValueError with a sentence."""
    if not _INSTANT.fullmatch(text):
        raise ValueError(
            "Write an instant with its offset, such as 2026-04-20T07:00:00-04:00 or 2026-04-20T11:00:00Z."
        )
    try:
        instant = dt.datetime.fromisoformat(text)
    except ValueError as error:
        raise ValueError(f"{text} is not an instant: {error}.") from error
    if not FIRST_YEAR < instant.year < LAST_YEAR:
        raise ValueError(f"Instants lie in {FIRST_YEAR + 1} to {LAST_YEAR - 1}.")
    return instant


def refused_character(text: str, *, lines: bool) -> str | None:
    """Return the first character that a stored text must not hold, by its number, or None."""
    for sign in text:
        if lines and sign in "\n\t":
            continue
        if sign in _TURNS_THE_LINE or unicodedata.category(sign) in ("Cc", "Cs", "Zl", "Zp"):
            return f"U+{ord(sign):04X}"
    return None


class Text(serializers.CharField):
    """A text, and nothing that would have to be turned into one. Line ends only where `lines` allows them."""

    def __init__(self, *, lines: bool = False, **kwargs: Any) -> None:
        kwargs.pop("style", None)
        super().__init__(**kwargs)
        self.lines = lines

    def to_internal_value(self, data: Any) -> str:
        if not isinstance(data, str):
            raise serializers.ValidationError("Write a text.")
        sign = refused_character(data, lines=self.lines)
        if sign is not None:
            raise serializers.ValidationError(f"The character {sign} cannot be part of this text.")
        return super().to_internal_value(data)


class Code(Text):
    """A code of lower-case letters, digits and hyphens."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 40)
        kwargs.pop("allow_unicode", None)
        super().__init__(**kwargs)

    def to_internal_value(self, data: Any) -> str:
        value = super().to_internal_value(data)
        if not _CODE.fullmatch(value):
            raise serializers.ValidationError("Write a code of lower-case letters, digits and hyphens.")
        return value


class Whole(serializers.IntegerField):
    """A whole JSON number."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("min_value", 0)
        kwargs.setdefault("max_value", MOST_WHOLE)
        super().__init__(**kwargs)

    def to_internal_value(self, data: Any) -> int:
        if isinstance(data, bool) or not isinstance(data, int):
            raise serializers.ValidationError("Write a whole number.")
        return data


class Exact(serializers.DecimalField):
    """A decimal written as a text such as "12.50"; a whole number may stand without quotes."""

    def to_internal_value(self, data: Any) -> Decimal:
        if isinstance(data, bool) or not isinstance(data, int | str):
            raise serializers.ValidationError('Write a decimal as a text such as "12.50".')
        if not _DECIMAL.fullmatch(str(data)[:40]):
            raise serializers.ValidationError('Write a plain decimal such as "12.50": digits and one point.')
        return super().to_internal_value(data) + 0  # turns -0 into 0


class YesNo(serializers.BooleanField):
    """true or false."""

    def to_internal_value(self, data: Any) -> bool:
        if not isinstance(data, bool):
            raise serializers.ValidationError("Write true or false.")
        return data


class Word(serializers.ChoiceField):
    """One of some words."""

    def to_internal_value(self, data: Any) -> Any:
        if not isinstance(data, str) or data not in self.choice_strings_to_values:
            known = ", ".join(str(choice) for choice in self.choices)
            raise serializers.ValidationError(f"Write one of: {known}.")
        return super().to_internal_value(data)


class Day(serializers.DateField):
    """A date such as 2026-04-20."""

    def to_internal_value(self, data: Any) -> dt.date:
        if not isinstance(data, str):
            raise serializers.ValidationError("Write a date such as 2026-04-20.")
        try:
            return day_from(data)
        except ValueError as error:
            raise serializers.ValidationError(str(error)) from error


class Clock(serializers.TimeField):
    """A time of the clock on the wall, such as 07:00 or 18:30."""

    def to_internal_value(self, data: Any) -> dt.time:
        if not isinstance(data, str) or not _CLOCK.fullmatch(data):
            raise serializers.ValidationError("Write a clock time such as 07:00 or 18:30.")
        try:
            return dt.time.fromisoformat(data)
        except ValueError as error:
            raise serializers.ValidationError(f"{data} is not a clock time.") from error


class Instant(serializers.DateTimeField):
    """An instant with its offset in, and out on the clock of the context's zone."""

    def to_internal_value(self, value: Any) -> dt.datetime:
        if not isinstance(value, str):
            raise serializers.ValidationError("Write an instant as a text with its offset.")
        try:
            return instant_from(value)
        except ValueError as error:
            raise serializers.ValidationError(str(error)) from error

    def to_representation(self, value: dt.datetime) -> str:
        zone = self.context.get("zone")
        return value.astimezone(zone if isinstance(zone, ZoneInfo) else dt.UTC).isoformat()


@extend_schema_field(OpenApiTypes.UUID)
class ClientId(serializers.Field):
    """The id that a sender makes for what it sends, so that sending twice is the same as once."""

    def to_internal_value(self, data: Any) -> uuid.UUID:
        if not isinstance(data, str) or not _UUID.fullmatch(data):
            raise serializers.ValidationError("Write a UUID such as 6f1c2c9e-6a50-4c8b-9a3e-0d6f5b1f7a11.")
        return uuid.UUID(data)

    def to_representation(self, value: uuid.UUID) -> str:
        return str(value)


@extend_schema_field(OpenApiTypes.OBJECT)
class Document(serializers.Field):
    """A JSON object of a format of its own, passed on as it stands."""

    def to_internal_value(self, data: Any) -> dict[str, Any]:
        if not isinstance(data, dict):
            raise serializers.ValidationError("Write a JSON object.")
        return data

    def to_representation(self, value: Any) -> Any:
        return value


@extend_schema_field({"type": "string", "format": "decimal"})
class Dollars(serializers.Field):
    """Whole cents, written as dollars with two decimals."""

    def to_representation(self, value: int) -> str:
        return f"{'-' if value < 0 else ''}{abs(value) // 100}.{abs(value) % 100:02d}"
