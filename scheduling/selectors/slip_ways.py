"""The way to each task of a plan from the place before, in the planner's minutes."""

import datetime as dt
import math
from collections import defaultdict
from collections.abc import Iterable, Mapping
from fractions import Fraction
from typing import Any

from farmops.farms.models import Farm, Field
from scheduling.models import WeekPlan
from scheduling.selectors.fleet import YARD, place_of
from scheduling.selectors.horizon import Horizon
from scheduling.selectors.roads import road_miles
from scheduling.slips.facts import WayThere


class Ways:
    """The ways of one plan; `fields` are those of the farm.

    A hand comes from its task before on that day, or else from the yard: nobody sleeps in the field. What comes along
    sets the pace. A machine that stands somewhere else is fetched on the way.
    """

    def __init__(self, *, farm: Farm, plan: WeekPlan, fields: Iterable[Field]) -> None:
        problem = plan.problem
        self._farm = farm
        self._horizon = Horizon(plan.starts_at, farm.zone, plan.days)
        self._row_of = {place: at for at, place in enumerate(problem.get("places", ()))}
        self._road_min = problem.get("road_minutes", [])
        self._resources: dict[str, Mapping[str, Any]] = {
            row["id"]: row for row in problem.get("resources", ())
        }
        self._tasks = {row["id"]: row for row in problem.get("tasks", ())}
        self._planned = {row["id"]: row for row in plan.plan.get("tasks", ()) if row["id"] in self._tasks}
        self._visits: dict[str, list[tuple[int, str]]] = defaultdict(list)
        for key, row in self._planned.items():
            for resource in self._used(key):
                self._visits[resource].append((row["from"], key))
        for visits in self._visits.values():
            visits.sort()
        self._fields = {place_of(field.code): field for field in fields}

    def to(self, *, task_key: str, day: dt.date) -> WayThere | None:
        """Return the way to a task on a day of the farm's clock; None where no hand goes there by the plan."""
        if task_key not in self._planned:
            return None
        roaming = [one for one in self._used(task_key) if self._resources[one].get("roams")]
        hands = [one for one in roaming if self._resources[one]["kind"] == "hand"]
        if not hands:
            return None
        goal = self._tasks[task_key]["place"]
        origin = self._hand_before(hands[0], task_key, day)
        stands = {
            one: self._tool_before(one, task_key, day)
            for one in roaming
            if one not in hands and self._resources[one]["kind"] != "implement"
        }
        via = next(iter(stands.values()), origin)
        along = [one for one in roaming if one in hands or self._tool_before(one, task_key, day) == via]
        minutes = self._minutes(via, goal, along)
        if via in (origin, goal):
            return self._way(origin, goal, minutes if via == origin else self._minutes(origin, goal, hands))
        way = self._way(origin, goal, self._minutes(origin, via, hands) + minutes)
        return WayThere(
            way.from_name,
            way.minutes,
            self._miles(origin, via) + self._miles(via, goal),
            via_name=self._name(via),
            via_yard=via == YARD,
        )

    def _way(self, origin: str, goal: str, minutes: int) -> WayThere:
        return WayThere(self._name(origin), minutes, self._miles(origin, goal))

    def _used(self, task_key: str) -> tuple[str, ...]:
        mode_id = self._planned[task_key]["mode"]
        modes = (mode for mode in self._tasks[task_key]["modes"] if mode["id"] == mode_id)
        return tuple(next((mode["resources"] for mode in modes), ()))

    def _hand_before(self, hand: str, task_key: str, day: dt.date) -> str:
        """Return where a hand comes from: the place of its task before, if it was worked on the same day."""
        before = self._before(hand, task_key)
        if before is None or self._day_of(self._planned[before]["to"] - 1) < day:
            return YARD
        if self._day_of(self._planned[task_key]["from"]) < day:
            return YARD
        place: str = self._tasks[before]["place"]
        return place

    def _tool_before(self, tool: str, task_key: str, day: dt.date) -> str:
        """Return where a machine or implement stands: in the field itself, where the task began on a day before."""
        if self._day_of(self._planned[task_key]["from"]) < day:
            place: str = self._tasks[task_key]["place"]
            return place
        before = self._before(tool, task_key)
        found: str = (
            self._resources[tool].get("home", YARD) if before is None else self._tasks[before]["place"]
        )
        return found

    def _before(self, resource: str, task_key: str) -> str | None:
        before = None
        for _from_min, key in self._visits[resource]:
            if key == task_key:
                break
            before = key
        return before

    def _day_of(self, minute: int) -> dt.date:
        return self._horizon.at(minute).astimezone(self._horizon.clock).date()

    def _minutes(self, origin: str, goal: str, along: Iterable[str]) -> int:
        table_min = self._road_min[self._row_of[origin]][self._row_of[goal]]
        factors = (Fraction(str(self._resources[one].get("road_factor", 1))) for one in along)
        return math.ceil(table_min * max(factors))

    def _miles(self, origin: str, goal: str) -> float:
        if origin == goal:
            return 0.0
        here, there = (self._fields.get(place, self._farm) for place in (origin, goal))
        return road_miles(here, there)

    def _name(self, place: str) -> str:
        return self._fields[place].name if place in self._fields else ""
