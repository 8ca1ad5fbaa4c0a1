"""Building the problem of a test's farm, and reading parts of it."""

import datetime as dt
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from farmops.farms.models import Farm
from scheduling.selectors.problem import Built, lay_problem
from scheduling.solver import parse_problem
from tests.scheduling.ground import MONDAY, SUNDAY_EVENING, prices_of, windows_of

EAST: dict[str, Any] = {"latitude_deg": Decimal("31.600000"), "longitude_deg": Decimal("-83.420000")}
"""Where a second field of a test lies, some miles east of the first."""


def built(farm: Farm, *, starts_at: dt.datetime = MONDAY, days: int = 7, **asked: Any) -> Built:
    """Build the farm's problem and let the solver's own reader judge its form."""
    asked.setdefault("windows", windows_of(farm, starts_at=starts_at, days=days))
    asked.setdefault("prices", prices_of(farm))
    asked.setdefault("sent", None)
    asked.setdefault("now", SUNDAY_EVENING)
    result = lay_problem(farm=farm, starts_at=starts_at, days=days, **asked)
    parse_problem(result.problem)
    return result


def resource(result: Built, name: str) -> dict[str, Any]:
    return next(row for row in result.problem["resources"] if row["id"] == name)


def task(result: Built, name: str) -> dict[str, Any]:
    return next(row for row in result.problem["tasks"] if row["id"] == name)


def hours(calendar: list[Mapping[str, int]], day: int) -> list[tuple[float, float]]:
    """Return a day's stretches in hours after its midnight, for a week of plain days."""
    within = [s for s in calendar if day * 1440 <= s["from"] < (day + 1) * 1440]
    return [((s["from"] - day * 1440) / 60, (s["to"] - day * 1440) / 60) for s in within]
