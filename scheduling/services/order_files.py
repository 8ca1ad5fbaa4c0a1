"""Orders of work as files: those that ship, to be copied, and a farm's own, written out and read in.

A file holds one object. Only the keys marked * must stand.

    format*    "order-of-work/1"
    name* crop* tillage*      plant_from* plant_to* (MM-DD, the days between which it is planted)     source
    steps*     operation* key after (key of an earlier step; the one before if left out) least_days most_days
               plant_back_days (of spraying: its label keeps planting away) reentry_h (of spraying)
               not_before not_after (MM-DD) depth_in (of irrigating) custom_ac_per_h (somebody hired does it)
               late_usd_per_ac_day leave_usd_per_ac (absent: must be done in the week planned) source
"""

import json
from collections.abc import Mapping
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

from farmops.farms.operations import Operation
from farmops.farms.services.json_facts import Node, read_json
from scheduling.orders import CROPS, TILLAGES, Order, OrderStep
from scheduling.orders.checks import RANGES
from scheduling.orders.steps import MOST_DAYS, free_key, step_row

FORMAT = "order-of-work/1"
SHIPPED = Path(__file__).resolve().parents[2] / "fixtures" / "orders_of_work"
MOST_NAME, MOST_SOURCE = 80, 300


@cache
def starting_orders() -> Mapping[str, Order]:
    """Return the orders that ship, by their key: the name of their file."""
    return {path.stem: read_order(path) for path in sorted(SHIPPED.glob("*.json"))}


def read_order(path: Path) -> Order:
    """Return the order of a file. Raises BadFarmFile with the file and the key; what an order must keep is checked later."""
    top = Node(read_json(path), path=path)
    top.choice("format", [FORMAT])
    steps: list[OrderStep] = []
    for node in top.nodes("steps", required=True):
        steps.append(_step(node, [one.key for one in steps]))
        node.finish()
    order = Order(
        name=top.text("name", most=MOST_NAME),
        crop=top.choice("crop", CROPS),
        tillage=top.choice("tillage", TILLAGES),
        plant_from=top.text("plant_from", most=5),
        plant_to=top.text("plant_to", most=5),
        steps=tuple(steps),
        source=top.text("source", most=MOST_SOURCE, default=""),
    )
    top.finish()
    return order


def order_document(order: Order) -> dict[str, Any]:
    """Return an order as its file holds it."""
    steps = []
    for one in order.steps:
        row = step_row(one)
        if row["leave_usd_per_ac"] is None:
            del row["leave_usd_per_ac"]
        steps.append({name: _number(name, value) for name, value in row.items()})
    return {
        "format": FORMAT,
        "name": order.name,
        "crop": order.crop,
        "tillage": order.tillage,
        "plant_from": order.plant_from,
        "plant_to": order.plant_to,
        "source": order.source,
        "steps": steps,
    }


def order_text(order: Order) -> str:
    """Return the text of an order's file, a line a step."""
    document = order_document(order)
    steps = ",\n".join(f"    {json.dumps(step, ensure_ascii=False)}" for step in document.pop("steps"))
    head = ",\n".join(
        f"  {json.dumps(key)}: {json.dumps(value, ensure_ascii=False)}" for key, value in document.items()
    )
    return f'{{\n{head},\n  "steps": [\n{steps}\n  ]\n}}\n'


def _number(name: str, value: Any) -> Any:
    """Return a decimal kept as a text as the number that it is, whole where it can be."""
    if name not in RANGES:
        return value
    number = Decimal(value)
    return int(number) if number == number.to_integral_value() else float(number)


def _step(node: Node, taken: list[str]) -> OrderStep:
    operation = node.choice("operation", list(Operation))

    def days(name: str) -> int:
        return node.whole(name, least=0, most=MOST_DAYS, default=0)

    def exact(name: str) -> Decimal | None:
        least, most = RANGES[name]
        return node.optional_number(name, least=float(least), most=float(most), decimals=2)

    return OrderStep(
        key=node.code("key") if node.raw("key") is not None else free_key(operation, taken),
        operation=operation,
        after=node.code("after") if node.raw("after") is not None else "",
        least_days=days("least_days"),
        most_days=days("most_days") if node.raw("most_days") is not None else None,
        plant_back_days=days("plant_back_days"),
        not_before=node.text("not_before", most=5, default=""),
        not_after=node.text("not_after", most=5, default=""),
        depth_in=exact("depth_in"),
        custom_ac_per_h=exact("custom_ac_per_h"),
        reentry_h=exact("reentry_h"),
        late_usd_per_ac_day=exact("late_usd_per_ac_day") or Decimal(0),
        leave_usd_per_ac=exact("leave_usd_per_ac"),
        source=node.text("source", most=MOST_SOURCE, default=""),
    )
