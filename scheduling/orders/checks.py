"""What is wrong with an order of work, each thing with its place, so that it can be said beside the box it was typed in."""

import datetime as dt
import re
from collections.abc import Iterator
from decimal import Decimal

from farmops.farms.operations import PIVOT_MOVES, PIVOT_WORK, SPRAYING, Operation
from scheduling.orders.dates import NoRoom, dates_of, is_kept_back, room_days
from scheduling.orders.steps import (
    CROPS,
    MOST_DAYS,
    MOST_STEPS,
    TILLAGES,
    Order,
    OrderError,
    OrderStep,
    Trouble,
    day_of_year,
)

SOME_YEAR = 2027
_KEY = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
RANGES: dict[str, tuple[Decimal, Decimal]] = {
    "depth_in": (Decimal("0.05"), Decimal(3)),
    "custom_ac_per_h": (Decimal("0.01"), Decimal(500)),
    "reentry_h": (Decimal(0), Decimal(720)),
    "late_usd_per_ac_day": (Decimal(0), Decimal(1000)),
    "leave_usd_per_ac": (Decimal(0), Decimal(10_000)),
}
DECIMALS = {"reentry_h": 1}


def troubles_of(order: Order) -> list[Trouble]:
    """Return everything that is wrong with an order, in the order of its steps; none for one that can be laid out."""
    found = [*_of_the_order(order)]
    for number in range(1, len(order.steps) + 1):
        found += _of_a_step(order, number)
    return found or list(_of_the_days(order))


def _of_the_order(order: Order) -> Iterator[Trouble]:
    if not order.name.strip():
        yield Trouble("no_name", name="name")
    if order.crop not in CROPS:
        yield Trouble("unknown_crop", name="crop", facts={"crop": order.crop, "known": ", ".join(CROPS)})
    if order.tillage not in TILLAGES:
        yield Trouble(
            "unknown_tillage", name="tillage", facts={"tillage": order.tillage, "known": ", ".join(TILLAGES)}
        )
    if not order.steps:
        yield Trouble("no_steps", name="steps")
    elif len(order.steps) > MOST_STEPS:
        yield Trouble("too_many_steps", name="steps", facts={"most": MOST_STEPS})
    elif order.planting() is None:
        yield Trouble("no_planting", name="steps")
    window = []
    for name in ("plant_from", "plant_to"):
        try:
            window.append(day_of_year(getattr(order, name), SOME_YEAR))
        except OrderError:
            yield Trouble("no_day", name=name, facts={"text": getattr(order, name)})
    if len(window) == 2 and window[1] < window[0]:
        yield Trouble("window_backwards", name="plant_to")


def _of_a_step(order: Order, number: int) -> Iterator[Trouble]:
    step = order.steps[number - 1]
    if not _KEY.fullmatch(step.key) or len(step.key) > 40:
        yield Trouble("bad_key", number, "key", {"key": step.key})
    elif any(one.key == step.key for one in order.steps[: number - 1]):
        yield Trouble("key_twice", number, "key", {"key": step.key})
    if step.operation not in list(Operation):
        yield Trouble("unknown_operation", number, "operation", {"operation": step.operation})
        return
    if step.operation in PIVOT_MOVES:
        yield Trouble("pivot_move", number, "operation")
    yield from _of_the_gaps(order, number)
    yield from _of_the_kind(step, number)
    for name in ("not_before", "not_after"):
        text = getattr(step, name)
        try:
            if text:
                day_of_year(text, SOME_YEAR)
        except OrderError:
            yield Trouble("no_day", number, name, {"text": text})
    for name, (least, most) in RANGES.items():
        value = getattr(step, name)
        if value is not None and (not least <= value <= most or value != round(value, DECIMALS.get(name, 2))):
            yield Trouble("out_of_range", number, name, {"value": value, "least": least, "most": most})


def _of_the_gaps(order: Order, number: int) -> Iterator[Trouble]:
    step = order.steps[number - 1]
    before = order.before(number)
    if step.after and before is None:
        yield Trouble("unknown_after", number, "after", {"key": step.after})
    elif before == number:
        yield Trouble("after_itself", number, "after")
    elif before is not None and before > number:
        yield Trouble("loop", number, "after", {"before": before})
    for name in ("least_days", "most_days", "plant_back_days"):
        days = getattr(step, name)
        if days is not None and not 0 <= days <= MOST_DAYS:
            yield Trouble("out_of_range", number, name, {"value": days, "least": 0, "most": MOST_DAYS})
    if before is None and not step.after and (step.least_days or step.most_days is not None):
        yield Trouble("first_has_gap", number, "least_days")
    if step.most_days is not None and step.least_days > step.most_days:
        facts = {"least": step.least_days, "most": step.most_days}
        yield Trouble("least_over_most", number, "most_days", facts)


def _of_the_kind(step: OrderStep, number: int) -> Iterator[Trouble]:
    if step.operation == Operation.IRRIGATE and step.depth_in is None:
        yield Trouble("no_depth", number, "depth_in")
    if step.operation != Operation.IRRIGATE and step.depth_in is not None:
        yield Trouble("depth_of_no_water", number, "depth_in")
    if step.operation in PIVOT_WORK and step.custom_ac_per_h is not None:
        yield Trouble("hired_pivot", number, "custom_ac_per_h")
    if step.operation not in SPRAYING:
        if step.plant_back_days:
            yield Trouble("label_of_no_spraying", number, "plant_back_days")
        if step.reentry_h is not None:
            yield Trouble("label_of_no_spraying", number, "reentry_h")


def _of_the_days(order: Order) -> Iterator[Trouble]:
    """Yield the labels that the gaps leave no room for; else the rules that no days of a year can keep."""
    try:
        for number, step in enumerate(order.steps, start=1):
            if not is_kept_back(step):
                continue
            for spraying in order.sprayings():
                days = order.steps[spraying - 1].plant_back_days
                room = room_days(order, before=spraying, after=number) if spraying < number else None
                if days and room is not None and room < days:
                    facts = {"days": days, "room": room, "planting": number}
                    yield Trouble("plant_back_no_room", spraying, "plant_back_days", facts)
                    return
        window = [day_of_year(text, SOME_YEAR) for text in (order.plant_from, order.plant_to)]
        dates_of(order, plant_from=window[0], plant_to=window[1])
    except NoRoom as error:
        at = max(one.at for one in error.bounds)
        yield Trouble("no_room", at, "least_days", {"bounds": error.bounds})


def planting_window(order: Order, crop_year: int) -> tuple[dt.date, dt.date]:
    """Return the first and the last day of an order's planting window in a crop year."""
    return day_of_year(order.plant_from, crop_year), day_of_year(order.plant_to, crop_year)
