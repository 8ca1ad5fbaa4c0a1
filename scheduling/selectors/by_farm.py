"""Rows of several farms that were read at once, farm by farm."""

from collections.abc import Iterable
from typing import Protocol, TypeVar


class OfFarm(Protocol):
    """A row that belongs to a farm."""

    @property
    def farm_id(self) -> int: ...


Row = TypeVar("Row", bound=OfFarm)


def rows_by_farm(rows: Iterable[Row]) -> dict[int, list[Row]]:
    """Return rows by the farm's row id, in the order in which they come."""
    found: dict[int, list[Row]] = {}
    for row in rows:
        found.setdefault(row.farm_id, []).append(row)
    return found
