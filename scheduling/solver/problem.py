"""The planning problem as plain frozen values.

Times are whole minutes from the problem's start, money is whole cents. A problem that comes out of
`scheduling.solver.reading` has been judged: ids exist, stretches are sorted, numbers lie in their range.
"""

import hashlib
import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from functools import cached_property
from typing import Any

FORMAT = "planning-problem/1"
CHANCE_WHOLE_E4 = 10_000


@dataclass(frozen=True, slots=True)
class Stretch:
    """Minutes m with start <= m < end."""

    start: int
    end: int


@dataclass(frozen=True, slots=True)
class WorkStretch(Stretch):
    """Minutes in which a resource can work, and what an hour of work costs on top."""

    extra_cents_per_hour: int = 0


@dataclass(frozen=True, slots=True)
class OpenStretch(Stretch):
    """Minutes in which ground and weather let a task go on, with the chance in ten-thousandths."""

    chance_e4: int = CHANCE_WHOLE_E4


@dataclass(frozen=True, slots=True)
class Changeover:
    minutes: int
    cents: int


@dataclass(frozen=True, slots=True)
class Resource:
    id: str
    kind: str
    calendar: tuple[WorkStretch, ...]
    roams: bool = False
    home: str | None = None
    road_factor: Fraction = Fraction(1)
    road_cents_per_minute: int = 0
    road_calendar: tuple[Stretch, ...] | None = None
    changeover: Changeover | None = None
    setup_now: str | None = None

    @property
    def road_stretches(self) -> tuple[Stretch, ...]:
        """When it may be on the road: its road calendar, or else its calendar."""
        return self.calendar if self.road_calendar is None else self.road_calendar


@dataclass(frozen=True, slots=True)
class Mode:
    id: str
    resources: tuple[str, ...]
    minutes: int
    cents: int
    setup: str | None = None


@dataclass(frozen=True, slots=True)
class After:
    task: str
    min_gap: int = 0
    max_gap: int | None = None


@dataclass(frozen=True, slots=True)
class Fixed:
    mode: str
    start: int


@dataclass(frozen=True, slots=True)
class UnderWay:
    mode: str
    minutes_left: int
    cents_left: int
    held_for: int


@dataclass(frozen=True, slots=True)
class Was:
    mode: str
    start: int
    change_cents: int


@dataclass(frozen=True, slots=True)
class Task:
    id: str
    place: str
    operation: str
    modes: tuple[Mode, ...]
    open: tuple[OpenStretch, ...]
    after: tuple[After, ...] = ()
    earliest: int = 0
    latest: int | None = None
    due: int | None = None
    late_cents_per_hour: int = 0
    leave_cents: int | None = None
    hold_limit: int | None = None
    fixed: Fixed | None = None
    under_way: UnderWay | None = None
    was: Was | None = None

    def mode(self, mode_id: str) -> Mode | None:
        """The mode of that id, or None when it is gone."""
        return next((mode for mode in self.modes if mode.id == mode_id), None)


@dataclass(frozen=True)
class Problem:
    start: datetime
    zone: str
    horizon: int
    step: int
    resources: tuple[Resource, ...]
    places: tuple[str, ...]
    road_minutes: tuple[tuple[int, ...], ...]
    tasks: tuple[Task, ...]

    @cached_property
    def task_of(self) -> dict[str, Task]:
        return {task.id: task for task in self.tasks}

    @cached_property
    def resource_of(self) -> dict[str, Resource]:
        return {resource.id: resource for resource in self.resources}

    @cached_property
    def place_index(self) -> dict[str, int]:
        return {place: index for index, place in enumerate(self.places)}


def _stretches(stretches: tuple[Stretch, ...]) -> Iterator[dict[str, Any]]:
    for stretch in stretches:
        item: dict[str, Any] = {"from": stretch.start, "to": stretch.end}
        if isinstance(stretch, WorkStretch) and stretch.extra_cents_per_hour:
            item["extra_cents_per_hour"] = stretch.extra_cents_per_hour
        if isinstance(stretch, OpenStretch) and stretch.chance_e4 != CHANCE_WHOLE_E4:
            item["chance"] = stretch.chance_e4 / CHANCE_WHOLE_E4
        yield item


def _resource(resource: Resource) -> dict[str, Any]:
    item: dict[str, Any] = {"id": resource.id, "kind": resource.kind}
    if resource.home is not None:
        item["home"] = resource.home
    if resource.roams:
        item["roams"] = True
    if resource.road_factor != 1:
        item["road_factor"] = float(resource.road_factor)
    if resource.road_cents_per_minute:
        item["road_cents_per_minute"] = resource.road_cents_per_minute
    item["calendar"] = list(_stretches(resource.calendar))
    if resource.road_calendar is not None:
        item["road_calendar"] = list(_stretches(resource.road_calendar))
    if resource.changeover is not None:
        item["changeover"] = {"minutes": resource.changeover.minutes, "cents": resource.changeover.cents}
    if resource.setup_now is not None:
        item["setup_now"] = resource.setup_now
    return item


def _mode(mode: Mode) -> dict[str, Any]:
    item: dict[str, Any] = {"id": mode.id, "resources": list(mode.resources)}
    if mode.setup is not None:
        item["setup"] = mode.setup
    return {**item, "minutes": mode.minutes, "cents": mode.cents}


def _after(after: After) -> dict[str, Any]:
    item: dict[str, Any] = {"task": after.task}
    if after.min_gap:
        item["min_gap"] = after.min_gap
    if after.max_gap is not None:
        item["max_gap"] = after.max_gap
    return item


def _task(task: Task) -> dict[str, Any]:
    item: dict[str, Any] = {"id": task.id, "place": task.place, "operation": task.operation}
    item["modes"] = [_mode(mode) for mode in task.modes]
    item["open"] = list(_stretches(task.open))
    if task.after:
        item["after"] = [_after(after) for after in task.after]
    if task.earliest:
        item["earliest"] = task.earliest
    if task.late_cents_per_hour:
        item["late_cents_per_hour"] = task.late_cents_per_hour
    for key in ("latest", "due", "leave_cents", "hold_limit"):
        if getattr(task, key) is not None:
            item[key] = getattr(task, key)
    if task.fixed is not None:
        item["fixed"] = {"mode": task.fixed.mode, "from": task.fixed.start}
    if task.under_way is not None:
        way = task.under_way
        item["under_way"] = {
            "mode": way.mode,
            "minutes_left": way.minutes_left,
            "cents_left": way.cents_left,
            "held_for": way.held_for,
        }
    if task.was is not None:
        was = task.was
        item["was"] = {"mode": was.mode, "from": was.start, "change_cents": was.change_cents}
    return item


def problem_to_json(problem: Problem) -> dict[str, Any]:
    """Return the problem in its JSON form; values that equal the format's defaults are left out."""
    return {
        "format": FORMAT,
        "start": problem.start.isoformat(),
        "zone": problem.zone,
        "horizon": problem.horizon,
        "step": problem.step,
        "resources": [_resource(resource) for resource in problem.resources],
        "places": list(problem.places),
        "road_minutes": [list(row) for row in problem.road_minutes],
        "tasks": [_task(task) for task in problem.tasks],
    }


def problem_hash(problem: Problem) -> str:
    """Return the SHA-256, in hex, of the problem's canonical JSON (sorted keys, no spaces)."""
    canonical = json.dumps(problem_to_json(problem), sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return hashlib.sha256(canonical.encode("ascii")).hexdigest()
