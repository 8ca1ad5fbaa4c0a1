"""The week plan as plain frozen values, and its JSON form."""

import json
import os
import shutil
from dataclasses import dataclass
from pathlib import Path
from threading import get_ident
from typing import Any

from scheduling.solver.values import (
    MOST_MINUTES,
    ProblemError,
    as_decimal,
    as_list,
    as_object,
    as_text,
    as_whole,
    as_words,
    read_json,
    shown,
)

FORMAT = "week-plan/1"
PARTS = ("direct", "late", "extra", "road", "change", "left", "weather")
STATUSES = ("best", "good", "none")
_HUGE_CENTS = 10**15
_MOST_SECONDS, _MOST_DECIMALS = 10**9, 30


@dataclass(frozen=True, slots=True)
class PlacedTask:
    """A task that stands in the plan: held from `start` to `end`, half open."""

    id: str
    mode: str
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class LeftTask:
    id: str
    why: str


@dataclass(frozen=True, slots=True)
class Clash:
    """One of the rules that cannot all be kept; `task` is None for a rule of the whole problem."""

    task: str | None
    rule: str
    says: str


@dataclass(frozen=True)
class Plan:
    """A week plan. `cost`, `bound` and `cost_parts` are whole cents, None when the status is none."""

    status: str
    cost: int | None
    bound: int | None
    seconds: float
    cost_parts: dict[str, int] | None
    tasks: tuple[PlacedTask, ...] = ()
    left: tuple[LeftTask, ...] = ()
    why: tuple[Clash, ...] = ()

    @property
    def is_proved_impossible(self) -> bool:
        """Whether rules of the problem clash; a `none` may also only say that the time ran out."""
        return self.status == "none" and all(clash.rule != "seconds" for clash in self.why)


def to_json(plan: Plan) -> dict[str, Any]:
    """Return the plan in its JSON form."""
    item: dict[str, Any] = {
        "format": FORMAT,
        "status": plan.status,
        "cost": plan.cost,
        "bound": plan.bound,
        "seconds": plan.seconds,
        "cost_parts": None if plan.cost_parts is None else dict(plan.cost_parts),
        "tasks": [
            {"id": task.id, "mode": task.mode, "from": task.start, "to": task.end} for task in plan.tasks
        ],
        "left": [{"id": task.id, "why": task.why} for task in plan.left],
    }
    if plan.status == "none":
        item["why"] = [{"task": clash.task, "rule": clash.rule, "says": clash.says} for clash in plan.why]
    return item


def from_json(value: Any) -> Plan:
    """Return the plan of a parsed JSON value; ProblemError names the path of the first wrong value."""
    keys = ["format", "status", "cost", "bound", "seconds", "cost_parts", "tasks", "left"]
    item = as_object(value, "", [key for key in keys if key != "cost_parts"], ["cost_parts", "why"])
    if item["format"] != FORMAT:
        raise ProblemError("format", f'must be "{FORMAT}", not {shown(item["format"])}.')
    if item["status"] not in STATUSES:
        raise ProblemError("status", f"must be best, good or none, not {shown(item['status'])}.")
    parts = None
    if item.get("cost_parts") is not None:
        listed = as_object(item["cost_parts"], "cost_parts", PARTS)
        parts = {key: as_whole(listed[key], f"cost_parts.{key}", 0, _HUGE_CENTS) for key in PARTS}
    return Plan(
        status=item["status"],
        cost=_cents(item["cost"], "cost"),
        bound=_cents(item["bound"], "bound"),
        seconds=float(as_decimal(item["seconds"], "seconds", 0, _MOST_SECONDS, _MOST_DECIMALS)),
        cost_parts=parts,
        tasks=tuple(_placed(task, f"tasks[{i}]") for i, task in enumerate(as_list(item["tasks"], "tasks"))),
        left=tuple(_left(task, f"left[{i}]") for i, task in enumerate(as_list(item["left"], "left"))),
        why=tuple(_clash(clash, f"why[{i}]") for i, clash in enumerate(as_list(item.get("why", []), "why"))),
    )


def _cents(value: Any, path: str) -> int | None:
    return None if value is None else as_whole(value, path, -_HUGE_CENTS, _HUGE_CENTS)


def _placed(value: Any, path: str) -> PlacedTask:
    item = as_object(value, path, ["id", "mode", "from", "to"])
    return PlacedTask(
        as_text(item["id"], f"{path}.id"),
        as_text(item["mode"], f"{path}.mode"),
        as_whole(item["from"], f"{path}.from", -MOST_MINUTES),
        as_whole(item["to"], f"{path}.to", -MOST_MINUTES),
    )


def _left(value: Any, path: str) -> LeftTask:
    item = as_object(value, path, ["id", "why"])
    return LeftTask(as_text(item["id"], f"{path}.id"), as_words(item["why"], f"{path}.why"))


def _clash(value: Any, path: str) -> Clash:
    item = as_object(value, path, ["task", "rule", "says"])
    task = None if item["task"] is None else as_text(item["task"], f"{path}.task")
    return Clash(task, as_text(item["rule"], f"{path}.rule"), as_words(item["says"], f"{path}.says"))


def read_plan(path: Path | str) -> Plan:
    """Return the plan of a file; ProblemError names what is wrong, OSError that it cannot be opened."""
    return from_json(read_json(Path(path)))


def write_plan(plan: Plan, path: Path | str) -> None:
    """Write the plan as `write_json` does."""
    write_json(to_json(plan), path)


def write_json(item: dict[str, Any], path: Path | str) -> None:
    """Write under a temporary name beside the place, then rename it, so that no half is ever seen.

    A link is followed. What is no file, such as a pipe or /dev/null, is written into as it stands.
    """
    text = json.dumps(item, indent=1, ensure_ascii=False) + "\n"
    place = Path(path)
    if place.exists() and not place.is_file():
        place.write_text(text, encoding="utf-8")
        return
    place = Path(os.path.realpath(place))
    # A name of its own: one made of the place's could be longer than names may be.
    beside = place.with_name(f".{os.getpid()}-{get_ident()}.part")
    try:
        with beside.open("w", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        if place.exists():
            shutil.copymode(place, beside)
        beside.replace(place)
    finally:
        beside.unlink(missing_ok=True)
