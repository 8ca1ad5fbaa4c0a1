"""Judging single values of a problem or plan file: each refusal is one sentence that begins with the path."""

import json
import re
from collections.abc import Callable, Sequence
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any

MOST_BYTES = 64 * 1024 * 1024
MOST_MINUTES = 100_000_000
MOST_CENTS = 100_000_000_000
MOST_CENTS_PER_HOUR = 100_000_000
MOST_LETTERS = 300
MOST_FIGURES = 400
"""Of a number as it stands in a file; longer ones are not read at all."""
_PLAIN_KEY = re.compile(r"[A-Za-z_][A-Za-z0-9_]{0,59}")


class ProblemError(ValueError):
    """A value that the format does not allow; `path` names it and `says` tells what is wrong."""

    def __init__(self, path: str, says: str) -> None:
        super().__init__(f"{path} {says}")
        self.path = path
        self.says = says


class JsonObject(dict[str, Any]):
    """An object of a file, which remembers a key that stood in it twice."""

    repeated: str | None = None


class NoNumber:
    """Stands for NaN, an infinity, or a number too long to be read."""

    def __init__(self, text: str) -> None:
        self.text = text if len(text) <= 20 else f"{text[:12]}… ({len(text):,} figures)"


def shown(value: Any) -> str:
    """Return the value as it stands in the file, cut to a few words."""
    if isinstance(value, NoNumber):
        return value.text
    if isinstance(value, dict):
        return "an object"
    if isinstance(value, (list, tuple)):
        return "a list"
    if isinstance(value, (Decimal, float)):
        text = str(value)
    else:
        try:
            text = json.dumps(value, ensure_ascii=True)
        except (TypeError, ValueError):
            text = type(value).__name__
    return text if len(text) <= 40 else f"{text[:37]}…"


def printable(text: str) -> str:
    """Return a text on its one line, what no terminal should be sent (as in ids of a file) escaped."""
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in text)


def at(path: str, key: str) -> str:
    """Return the path of a key under another path."""
    name = key if _PLAIN_KEY.fullmatch(key) else shown(key)
    return f"{path}.{name}" if path else name


def as_object(value: Any, path: str, required: Sequence[str], optional: Sequence[str] = ()) -> dict[str, Any]:
    """Return the object, or refuse unknown, repeated and missing keys by their path."""
    if not isinstance(value, dict):
        raise ProblemError(path or "the file", f"must be an object, not {shown(value)}.")
    repeated = getattr(value, "repeated", None)
    if repeated is not None:
        raise ProblemError(at(path, repeated), "stands twice in the same object.")
    for key in value:
        if not isinstance(key, str):
            raise ProblemError(path or "the file", f"has a key that is not text: {shown(key)}.")
        if key not in required and key not in optional:
            raise ProblemError(at(path, key), "is not a key of this format.")
    for key in required:
        if key not in value:
            raise ProblemError(at(path, key), "is missing.")
    return value


def as_list(value: Any, path: str) -> Sequence[Any]:
    if not isinstance(value, (list, tuple)):
        raise ProblemError(path, f"must be a list, not {shown(value)}.")
    return value


def as_text(value: Any, path: str) -> str:
    """Return a text of 1 to 300 letters that can be written as UTF-8."""
    if not isinstance(value, str):
        raise ProblemError(path, f"must be text, not {shown(value)}.")
    if not value.strip():
        raise ProblemError(path, "must not be empty.")
    if len(value) > MOST_LETTERS:
        raise ProblemError(path, f"must have at most {MOST_LETTERS} letters, not {len(value)}.")
    _judge_surrogates(value, path)
    return value


def as_flag(value: Any, path: str) -> bool:
    if not isinstance(value, bool):
        raise ProblemError(path, f"must be true or false, not {shown(value)}.")
    return value


def as_whole(value: Any, path: str, least: int, most: int = MOST_MINUTES) -> int:
    """Return a whole number in least..most; true, 1.0 and "1" are none."""
    if isinstance(value, bool) or not isinstance(value, int):
        raise ProblemError(path, f"must be a whole number, not {shown(value)}.")
    if value < least:
        raise ProblemError(path, f"must be at least {least}, not {_number(value)}.")
    if value > most:
        raise ProblemError(path, f"must be at most {most}, not {_number(value)}.")
    return value


def as_decimal(value: Any, path: str, least: int, most: int, digits: int) -> Decimal:
    """Return an exact number in least..most with at most so many decimals."""
    if isinstance(value, bool) or not isinstance(value, (int, float, Decimal)):
        raise ProblemError(path, f"must be a number, not {shown(value)}.")
    number = Decimal(repr(value)) if isinstance(value, float) else Decimal(value)
    if not number.is_finite():
        raise ProblemError(path, f"must be a number, not {shown(value)}.")
    if not least <= number <= most:
        raise ProblemError(path, f"must lie between {least} and {most}, not {shown(value)}.")
    if number and _decimals(number) > digits:
        raise ProblemError(path, f"must have at most {digits} decimals, not {shown(value)}.")
    return number


def _decimals(number: Decimal) -> int:
    """Return how many decimals a finite number needs; zeros at its end need none."""
    _, figures, exponent = number.as_tuple()
    zeros = len(figures) - len("".join(map(str, figures)).rstrip("0"))
    return max(0, -(int(exponent) + zeros))


def as_words(value: Any, path: str) -> str:
    """Return a text that may be empty and of any length, and can be written as UTF-8."""
    if not isinstance(value, str):
        raise ProblemError(path, f"must be text, not {shown(value)}.")
    _judge_surrogates(value, path)
    return value


def _judge_surrogates(text: str, path: str) -> None:
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        raise ProblemError(path, "holds half of a surrogate pair, which is not text.") from None


def _number(value: int) -> str:
    return str(value) if abs(value) < 10**15 else "a number of more than 15 digits"


def _pairs(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) == len(pairs):
        return found
    seen: set[str] = set()
    again = JsonObject(found)
    again.repeated = next(key for key, _ in pairs if key in seen or seen.add(key))  # type: ignore[func-returns-value]
    return again


def _whole(text: str) -> int | NoNumber:
    return int(text) if len(text) <= MOST_FIGURES else NoNumber(text)


def _decimal(text: str) -> Decimal | NoNumber:
    # Reckoning with a number of millions of figures would take hours.
    if len(text) > MOST_FIGURES:
        return NoNumber(text)
    try:
        return Decimal(text)
    except InvalidOperation:
        return NoNumber(text)


_NO_NUMBERS = {text: NoNumber(text) for text in ("NaN", "Infinity", "-Infinity")}


def _parse(text: str, parse_int: Callable[[str], Any]) -> Any:
    return json.loads(
        text,
        object_pairs_hook=_pairs,
        parse_int=parse_int,
        parse_float=_decimal,
        parse_constant=_NO_NUMBERS.__getitem__,
    )


def read_json(path: Path) -> Any:
    """Return the value of a JSON file in UTF-8, numbers exact; ProblemError for anything else.

    A missing or unreadable file is an OSError, as from open().
    """
    name = str(path)
    with path.open("rb") as file:
        raw = file.read(MOST_BYTES + 1)
    if len(raw) > MOST_BYTES:
        raise ProblemError(name, f"is larger than {MOST_BYTES // 1024 // 1024} MB.")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise ProblemError(name, f"is not UTF-8 text: byte {error.start} cannot be read.") from None
    del raw
    if not text or text.isspace():
        raise ProblemError(name, "is empty.")
    try:
        try:
            return _parse(text, int)
        except json.JSONDecodeError:
            raise
        except ValueError:
            # A number of thousands of digits: Python does not read it, so go the slower way around it.
            return _parse(text, _whole)
    except json.JSONDecodeError as error:
        what = error.msg.removesuffix(" at")
        says = f"is not JSON: {what} at line {error.lineno} column {error.colno}."
        raise ProblemError(name, says) from None
    except RecursionError:
        raise ProblemError(name, "is nested too deeply to be read.") from None
