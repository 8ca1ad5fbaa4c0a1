"""Rows that files of a farm describe, and their numbers within the ranges of a farm's facts."""

from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from farmops.farms.services.json_facts import Node
from farmops.farms.services.ranges import RANGES


@dataclass(frozen=True)
class Row:
    """One row to be: the columns that name it, the other columns, what it points to by code, and its own rows."""

    key: dict[str, Any]
    values: dict[str, Any]
    points_to: dict[str, str] = field(default_factory=dict)
    rows: dict[str, list[dict[str, Any]]] = field(default_factory=dict)


def number(node: Node, key: str, *, default: Decimal | None = None) -> Decimal:
    """Return a number within the range of a farm's fact of that name."""
    return node.number(key, **RANGES[key]._asdict(), default=default)


def number_or_none(node: Node, key: str) -> Decimal | None:
    """Return such a number, or None where the key is absent."""
    return node.optional_number(key, **RANGES[key]._asdict())


def whole(node: Node, key: str) -> int:
    """Return such a whole number."""
    return int(number(node, key))
