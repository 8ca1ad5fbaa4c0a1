"""What was pressed or typed on the page of an order of work, as the order that it would become."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

from django.http import Http404
from django.utils.translation import gettext as _

from farmops.pages.boxes import Boxes
from scheduling.orders import Order, OrderStep
from scheduling.orders.steps import free_key, with_steps

WHOLE = ("least_days", "most_days", "plant_back_days")
EXACT = ("reentry_h", "depth_in", "custom_ac_per_h", "late_usd_per_ac_day", "leave_usd_per_ac")
FACTS = ("name", "crop", "tillage", "plant_from", "plant_to", "source")
MOST_DIGITS = 6


def changed_order(boxes: Boxes, order: Order) -> tuple[Order, str]:
    """Return what an order becomes by a form, and the key of the step it is about; `boxes.wrong` says what is not a number.

    The button says what is done: `facts`, `step KEY`, `add KEY` (behind it; nothing: at the beginning), `copy KEY`,
    `remove KEY`, `up KEY`, `down KEY`.
    """
    verb, _space, key = boxes.text("do", most=60).partition(" ")
    if verb == "facts":
        facts: dict[str, Any] = {name: boxes.note(name) for name in FACTS}
        return replace(order, **facts), ""
    steps = list(order.steps)
    at = next((at for at, one in enumerate(steps) if one.key == key), None)
    if verb == "add" and (at is not None or not key):
        made = OrderStep(
            free_key(boxes.text("operation"), [one.key for one in steps]), boxes.text("operation")
        )
        steps.insert(0 if at is None else at + 1, _typed(boxes, made) if boxes.text("typed") else made)
        return _settled(order, steps), made.key
    if at is None:
        raise Http404
    match verb:
        case "step":
            steps[at] = _typed(boxes, replace(steps[at], operation=boxes.text("operation")))
        case "copy":
            copied = replace(steps[at], key=free_key(steps[at].operation, [one.key for one in steps]))
            steps.insert(at + 1, copied)
            return _settled(order, steps), copied.key
        case "remove":
            del steps[at]
            return _settled(order, steps), ""
        case "up" if at > 0:
            steps[at - 1], steps[at] = steps[at], steps[at - 1]
        case "down" if at < len(steps) - 1:
            steps[at + 1], steps[at] = steps[at], steps[at + 1]
        case "up" | "down":
            pass
        case _:
            raise Http404
    return (with_steps(order, steps) if verb == "step" else _settled(order, steps)), key


def _settled(order: Order, steps: list[OrderStep]) -> Order:
    """Return an order with its steps moved; what has come to be the first waits for nothing any more."""
    if steps and not steps[0].after:
        steps[0] = replace(steps[0], least_days=0, most_days=None)
    return with_steps(order, steps)


def _typed(boxes: Boxes, step: OrderStep) -> OrderStep:
    values: dict[str, Any] = {name: _whole(boxes, name) for name in WHOLE}
    values["least_days"] = values["least_days"] or 0
    values["plant_back_days"] = values["plant_back_days"] or 0
    values |= {name: boxes.number_if_any(name) for name in EXACT}
    values["late_usd_per_ac_day"] = values["late_usd_per_ac_day"] or Decimal(0)
    values |= {name: boxes.text(name, most=20) for name in ("not_before", "not_after")}
    return replace(step, after=boxes.text("after", most=40), source=boxes.note("source"), **values)


def _whole(boxes: Boxes, name: str) -> int | None:
    value = boxes.number_if_any(name)
    if value is None:
        return None
    if value != int(value) or len(str(abs(int(value)))) > MOST_DIGITS:
        boxes.wrong[name] = _("Write whole days.")
        return None
    return int(value)
