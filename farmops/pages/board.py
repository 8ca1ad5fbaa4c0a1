"""The week as the manager reads it: one row an outfit, a column a day, and the sentence that sums it up."""

import datetime as dt
from dataclasses import dataclass, field
from typing import Any
from zoneinfo import ZoneInfo

from farmops.farms.models import Farm
from farmops.farms.operations import PIVOT_MOVES, WORDS, Operation
from farmops.pages import strips, words
from farmops.science.units import fahrenheit_from_celsius
from scheduling.models import PlannedTask, WeekPlan
from scheduling.selectors.passes import pass_key
from scheduling.selectors.plans import left_of_plan, tasks_of_plan, worked_hours


@dataclass
class Cell:
    """One task on the board."""

    field_name: str
    field_code: str
    work: str
    hours: str
    acres: str
    hand: str
    part: str
    strip: strips.DayStrip
    is_fixed: bool


@dataclass
class Row:
    """One outfit, with its cells by day."""

    name: str
    days: list[tuple[str, list[Cell]]] = field(default_factory=list)


@dataclass
class Board:
    """All that the week page shows."""

    headline: str
    sub: str
    work: str
    days: list[str]
    rows: list[Row]
    left: list[dict[str, str]]
    parts: list[tuple[str, str]]
    ground: list[dict[str, Any]]
    hands: int


def week_board(*, farm: Farm, plan: WeekPlan) -> Board:
    """Return the board of a plan."""
    tasks = list(tasks_of_plan(plan=plan))
    left = list(left_of_plan(plan=plan))
    zone = ZoneInfo(farm.zone)
    start = plan.starts_at.astimezone(zone)
    days = [start.date() + dt.timedelta(days=count) for count in range(plan.days)]
    windows = {one["pass"]: one for one in plan.windows.get("passes", [])}
    rows = _rows(plan, tasks, windows, farm=farm, start=start, days=days)
    done = {task.field_pass_id for task in tasks if task.operation not in PIVOT_MOVES}
    left_keys = {key for key, _why in left if "/pivot_" not in key}
    return Board(
        headline=_headline(len(done), len(left_keys), plan),
        sub=_sub(plan, zone),
        work=words.whole_dollars(plan.plan.get("cost_parts", {}).get("direct", 0)),
        days=[words.short_date(day) for day in days],
        rows=rows,
        left=left_rows(left),
        parts=[
            (PART_WORDS[name], words.dollars(cents))
            for name, cents in plan.plan.get("cost_parts", {}).items()
            if cents or name == "direct"
        ],
        ground=ground_rows(plan.windows.get("ground", [])),
        hands=len({task.hand_id for task in tasks if task.hand_id}),
    )


PART_WORDS = {
    "direct": "the work itself",
    "late": "being late",
    "extra": "overtime",
    "road": "roads and changing implements",
    "change": "changing what was sent",
    "left": "left for later",
    "weather": "weather allowance",
}


def _headline(done: int, left: int, plan: WeekPlan) -> str:
    total = done + left
    if not total:
        return "Nothing waits this week."
    if not left:
        return (
            f"All {words.passes(total)} fit this week."
            if total > 1
            else "The one waiting pass fits this week."
        )
    return f"{words.count_word(done).capitalize()} of {words.passes(total)} fit this week."


def _sub(plan: WeekPlan, zone: ZoneInfo) -> str:
    made = plan.made_at.astimezone(zone)
    sure = (
        "proved the cheapest" if plan.status == "best" else f"at most {_gap(plan)} above the least possible"
    )
    sent = f"sent {words.clock(plan.sent_at.astimezone(zone))}" if plan.sent_at else "not sent yet"
    return f"Plan {plan.number}, made {made:%A} {words.clock(made)}, {sent} · {sure}"


def _gap(plan: WeekPlan) -> str:
    if not plan.cost_cents or plan.bound_cents is None:
        return "an unknown part"
    return f"{round(100 * (plan.cost_cents - plan.bound_cents) / plan.cost_cents)} in 100"


def say_key(key: str) -> tuple[str, str]:
    """Return the ground and the work of a pass key, in words."""
    ground, _, work = key.partition("/")
    operation, _, rest = work.partition("#")[0].partition("/")
    name, _, turn = operation.partition("-")
    said = WORDS[Operation(name)].english if name in set(Operation) else name
    again = " again" if turn == "2" else f", turn {turn}" if turn else ""
    return ground.replace("-", " ").title(), f"{said}{again}{f' ({rest})' if rest else ''}"


def left_rows(left: list[tuple[str, str]]) -> list[dict[str, str]]:
    """Return each cause once, with the passes of the same ground that only wait for it."""
    keys = sorted((key for key, _why in left), key=len, reverse=True)
    rows: list[dict[str, str]] = []
    waiting: dict[str, list[str]] = {}
    for key, why in left:
        ground, said = say_key(key)
        if WAITS in why and any(
            other.split("/")[0] == key.split("/")[0] for other, w in left if WAITS not in w
        ):
            waiting.setdefault(ground, []).append(said)
            continue
        for other in keys:
            why = why.replace(other, " ".join(reversed(say_key(other))))
        rows.append({"field": ground, "said": said, "why": why})
    for row in reversed(rows):
        row["followers"] = ", ".join(waiting.pop(row["field"], []))
    return rows


WAITS = "waits for"


def _rows(
    plan: WeekPlan,
    tasks: list[PlannedTask],
    windows: dict[str, Any],
    *,
    farm: Farm,
    start: dt.datetime,
    days: list[dt.date],
) -> list[Row]:
    zone = ZoneInfo(farm.zone)
    rows: dict[str, Row] = {}
    for task in tasks:
        if task.operation == Operation.PIVOT_WALK:
            continue
        name = "Pivots" if task.operation in PIVOT_MOVES else f"{task.machine} + {task.implement}"
        row = rows.setdefault(name, Row(name, [(words.short_date(day), []) for day in days]))
        worked = worked_by_day(plan, task, zone)
        for index, day in enumerate(days):
            if day not in worked:
                continue
            strip = strips.of_windows(
                windows.get(pass_key(task.field_pass), {}), start=start, zone=farm.zone, days=[day]
            )[day]
            said = WORDS[Operation(task.operation)].english
            for begins, ends in worked[day]:
                strips.with_work(strip, farm.zone, begins, ends, f"{said} {task.field.name}")
            begins, ends = worked[day][0][0], worked[day][-1][1]
            row.days[index][1].append(
                Cell(
                    field_name=task.field.name,
                    field_code=task.field.code,
                    work=said + (" (strip)" if task.field_pass.part else ""),
                    hours=f"{words.clock(begins)} to {words.clock(ends)}",
                    acres=f"{task.area_ac:.0f} ac" if task.area_ac else "",
                    hand=task.hand.name if task.hand else "",
                    part=f"part {task.part_no} of {task.part_count}" if task.part_count > 1 else "",
                    strip=strip,
                    is_fixed=task.field_pass.fixed_from is not None,
                )
            )
    return sorted(rows.values(), key=lambda row: (row.name == "Pivots", row.name))


def worked_by_day(
    plan: WeekPlan, task: PlannedTask, zone: ZoneInfo
) -> dict[dt.date, list[tuple[dt.datetime, dt.datetime]]]:
    """Return the stretches in which a task is worked, on the farm's clock, by the day they begin on."""
    found: dict[dt.date, list[tuple[dt.datetime, dt.datetime]]] = {}
    for begins, ends in worked_hours(plan=plan, task=task):
        local = begins.astimezone(zone)
        found.setdefault(local.date(), []).append((local, ends.astimezone(zone)))
    return found


def ground_rows(ground: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return the first morning's ground of each zone, with its wetness step from straw (0) to umber (4)."""
    rows = []
    for zone in ground:
        if not zone["days"]:
            continue
        first = zone["days"][0]
        limit = first.get("workable_below_m3_m3")
        rows.append(
            {
                "field": zone["field"],
                "zone": zone["zone"],
                "texture": zone["texture"].replace("_", " "),
                "topsoil": f"{first['topsoil_8am_m3_m3']:.2f}",
                "limit": f"{limit:.2f}" if limit is not None else "",
                "step": wet_step(first["topsoil_8am_m3_m3"], limit),
                "soil_temp_f": f"{fahrenheit_from_celsius(temp_c=first['soil_temp_8am_c']):.0f}",
            }
        )
    return rows


def wet_step(topsoil_m3_m3: float, workable_below_m3_m3: float | None) -> int:
    """Return the step of the wetness scale: 2 is just workable, 3 and 4 stick to the boot."""
    if not workable_below_m3_m3:
        return 2
    share = topsoil_m3_m3 / workable_below_m3_m3
    return 0 if share < 0.6 else 1 if share < 0.85 else 2 if share < 1 else 3 if share < 1.25 else 4
