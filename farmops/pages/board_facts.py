"""What the board draws beside the work itself: how late it ends, the road before it, and what could do it."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.farms.models import Farm
from farmops.pages import words
from scheduling.models import PlannedTask, WeekPlan
from scheduling.selectors.horizon import Horizon
from scheduling.selectors.plan_documents import made_once
from scheduling.selectors.slip_ways import Journey, Ways
from scheduling.selectors.spoken import names_of_plan

LONG_H = 48
"""Lateness is told in days from here on."""


@dataclass(frozen=True)
class Road:
    """The road before a task: how long, from where, what stands where to be fetched, and by when it asks to leave."""

    minutes: int
    origin: str
    fetch: tuple[tuple[str, str], ...] = ()
    leave_at: dt.datetime | None = None
    there_at: dt.datetime | None = None

    @property
    def says(self) -> str:
        """Return the road in a few words."""
        told = [_("{minutes} min of road from {origin}").format(minutes=self.minutes, origin=self.origin)]
        told += [
            _("fetch {thing} at {place}").format(thing=thing, place=place) for thing, place in self.fetch
        ]
        late = leaving_said(self)
        return " · ".join([*told, late] if late else told)


def leaving_said(way: Road | Journey | None, language: str | None = None) -> str:
    """Return by when to leave, or from when on the hand is there, where the plan leaves too little time for the way."""
    if way is not None and way.leave_at is not None:
        return _("leave by {hour}").format(hour=words.clock(way.leave_at, language))
    if way is not None and way.there_at is not None:
        return _("not there before {hour}").format(hour=words.clock(way.there_at, language))
    return ""


def late_of(plan: WeekPlan) -> dict[str, str]:
    """Return for each task that ends after it is due how late that is, in words.

    A problem has nothing due before its first minute: what was counts from the end of the day on which its pass was due.
    """
    due = {row["id"]: row["due"] for row in plan.problem.get("tasks", []) if row.get("due") is not None}
    if 0 in due.values():
        horizon = Horizon(plan.starts_at, plan.farm.zone, plan.days)
        rows = PlannedTask.objects.filter(plan=plan, field_pass__due_on__isnull=False)
        for task, due_on in rows.values_list("task_key", "field_pass__due_on"):
            if due_on is not None and due.get(task) == 0:
                due[task] = min(0, horizon.midnight(due_on + dt.timedelta(days=1)))
    late: dict[str, str] = {}
    for row in plan.plan.get("tasks", []):
        hours = (row["to"] - due.get(row["id"], row["to"])) / 60
        if hours >= LONG_H:
            days = round(hours / 24)
            late[row["id"]] = ngettext("{days} day late", "{days} days late", days).format(days=days)
        elif hours > 0:
            count = max(1, round(hours))
            late[row["id"]] = ngettext("{count} hour late", "{count} hours late", count).format(count=count)
    return late


def roads_of(plan: WeekPlan, *, farm: Farm) -> dict[str, Road]:
    """Return for each task the way of its hand, as the morning sheet says it; none where all is there already.

    A task without a hand has the longest road that something of its outfit has before it.
    """
    names = names_of_plan(plan=plan)
    found = made_once(plan, "roads", lambda: _longest_roads(plan))
    roads = {task: Road(minutes, names.get(origin, origin)) for task, (minutes, origin) in found.items()}
    ways = made_once(plan, "ways", lambda: Ways(farm=farm, plan=plan).first_journeys(), of=farm.zone)
    for task, way in ways.items():
        roads.pop(task, None)
        if way.minutes:
            origin = way.places[0]
            fetch = tuple((names.get(one, one), names.get(place, place)) for one, place in way.fetch)
            roads[task] = Road(way.minutes, names.get(origin, origin), fetch, way.leave_at, way.there_at)
    return roads


def _longest_roads(plan: WeekPlan) -> dict[str, tuple[int, str]]:
    problem = plan.problem
    places = {place: number for number, place in enumerate(problem.get("places", []))}
    matrix: Sequence[Sequence[float]] = problem.get("road_minutes", [])
    movers = {row["id"]: row for row in problem.get("resources", []) if row.get("roams")}
    tasks = {row["id"]: row for row in problem.get("tasks", [])}
    if not places or not matrix:
        return {}
    stands = {name: row.get("home") for name, row in movers.items()}
    roads: dict[str, tuple[int, str]] = {}
    for placed in sorted(plan.plan.get("tasks", []), key=lambda row: (row["from"], row["to"])):
        task = tasks.get(placed["id"])
        if task is None:
            continue
        for name in _resources(task, placed["mode"]):
            if name not in movers:
                continue
            origin = stands[name]
            stands[name] = task["place"]
            if origin not in places or task["place"] not in places:
                continue
            factor = movers[name].get("road_factor", 1)
            minutes = ceil(matrix[places[origin]][places[task["place"]]] * float(factor))
            if minutes and (placed["id"] not in roads or minutes > roads[placed["id"]][0]):
                roads[placed["id"]] = minutes, origin
    return roads


def parts_of(plan: WeekPlan) -> dict[str, tuple[str, str]]:
    """Return for each mode of a plan's tasks what pulls and is pulled, and who drives, each as ids with spaces between."""
    return made_once(plan, "parts", lambda: _parts(plan))


def _parts(plan: WeekPlan) -> dict[str, tuple[str, str]]:
    hands = {row["id"] for row in plan.problem.get("resources", []) if row.get("kind") == "hand"}
    found: dict[str, tuple[str, str]] = {}
    for task in plan.problem.get("tasks", []):
        for mode in task["modes"]:
            resources = mode["resources"]
            found[mode["id"]] = (
                " ".join(one for one in resources if one not in hands),
                " ".join(one for one in resources if one in hands),
            )
    return found


def _resources(task: Mapping[str, Any], mode_id: str) -> Sequence[str]:
    return next((mode["resources"] for mode in task["modes"] if mode["id"] == mode_id), ())


def box_moment(local: dt.datetime) -> str:
    """Return an instant on the farm's clock as the boxes of a form write it, day and hour."""
    return f"{local:%Y-%m-%dT%H:%M}"
