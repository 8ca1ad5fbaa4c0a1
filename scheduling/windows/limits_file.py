"""The table of limits: `fixtures/limits.csv`, or a file like it.

The file's order is the order in which a shut hour is explained: the first limit that shuts it is named.
"""

import csv
import math
from collections.abc import Mapping
from enum import StrEnum
from functools import lru_cache
from pathlib import Path
from string import Formatter
from typing import TypeVar

from farmops.farms.operations import Operation
from scheduling.windows.limits import (
    BY_DAY,
    BY_HOURS_AHEAD,
    BY_HOURS_BACK,
    CROPS,
    MEASURES,
    OF_A_DEPTH,
    Effect,
    Land,
    Limit,
    LimitKind,
    LimitsError,
    Quantity,
)

SHIPPED = Path(__file__).resolve().parents[2] / "fixtures" / "limits.csv"
Word = TypeVar("Word", bound=StrEnum)
ALL = "all"
WORDS_TO_FILL = frozenset(
    {"value", "limit", "depth", "hour", "load", "pump", "reason", "until", "since", "products", "place"}
)
USES = {"on": True, "off": False}
COLUMNS = (
    "key",
    "operations",
    "crop",
    "land",
    "quantity",
    "depth_in",
    "hour",
    "days_back",
    "days_ahead",
    "hours_back",
    "hours_ahead",
    "comparison",
    "number",
    "unit",
    "kind",
    "effect",
    "use",
    "says_en",
    "says_es",
    "source",
)


def load_limits(path: Path | None = None) -> tuple[Limit, ...]:
    """Read a limits file, or the shipped one, which a process reads once.

    Raises LimitsError, naming file, line and column, for anything that is not understood.
    """
    return _shipped(SHIPPED) if path is None else _read(path)


@lru_cache(maxsize=1)
def _shipped(path: Path) -> tuple[Limit, ...]:
    return _read(path)


def _read(path: Path) -> tuple[Limit, ...]:
    try:
        with path.open(encoding="utf-8", newline="") as lines:
            reader = csv.DictReader(lines)
            if tuple(reader.fieldnames or ()) != COLUMNS:
                raise LimitsError(f"{path.name}, line 1: the columns must be {','.join(COLUMNS)}.")
            limits: dict[str, Limit] = {}
            for row in reader:
                at = f"{path.name}, line {reader.line_num}"
                limit = _limit(row, at)
                if limit.key in limits:
                    raise LimitsError(f"{at}: key: {limit.key!r} stands twice.")
                limits[limit.key] = limit
    except OSError as error:
        raise LimitsError(f"{path}: the limits file cannot be read ({error.strerror}).") from error
    except UnicodeDecodeError as error:
        raise LimitsError(f"{path.name}: the limits file is not UTF-8 text.") from error
    return tuple(limits.values())


def _limit(row: Mapping[str, str | None], at: str) -> Limit:
    if None in row or None in row.values():
        raise LimitsError(f"{at}: there must be {len(COLUMNS)} values.")
    text = {column: (row[column] or "").strip() for column in COLUMNS}
    for column in ("key", "operations", "quantity", "says_en", "says_es", "source"):
        if not text[column]:
            raise LimitsError(f"{at}: {column} is empty.")
    if text["crop"] and text["crop"] not in CROPS:
        raise LimitsError(f"{at}: crop is {text['crop']!r}; known are {', '.join(sorted(CROPS))}.")
    if text["comparison"] not in (">=", "<="):
        raise LimitsError(f"{at}: comparison is {text['comparison']!r}; it must be >= or <=.")
    if text["use"] not in USES:
        raise LimitsError(f"{at}: use is {text['use']!r}; it must be on or off.")
    quantity = _one_of(Quantity, text, "quantity", at)
    measure = MEASURES[quantity]
    if text["unit"] not in measure.units:
        known = ", ".join(sorted(measure.units))
        raise LimitsError(f"{at}: unit is {text['unit']!r}; {quantity} is told in {known}.")
    for column in ("says_en", "says_es"):
        _check_words(text[column], f"{at}: {column}")
    limit = Limit(
        key=text["key"],
        operations=_operations(text["operations"], at),
        crop=text["crop"],
        land=_one_of(Land, text, "land", at),
        quantity=quantity,
        depth_in=_number(text, "depth_in", at) if text["depth_in"] else None,
        hour=_number(text, "hour", at) if text["hour"] else None,
        days_back=_whole(text, "days_back", at),
        days_ahead=_whole(text, "days_ahead", at),
        hours_back=_whole(text, "hours_back", at),
        hours_ahead=_whole(text, "hours_ahead", at),
        is_floor=text["comparison"] == ">=",
        number=_number(text, "number", at),
        unit=text["unit"],
        kind=_one_of(LimitKind, text, "kind", at),
        effect=_one_of(Effect, text, "effect", at),
        is_used=USES[text["use"]],
        says_en=text["says_en"],
        says_es=text["says_es"],
        source=text["source"],
    )
    _refuse_what_cannot_be_looked_up(limit, at)
    return limit


def _refuse_what_cannot_be_looked_up(limit: Limit, at: str) -> None:
    quantity, measure = limit.quantity, MEASURES[limit.quantity]
    if not measure.least <= limit.number <= measure.most:
        raise LimitsError(
            f"{at}: number is {limit.number:g}; {quantity} is told from {measure.least:g} to {measure.most:g} "
            f"{limit.unit}."
        )
    needs = {"days_back": BY_DAY, "hours_ahead": BY_HOURS_AHEAD, "hours_back": BY_HOURS_BACK}
    for column, quantities in needs.items():
        if quantity in quantities and getattr(limit, column) < 1:
            raise LimitsError(f"{at}: {column} must be at least 1 for {quantity}.")
    if quantity in OF_A_DEPTH and not 0 < (limit.depth_in or 0) <= 12:
        raise LimitsError(f"{at}: depth_in must be above 0 and at most 12 for {quantity}.")
    if (quantity is Quantity.SOIL_HOUR) != (limit.hour is not None):
        raise LimitsError(f"{at}: hour goes with soil_hour, and only with it.")
    if limit.hour is not None and not 0 <= limit.hour < 24:
        raise LimitsError(f"{at}: hour is {limit.hour:g}; a clock hour is from 0 to below 24.")
    if limit.kind is LimitKind.LABEL and not (limit.is_used and limit.effect is Effect.SHUTS):
        raise LimitsError(f"{at}: kind label is on and shuts; the label wins.")


def _operations(words: str, at: str) -> frozenset[Operation]:
    if words == ALL:
        return frozenset(Operation)
    return frozenset(_operation(word, at) for word in words.split())


def _operation(word: str, at: str) -> Operation:
    try:
        return Operation(word)
    except ValueError as error:
        known = ", ".join([ALL, *Operation])
        raise LimitsError(f"{at}: operations names {word!r}; known are {known}.") from error


def _one_of(words: type[Word], text: Mapping[str, str], column: str, at: str) -> Word:
    try:
        return words(text[column])
    except ValueError as error:
        known = ", ".join(word for word in words if word)
        raise LimitsError(f"{at}: {column} is {text[column]!r}; known are {known}.") from error


def _number(text: Mapping[str, str], column: str, at: str) -> float:
    try:
        number = float(text[column])
    except ValueError as error:
        raise LimitsError(f"{at}: {column} is {text[column]!r}, not a number.") from error
    if not math.isfinite(number):
        raise LimitsError(f"{at}: {column} is {text[column]!r}, not a number.")
    return number


def _whole(text: Mapping[str, str], column: str, at: str) -> int:
    if text[column] and not text[column].isdecimal():
        raise LimitsError(f"{at}: {column} is {text[column]!r}, not a whole number from 0.")
    return int(text[column] or 0)


def _check_words(sentence: str, at: str) -> None:
    try:
        names = {name for _, name, _, _ in Formatter().parse(sentence) if name is not None}
    except ValueError as error:
        raise LimitsError(f"{at} has a brace that does not close.") from error
    if names - WORDS_TO_FILL:
        raise LimitsError(f"{at} asks for {', '.join(sorted(names - WORDS_TO_FILL))}, which no limit has.")
