"""What planting late takes from a crop: curves of loss by calendar day, those that ship and a farm's own. No Django.

A curve is a list of losses. Each begins after a day of the year: for every day after it `per_day` more is lost, until
the next one begins, and `at_once` is lost on the day after it, as where an insurance's final date has passed. Losses
are in percent of the yield, or in the unit the yield is counted in.
"""

import csv
import datetime as dt
import itertools
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

SHIPPED = Path(__file__).resolve().parents[2] / "fixtures" / "lateness.csv"
COLUMNS = ("key", "crop", "region", "unit", "after", "per_day", "at_once", "source")
PERCENT = "pct"
MOST_LOSSES = 24
MOST_PER_DAY, MOST_AT_ONCE = Decimal(1000), Decimal(10_000)
_DAY = re.compile(r"(?P<month>[0-9]{2})-(?P<day>[0-9]{2})")
LEAP_YEAR = 2024


class LatenessError(ValueError):
    """A curve, or a file of curves, that makes no sense; the sentence says where."""


@dataclass(frozen=True, order=True)
class Loss:
    """From the day after month and day `after` on, `per_day` more is lost each day; `at_once` on the first of them."""

    after: tuple[int, int]
    per_day: Decimal
    at_once: Decimal = Decimal(0)
    source: str = ""


@dataclass(frozen=True)
class Curve:
    """Losses of one crop in the order of the year; `unit` is `pct` or the unit of the yield."""

    key: str
    crop: str
    region: str
    unit: str
    losses: tuple[Loss, ...]


def lost(curve: Curve, on: dt.date) -> Fraction:
    """Return what has been lost of the yield where the crop is planted on a day, in the curve's unit; never negative.

    Counts within the calendar year of `on`; percent stop at 100. The numbers of a curve name their own source.
    """
    total = Fraction(0)
    ends = [_date(on.year, loss.after) for loss in curve.losses[1:]] + [on]
    for loss, next_begins in zip(curve.losses, ends, strict=True):
        days = (min(on, next_begins) - _date(on.year, loss.after)).days
        if days > 0:
            total += Fraction(loss.per_day) * days
        if on > _date(on.year, loss.after):
            total += Fraction(loss.at_once)
    return min(total, Fraction(100)) if curve.unit == PERCENT else total


def lost_cents_per_ac(curve: Curve, on: dt.date, *, yield_per_ac: Decimal, price_usd: Decimal) -> Fraction:
    """Return what an acre planted on a day has lost, in cents: never more than its whole yield is worth."""
    worth = Fraction(yield_per_ac) * Fraction(price_usd) * 100
    if curve.unit == PERCENT:
        return worth * lost(curve, on) / 100
    return min(Fraction(price_usd) * 100 * lost(curve, on), worth)


def next_loss_after(curve: Curve, on: dt.date) -> Fraction:
    """Return the first loss a day that comes after a day of the year, in the curve's unit; 0 where none does."""
    later = [loss for loss in curve.losses if _date(on.year, loss.after) >= on and loss.per_day > 0]
    return Fraction(later[0].per_day) if later else Fraction(0)


def next_loss_cents_per_ac(
    curve: Curve, on: dt.date, *, yield_per_ac: Decimal, price_usd: Decimal
) -> Fraction:
    """Return what a day takes from an acre, in cents, once the first loss after a day of the year has begun."""
    price = Fraction(price_usd) * 100
    per_unit = price * Fraction(yield_per_ac) / 100 if curve.unit == PERCENT else price
    return per_unit * next_loss_after(curve, on)


def losses_from(rows: Sequence[Mapping[str, Any]]) -> tuple[Loss, ...]:
    """Return losses from plain data, each with `after` (MM-DD), `per_day` and maybe `at_once`, `source`, in order.

    Raises LatenessError for a day that no year has, a number out of range, two losses after one day, keys not known.
    """
    if not isinstance(rows, list | tuple) or not 0 < len(rows) <= MOST_LOSSES:
        raise LatenessError(f"a curve has 1 to {MOST_LOSSES} losses")
    losses = tuple(_loss(row, number) for number, row in enumerate(rows, start=1))
    for before, after in itertools.pairwise(losses):
        if after.after <= before.after:
            raise LatenessError(
                f"the loss after {_written(after.after)} does not come after {_written(before.after)}"
            )
    return losses


@cache
def shipped_curves(path: Path = SHIPPED) -> Mapping[str, Curve]:
    """Return the curves of a file like `fixtures/lateness.csv` by their key. Raises LatenessError with the line."""
    grouped: dict[str, list[tuple[int, dict[str, str]]]] = {}
    with path.open(encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file, strict=True)
        if tuple(reader.fieldnames or ()) != COLUMNS:
            raise LatenessError(f"{path.name}, line 1: the columns are {', '.join(COLUMNS)}")
        for row in reader:
            grouped.setdefault(row["key"], []).append((reader.line_num, row))
    return {key: _curve(path, key, rows) for key, rows in grouped.items()}


def curve_of_region(crop: str, region: str) -> Curve | None:
    """Return the shipped curve that holds for a crop in a region where the farm has chosen none."""
    return next((one for one in shipped_curves().values() if (one.crop, one.region) == (crop, region)), None)


def _curve(path: Path, key: str, rows: Sequence[tuple[int, dict[str, str]]]) -> Curve:
    line, first = rows[0]
    for number, row in rows:
        if any(row[name] != first[name] for name in ("crop", "region", "unit")) or not row["source"]:
            raise LatenessError(
                f"{path.name}, line {number}: a curve has one crop, region and unit, and each loss its source"
            )
    try:
        losses = losses_from(
            [{name: row[name] for name in ("after", "per_day", "at_once", "source")} for _, row in rows]
        )
    except LatenessError as error:
        raise LatenessError(f"{path.name}, line {line}: {key}: {error}") from error
    return Curve(key, first["crop"], first["region"], first["unit"], losses)


def _loss(row: Mapping[str, Any], number: int) -> Loss:
    unknown = set(row) - {"after", "per_day", "at_once", "source"} if isinstance(row, Mapping) else {"row"}
    if unknown or not {"after", "per_day"} <= set(row):
        raise LatenessError(f"loss {number} has the keys after, per_day and maybe at_once, source")
    source = row.get("source", "")
    if not isinstance(source, str) or len(source) > 400 or "\0" in source:
        raise LatenessError(f"loss {number}: its source is a text of at most 400 characters")
    return Loss(
        _day(row["after"], number),
        _number(row["per_day"], MOST_PER_DAY, f"loss {number}: per_day"),
        _number(row.get("at_once", 0), MOST_AT_ONCE, f"loss {number}: at_once"),
        source,
    )


def _number(value: Any, most: Decimal, what: str) -> Decimal:
    try:
        number = Decimal(str(value))
    except InvalidOperation as error:
        raise LatenessError(f"{what} is {value!r}, no number") from error
    if isinstance(value, bool) or not number.is_finite() or not 0 <= number <= most:
        raise LatenessError(f"{what} is {value}; it is 0 to {most}")
    if number != round(number, 3):
        raise LatenessError(f"{what} is {value}; it has at most three decimals")
    return number


def _day(value: Any, number: int) -> tuple[int, int]:
    found = _DAY.fullmatch(value) if isinstance(value, str) else None
    try:
        if found is None:
            raise ValueError(value)
        day = dt.date(LEAP_YEAR, int(found["month"]), int(found["day"]))
    except ValueError as error:
        raise LatenessError(f"loss {number}: {value!r} is no day such as 05-20") from error
    if (day.month, day.day) == (2, 29):
        raise LatenessError(f"loss {number}: not every year has a February 29")
    return day.month, day.day


def _written(day: tuple[int, int]) -> str:
    return f"{day[0]:02}-{day[1]:02}"


def _date(year: int, day: tuple[int, int]) -> dt.date:
    return dt.date(year, *day)
