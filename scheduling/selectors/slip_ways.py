"""The way to each task of a plan from the place before, in the planner's minutes."""

import datetime as dt
import math
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Any

from farmops.farms.models import Farm, Field
from scheduling.models import WeekPlan
from scheduling.selectors.fleet import YARD, place_of
from scheduling.selectors.horizon import Horizon
from scheduling.selectors.roads import road_miles
from scheduling.slips.facts import Fetch, WayThere


@dataclass(frozen=True)
class Journey:
    """A hand's way to a task by the ids of the plan's problem: over which places, what is fetched at which, and the minutes.

    `hitch_min` is what hitching another implement takes besides. Where the hand's hours before the work are too few,
    `leave_at` is when to leave, or `there_at` when the hand is there at the soonest, since work before lasts too long.
    """

    places: tuple[str, ...]
    fetch: tuple[tuple[str, str], ...]
    minutes: int
    hitch_min: int = 0
    leave_at: dt.datetime | None = None
    there_at: dt.datetime | None = None


class Ways:
    """The ways of one plan; `fields` are those of the farm, for names and miles.

    A plan gives the hand, the machine and the implement a road of their own each; a hand has to fetch what stands elsewhere.
    A hand comes from its task before on that day, or else from the yard: nobody sleeps in the field. The machine is fetched
    first, then what it pulls, and what comes along sets the pace.
    """

    def __init__(self, *, farm: Farm, plan: WeekPlan, fields: Iterable[Field] = ()) -> None:
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
        self._modes = {key: self._mode(key) for key in self._planned}
        visits: dict[str, list[tuple[int, str]]] = defaultdict(list)
        for key, row in self._planned.items():
            for resource in self._modes[key].get("resources", ()):
                visits[resource].append((row["from"], key))
        self._before: dict[tuple[str, str], str] = {}
        for resource, found in visits.items():
            found.sort()
            for (_before_min, before), (_from_min, key) in pairwise(found):
                self._before[resource, key] = before
        self._fields = {place_of(field.code): field for field in fields}

    def to(self, *, task_key: str, day: dt.date, begins_at: dt.datetime | None = None) -> WayThere | None:
        """Return the way to a task on a day of the farm's clock; None where no hand goes there by the plan.

        `begins_at` is when its work begins on that day, else when the task begins.
        """
        found = self.journey(task_key=task_key, day=day, begins_at=begins_at)
        if found is None:
            return None
        return WayThere(
            self._name(found.places[0]),
            found.minutes,
            sum(self._miles(here, there) for here, there in pairwise(found.places)),
            fetch=tuple(
                Fetch(self._name(place), is_machine=self._resources[one]["kind"] != "implement")
                for one, place in found.fetch
            ),
            hitch_min=found.hitch_min,
            leave_at=found.leave_at,
            there_at=found.there_at,
        )

    def first_journeys(self) -> dict[str, Journey]:
        """Return the way to each planned task that a hand does, on the day on which it begins."""
        found = (
            (key, self.journey(task_key=key, day=self._day_of(row["from"])))
            for key, row in self._planned.items()
        )
        return {key: journey for key, journey in found if journey is not None}

    def journey(self, *, task_key: str, day: dt.date, begins_at: dt.datetime | None = None) -> Journey | None:
        """Return the way to a task on a day, as `to` does, by the ids of the problem."""
        used = self._modes.get(task_key, {}).get("resources", ())
        roaming = [one for one in used if self._resources[one].get("roams")]
        hand = next((one for one in roaming if self._resources[one]["kind"] == "hand"), None)
        if hand is None:
            return None
        goal: str = self._tasks[task_key]["place"]
        before = self._before_today(hand, task_key, day)
        origin: str = YARD if before is None else self._tasks[before]["place"]
        tools = [one for one in roaming if self._resources[one]["kind"] != "hand"]
        tools.sort(key=lambda one: self._resources[one]["kind"] == "implement")
        places, fetch, minutes, along = [origin], [], 0, [hand]
        for one, place in self._to_fetch(tools, goal, task_key, day):
            minutes += self._minutes(places[-1], place, along)
            if {place, *places} != {origin}:
                fetch.append((one, place))
            places.append(place)
            along.append(one)
        minutes += self._minutes(places[-1], goal, along)
        hitch_min = self._hitch_min(tools, task_key, day) if minutes else 0
        begins = self._begins(task_key, hand) if begins_at is None else self._horizon.after(begins_at)
        leave_at, there_at = self._short(hand, before, begins, minutes + hitch_min)
        return Journey((*places, goal), tuple(fetch), minutes, hitch_min, leave_at, there_at)

    def _to_fetch(
        self, tools: Iterable[str], goal: str, task_key: str, day: dt.date
    ) -> list[tuple[str, str]]:
        """Return what does not wait in the field, with where it stands; and what must leave the field to bring the rest."""
        stands = [(one, self._tool_before(one, task_key, day)) for one in tools]
        while stands and stands[-1][1] == goal:
            stands.pop()
        return stands

    def _begins(self, task_key: str, hand: str) -> int:
        """Return the minute at which a task's work begins: after its own where it was under way before the plan began."""
        start: int = self._planned[task_key]["from"]
        works, opens = self._resources[hand].get("calendar", ()), self._tasks[task_key].get("open", ())
        both = (
            max(work["from"], is_open["from"], start)
            for work in works
            for is_open in opens
            if min(work["to"], is_open["to"]) > max(work["from"], is_open["from"], start)
        )
        return min(both, default=start)

    def _short(
        self, hand: str, before: str | None, begins: int, takes_min: int
    ) -> tuple[dt.datetime | None, dt.datetime | None]:
        """Return when to leave, or when the hand is there, where the hand's hours before the work are too few for the way."""
        free = self._horizon.midnight(self._day_of(begins)) if before is None else self._planned[before]["to"]
        calendar = self._resources[hand].get("calendar", [{"from": free, "to": begins}])
        has_min = sum(max(0, min(one["to"], begins) - max(one["from"], free)) for one in calendar)
        if takes_min <= has_min:
            return None, None
        if begins - takes_min < (0 if before is None else free):  # before the plan begins, too
            return None, self._local(max(free, 0) + takes_min)
        return self._local(begins - takes_min), None

    def _hitch_min(self, tools: Iterable[str], task_key: str, day: dt.date) -> int:
        """Return what the plan counts for hitching another implement before a task that begins on the day."""
        setup = self._modes[task_key].get("setup")
        if setup is None or self._day_of(self._planned[task_key]["from"]) < day:
            return 0
        changes = (
            change["minutes"]
            for one in tools
            if (change := self._resources[one].get("changeover"))
            and self._setup_before(one, task_key) not in (None, setup)
        )
        return next(changes, 0)

    def _setup_before(self, tool: str, task_key: str) -> str | None:
        before = self._before.get((tool, task_key))
        while before is not None:
            setup: str | None = self._modes[before].get("setup")
            if setup is not None:
                return setup
            before = self._before.get((tool, before))
        return self._resources[tool].get("setup_now")

    def _mode(self, task_key: str) -> Mapping[str, Any]:
        mode_id = self._planned[task_key]["mode"]
        return next((mode for mode in self._tasks[task_key]["modes"] if mode["id"] == mode_id), {})

    def _before_today(self, hand: str, task_key: str, day: dt.date) -> str | None:
        """Return a hand's task before, if it was worked on the same day."""
        before = self._before.get((hand, task_key))
        if before is None or self._day_of(self._planned[before]["to"] - 1) < day:
            return None
        return None if self._day_of(self._planned[task_key]["from"]) < day else before

    def _tool_before(self, tool: str, task_key: str, day: dt.date) -> str:
        """Return where a machine or implement stands: in the field itself, where the task began on a day before."""
        if self._day_of(self._planned[task_key]["from"]) < day:
            place: str = self._tasks[task_key]["place"]
            return place
        before = self._before.get((tool, task_key))
        found: str = (
            self._resources[tool].get("home", YARD) if before is None else self._tasks[before]["place"]
        )
        return found

    def _local(self, minute: int) -> dt.datetime:
        return self._horizon.at(minute).astimezone(self._horizon.clock)

    def _day_of(self, minute: int) -> dt.date:
        return self._local(minute).date()

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
