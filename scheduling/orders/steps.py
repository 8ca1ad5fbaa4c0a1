"""What an order of work is made of, as plain values, and how it is kept as JSON."""

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from decimal import Decimal
from typing import Any

from farmops.farms.operations import SPRAYING, Operation

CROPS = ("cotton", "peanuts", "corn", "soybeans")
"""What orders of work are written for; fields may carry fewer of them."""
TILLAGES = ("strip_till", "disk_bed", "no_till", "other")
MOST_STEPS = 40
MOST_DAYS = 400
LEAP_YEAR = 2024
_DAY = re.compile(r"([0-9]{2})-([0-9]{2})")
_DECIMALS = frozenset({"depth_in", "custom_ac_per_h", "reentry_h", "late_usd_per_ac_day", "leave_usd_per_ac"})


class OrderError(ValueError):
    """A value that no order of work can have."""


@dataclass(frozen=True)
class Trouble:
    """Something wrong with an order: at step `at` (from 1; None: the order), in `name` of it; `facts` fill the sentence."""

    code: str
    at: int | None = None
    name: str = ""
    facts: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class OrderStep:
    """One step. It comes after the one before it; days count from the end of step `after` ("": the one before).

    `least_days` and `most_days` lie between that end and the start of this step. For `plant_back_days` after a spraying
    its label keeps planting away, for `reentry_h` hours people. `not_before` and `not_after` are days of the year
    (MM-DD). Prices are dollars an acre; `leave_usd_per_ac` None: it must be done in the week that is planned.
    `custom_ac_per_h`: somebody hired does it at this pace. `depth_in` is the water of an irrigation turn.
    """

    key: str
    operation: str
    after: str = ""
    least_days: int = 0
    most_days: int | None = None
    plant_back_days: int = 0
    not_before: str = ""
    not_after: str = ""
    depth_in: Decimal | None = None
    custom_ac_per_h: Decimal | None = None
    reentry_h: Decimal | None = None
    late_usd_per_ac_day: Decimal = Decimal(0)
    leave_usd_per_ac: Decimal | None = Decimal(20)
    source: str = ""


@dataclass(frozen=True)
class Order:
    """An order of work; planting has its window between two days of the year, `plant_from` and `plant_to` (MM-DD)."""

    name: str
    crop: str
    tillage: str
    plant_from: str
    plant_to: str
    steps: tuple[OrderStep, ...]
    source: str = ""

    def number_of(self, key: str) -> int | None:
        """Return the number of the step with a key, from 1."""
        return next((number for number, one in enumerate(self.steps, start=1) if one.key == key), None)

    def before(self, number: int) -> int | None:
        """Return the number of the step that the days of a step count from; None for the first, or an unknown one."""
        step = self.steps[number - 1]
        if step.after:
            return self.number_of(step.after)
        return number - 1 if number > 1 else None

    def turns(self) -> tuple[int, ...]:
        """Return for each step the how manieth of its kind of work it is."""
        counts: dict[str, int] = {}
        turns = []
        for step in self.steps:
            counts[step.operation] = counts.get(step.operation, 0) + 1
            turns.append(counts[step.operation])
        return tuple(turns)

    def planting(self) -> int | None:
        """Return the number of the first planting."""
        return next(
            (n for n, one in enumerate(self.steps, start=1) if one.operation == Operation.PLANT), None
        )

    def sprayings(self) -> Sequence[int]:
        """Return the numbers of the steps whose label may keep planting away."""
        return [n for n, one in enumerate(self.steps, start=1) if one.operation in SPRAYING]


def day_of_year(text: str, year: int) -> dt.date:
    """Return the day MM-DD of a year; raises OrderError for what is no day of every year."""
    found = _DAY.fullmatch(text)
    try:
        if found is None:
            raise ValueError(text)
        month, day = int(found[1]), int(found[2])
        if (month, day) == (2, 29):
            raise ValueError(text)
        return dt.date(LEAP_YEAR, month, day).replace(year=year)
    except ValueError as error:
        raise OrderError(f"{text!r} is no day of every year such as 04-20") from error


def free_key(operation: str, taken: Sequence[str]) -> str:
    """Return a key for a new step of a kind of work that no other step has: `spray`, `spray-2` …"""
    base = operation.replace("_", "-")
    key, number = base, 1
    while key in taken:
        number += 1
        key = f"{base}-{number}"
    return key


def step_row(step: OrderStep) -> dict[str, Any]:
    """Return a step as JSON; what is left at its usual value is left out, decimals are texts."""
    row: dict[str, Any] = {}
    for one in fields(OrderStep):
        value = getattr(step, one.name)
        if value == one.default and one.name != "leave_usd_per_ac":
            continue
        row[one.name] = f"{value.normalize():f}" if isinstance(value, Decimal) else value
    return row


def step_from(row: Mapping[str, Any]) -> OrderStep:
    """Return a step from what `step_row` made of it."""
    values: dict[str, Any] = {
        name: Decimal(value) if name in _DECIMALS and value is not None else value
        for name, value in row.items()
    }
    return OrderStep(**{"leave_usd_per_ac": None, **values})


def with_steps(order: Order, steps: Sequence[OrderStep]) -> Order:
    """Return an order with other steps; days that counted from a step that is gone count from the one before."""
    keys = {one.key for one in steps}
    return replace(
        order, steps=tuple(replace(one, after=one.after if one.after in keys else "") for one in steps)
    )
