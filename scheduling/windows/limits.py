"""Limits as data: what must hold before work may go on, with its number, unit and source.

The file's order is the order in which a shut hour is explained: the first limit that shuts it is named.
"""

import csv
import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from string import Formatter
from typing import TypeVar

from farmops.farms.operations import Operation

SHIPPED = Path(__file__).resolve().parents[2] / "fixtures" / "limits.csv"
CROPS = frozenset({"cotton", "peanuts", "corn"})
Word = TypeVar("Word", bound=StrEnum)
WORDS_TO_FILL = frozenset({"value", "limit", "depth", "pump", "reason"})


class LimitsError(ValueError):
    """A limits file that cannot be used; the sentence names the file, the line and the column."""


class Quantity(StrEnum):
    """What a limit looks at."""

    MEMBER_SHARE = "member_share"
    POWER_SHUT = "power_shut"
    RAIN_HOUR = "rain_hour"
    RAIN_AHEAD = "rain_ahead"
    TOPSOIL = "topsoil"
    SUBSOIL = "subsoil"
    SEED_WATER = "seed_water"
    SOIL_MEAN = "soil_mean"
    AIR_MIN = "air_min"
    DD60_SUM = "dd60_sum"


class LimitKind(StrEnum):
    """Which part of the world a limit is about: the grower's say-so outranks the wetness ones."""

    CERTAINTY = "certainty"
    POWER = "power"
    RAIN = "rain"
    WETNESS = "wetness"
    WARMTH = "warmth"
    DRYNESS = "dryness"


class Effect(StrEnum):
    """Whether a limit shuts the hour or only speaks against the work."""

    SHUTS = "shuts"
    ADVICE = "advice"


UNITS: Mapping[Quantity, frozenset[str]] = {
    Quantity.MEMBER_SHARE: frozenset({"share"}),
    Quantity.POWER_SHUT: frozenset({"yes_no"}),
    Quantity.RAIN_HOUR: frozenset({"in"}),
    Quantity.RAIN_AHEAD: frozenset({"in"}),
    Quantity.TOPSOIL: frozenset({"share_of_workable"}),
    Quantity.SUBSOIL: frozenset({"share_of_field_capacity"}),
    Quantity.SEED_WATER: frozenset({"share_of_plant_water"}),
    Quantity.SOIL_MEAN: frozenset({"F"}),
    Quantity.AIR_MIN: frozenset({"F"}),
    Quantity.DD60_SUM: frozenset({"DD60"}),
}
BY_DAY = frozenset({Quantity.SOIL_MEAN, Quantity.AIR_MIN, Quantity.DD60_SUM})


@dataclass(frozen=True)
class Limit:
    """One row: `quantity` over its days or hours must be on the right side of `number`.

    A quantity by the day is taken over `days_back` days (1 is the day itself) and `days_ahead` days after it: the
    lowest of them for `>=`, the highest for `<=`, the sum for a heat sum.
    """

    key: str
    operations: frozenset[Operation]
    crop: str
    quantity: Quantity
    depth_in: float | None
    days_back: int
    days_ahead: int
    hours_ahead: int
    is_floor: bool
    number: float
    unit: str
    kind: LimitKind
    effect: Effect
    says_en: str
    says_es: str
    source: str

    def applies_to(self, operation: Operation, crop: str) -> bool:
        """Return whether the limit speaks about this work in this crop."""
        return operation in self.operations and self.crop in ("", crop)


COLUMNS = (
    "key",
    "operations",
    "crop",
    "quantity",
    "depth_in",
    "days_back",
    "days_ahead",
    "hours_ahead",
    "comparison",
    "number",
    "unit",
    "kind",
    "effect",
    "says_en",
    "says_es",
    "source",
)


def load_limits(path: Path | None = None) -> tuple[Limit, ...]:
    """Read a limits file, the shipped one by default.

    Raises LimitsError, naming file, line and column, for anything that is not understood.
    """
    path = path or SHIPPED
    try:
        with path.open(encoding="utf-8", newline="") as lines:
            reader = csv.DictReader(lines)
            if tuple(reader.fieldnames or ()) != COLUMNS:
                raise LimitsError(f"{path.name}, line 1: the columns must be {','.join(COLUMNS)}.")
            limits = tuple(_limit(row, f"{path.name}, line {reader.line_num}") for row in reader)
    except OSError as error:
        raise LimitsError(f"{path}: the limits file cannot be read ({error.strerror}).") from error
    seen: set[str] = set()
    for limit in limits:
        if limit.key in seen:
            raise LimitsError(f"{path.name}: the key {limit.key!r} stands twice.")
        seen.add(limit.key)
    return limits


def open_from_share(limits: tuple[Limit, ...], operation: Operation) -> float:
    """Return the share of weather members from which an hour counts as open (0.5 where no row says so)."""
    rows = (limit for limit in limits if limit.quantity is Quantity.MEMBER_SHARE)
    return next((limit.number for limit in rows if operation in limit.operations), 0.5)


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
    quantity = _one_of(Quantity, text, "quantity", at)
    if text["unit"] not in UNITS[quantity]:
        known = ", ".join(sorted(UNITS[quantity]))
        raise LimitsError(f"{at}: unit is {text['unit']!r}; {quantity} is told in {known}.")
    days_back = _whole(text, "days_back", at)
    if quantity in BY_DAY and days_back < 1:
        raise LimitsError(f"{at}: days_back must be at least 1 for {quantity}.")
    for column in ("says_en", "says_es"):
        _check_words(text[column], f"{at}: {column}")
    return Limit(
        key=text["key"],
        operations=frozenset(_operation(word, at) for word in text["operations"].split()),
        crop=text["crop"],
        quantity=quantity,
        depth_in=_number(text, "depth_in", at) if text["depth_in"] else None,
        days_back=days_back,
        days_ahead=_whole(text, "days_ahead", at),
        hours_ahead=_whole(text, "hours_ahead", at),
        is_floor=text["comparison"] == ">=",
        number=_number(text, "number", at),
        unit=text["unit"],
        kind=_one_of(LimitKind, text, "kind", at),
        effect=_one_of(Effect, text, "effect", at),
        says_en=text["says_en"],
        says_es=text["says_es"],
        source=text["source"],
    )


def _operation(word: str, at: str) -> Operation:
    try:
        return Operation(word)
    except ValueError as error:
        known = ", ".join(Operation)
        raise LimitsError(f"{at}: operations names {word!r}; known are {known}.") from error


def _one_of(words: type[Word], text: Mapping[str, str], column: str, at: str) -> Word:
    try:
        return words(text[column])
    except ValueError as error:
        known = ", ".join(words)
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
