"""The week as the manager reads it: one row an outfit, a field or a hand, a column a day, and the sentence that sums it up.

For: seeing who does what, where and when in a week. The manager decides here what moves, and whether it is sent.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from farmops.farms.models import Farm, Implement, Machine
from farmops.farms.operations import PIVOT_MOVES, PIVOT_WORK, Operation
from farmops.pages import strips, words
from farmops.pages.board_facts import Road, box_moment, late_of, parts_of, roads_of
from farmops.pages.ground import ground_rows
from farmops.pages.left_page import Cause, Later, later_of_week, left_of_week, waiting_keys
from farmops.pages.many_links import addresses
from farmops.pages.plan_cost import Cost, cost_of, how_sure
from farmops.pages.week_says import week_headline
from scheduling.models import PlannedCare, PlannedTask, WeekPlan
from scheduling.selectors.care import thing_name, what_is_done
from scheduling.selectors.care_places import is_brought
from scheduling.selectors.out_now import OutNow, out_now
from scheduling.selectors.passes import OPEN_STATES, part_said, pass_key
from scheduling.selectors.plan_documents import made_once
from scheduling.selectors.plans import (
    TaskInShort,
    care_of_plan,
    field_of_stop,
    listed_tasks,
    tasks_in_short,
    worked_by_day,
)
from scheduling.selectors.reasons import Why, why_each
from scheduling.selectors.speaking import named_in
from scheduling.selectors.spoken import names_of_fields
from scheduling.slips.words import work_words

PIVOTS, ON_FOOT = gettext_noop("Pivots"), gettext_noop("On foot")
HIRED, SERVICE = gettext_noop("Hired"), gettext_noop("Service")
WITHOUT_MACHINE = (PIVOTS, ON_FOOT, HIRED, SERVICE)
NO_HAND = gettext_noop("No hand")
OUTFITS, FIELDS, HANDS = "outfits", "fields", "hands"
BY = {OUTFITS: gettext_noop("outfits"), FIELDS: gettext_noop("fields"), HANDS: gettext_noop("hands")}
"""What stands down the side of the board, with its word."""
HEADS = {OUTFITS: gettext_noop("Outfit"), FIELDS: gettext_noop("Field"), HANDS: gettext_noop("Hand")}


ROWS_ON_A_PAGE = {OUTFITS: 12, FIELDS: 40, HANDS: 12}
"""Farm judgement: more outfits than this are not looked over at once, nor drawn while somebody waits."""


@dataclass
class Cell:
    """One task on the board; a service stop has no field and so no `field_code`."""

    field_name: str
    field_code: str
    pass_id: int | None
    work: str
    hours: str
    acres: str
    hand: str
    part: str
    strip: SafeString
    is_fixed: bool
    is_first: bool
    why: Why | None
    outfit: str = ""
    begins: str = ""
    mode: str = ""
    can_move: bool = False
    late: str = ""
    lacks: str = ""
    road: Road | None = None
    field_at: str = ""
    hold_at: str = ""
    move_at: str = ""


@dataclass
class Row:
    """One outfit, field or hand, with its cells by day; `parts` are the ids that a pass moved into it gets, where it gets any."""

    name: str
    parts: str = ""
    days: list[tuple[str, list[Cell]]] = field(default_factory=list)


@dataclass
class Board:
    """All that the week page shows."""

    headline: str
    sub: str
    over: str
    work: str
    has_price: bool
    days: list[str]
    rows: list[Row]
    left: list[Cause]
    later: Later | None
    cost: Cost
    ground: list[dict[str, Any]]
    hands: int
    head: str = ""
    page: int = 1
    pages: int = 1
    by_day: list[tuple[str, list[Cell]]] = field(default_factory=list)


@dataclass(frozen=True)
class _Beside:
    """What is told beside tasks: by row id the row each stands in and its outfit, by its name why then and how late, and who
    is away or what is down by now.
    """

    sides: Mapping[int, str]
    outfits: Mapping[int, str]
    whys: Mapping[str, Why]
    late: Mapping[str, str]
    out: OutNow
    working: dt.date


def week_board(
    *, farm: Farm, plan: WeekPlan, today: dt.date, working: dt.date, by: str = OUTFITS, page: int = 1
) -> Board:
    """Return the board of a plan, read on a day of the farm's clock, with outfits, fields or hands down the side.

    A large plan comes in pages of so many rows; what is told of the whole plan is told on each. Days before `working`, the
    day that the pages are about, are over: nothing is missing on them.
    """
    tasks = tasks_in_short(plan=plan)
    zone = ZoneInfo(farm.zone)
    start = plan.starts_at.astimezone(zone)
    days = [start.date() + dt.timedelta(days=count) for count in range(plan.days)]
    whys = why_each(plan=plan)
    planned = {task.task_key.partition("#")[0] for task in tasks if task.operation not in PIVOT_MOVES}
    direct = plan.plan.get("cost_parts", {}).get("direct", 0)
    waits, later = waiting_keys(plan), later_of_week(plan)
    late_by_task = late_of(plan)
    late = {key.partition("#")[0] for key in late_by_task} & planned
    sides = _sides(tasks, by)
    names = _row_names(tasks, sides)
    pages = max(1, -(-len(names) // ROWS_ON_A_PAGE[by]))
    page = min(max(1, page), pages)
    on_page = set(names[(page - 1) * ROWS_ON_A_PAGE[by] :][: ROWS_ON_A_PAGE[by]])
    in_short = [task for task in tasks if sides[task.pk] in on_page]
    shown = listed_tasks(plan=plan, of=in_short)
    stops = list(care_of_plan(plan=plan))
    beside = _Beside(sides, _sides(in_short, OUTFITS), whys, late_by_task, out_now(farm=farm), working)
    rows = _rows(plan, shown, beside, farm=farm, start=start, days=days, by=by)
    if page == pages and stops:
        rows.append(_service(plan, stops, whys, farm=farm, days=days))
    ground = plan.windows.get("ground", [])
    if pages > 1:
        worked = {task.field.code for task in shown}
        ground = [zone for zone in ground if zone["field"] in worked]
    return Board(
        headline=week_headline(
            fit=len(planned - waits),
            total=len(planned | waits),
            not_due=later.count if later else 0,
            late=len(late - waits),
            days=days,
        ),
        sub=_sub(plan, zone),
        over=_("The days of this plan are over: it ended on {day}, {year}.").format(
            day=words.long_date(days[-1]), year=days[-1].year
        )
        if days[-1] < today
        else "",
        work=words.whole_dollars(direct),
        has_price=bool(direct) or not any(task.machine or task.hand for task in tasks),
        days=[words.short_date(day) for day in days],
        rows=rows,
        left=left_of_week(plan),
        later=later,
        cost=cost_of(plan),
        ground=ground_rows(ground, names=names_of_fields(plan=plan)),
        hands=len(
            {task.hand.pk for task in tasks if task.hand} | {stop.hand_id for stop in stops if stop.hand_id}
        ),
        head=words.named(HEADS[by]),
        page=page,
        pages=pages,
        by_day=_by_day(rows),
    )


def _sides(tasks: Sequence[TaskInShort], by: str) -> dict[int, str]:
    """Return the row of the board that each task stands in, by its row id: its field, its hand, or what does it."""
    if by == FIELDS:
        return {task.pk: task.field_name for task in tasks}
    if by == HANDS:
        return {task.pk: str(task.hand.name) if task.hand is not None else NO_HAND for task in tasks}
    named: dict[tuple[Machine | None, Implement | None], str] = {}
    found = {}
    for task in tasks:
        machine, implement = task.machine, task.implement
        if task.operation in PIVOT_WORK:
            found[task.pk] = PIVOTS
        elif machine is not None and implement is not None:
            outfit = machine, implement
            if outfit not in named:
                named[outfit] = f"{named_in(machine)} + {named_in(implement)}"
            found[task.pk] = named[outfit]
        else:
            found[task.pk] = ON_FOOT if task.hand is not None else HIRED
    return found


def _row_names(tasks: list[TaskInShort], sides: Mapping[int, str]) -> list[str]:
    """Return the names of the rows of a board in their order: outfits before what works without a machine."""
    names = {sides[task.pk] for task in tasks if task.operation != Operation.PIVOT_WALK}
    return sorted(names, key=_in_order)


def _in_order(name: str) -> tuple[bool, str]:
    return name in WITHOUT_MACHINE, name


def _by_day(rows: list[Row]) -> list[tuple[str, list[Cell]]]:
    """Return what is done on each day of the board by the hour, for a screen that is too narrow for the table."""
    found: dict[str, list[Cell]] = {}
    for row in rows:
        for day, cells in row.days:
            found.setdefault(day, []).extend(cells)
    return [(day, sorted(cells, key=lambda cell: cell.begins)) for day, cells in found.items()]


def _sub(plan: WeekPlan, zone: ZoneInfo) -> str:
    made, sure = _moment(plan.made_at.astimezone(zone)), how_sure(plan)
    if plan.sent_at is None:
        told = _("Plan {number}, made {made}, not sent yet").format(number=plan.number, made=made)
    else:
        sent = _moment(plan.sent_at.astimezone(zone))
        told = _("Plan {number}, made {made}, sent {sent}").format(number=plan.number, made=made, sent=sent)
    return f"{told} · {sure}"


def _moment(instant: dt.datetime) -> str:
    return f"{words.short_date(instant.date())} {words.clock(instant)}"


def _rows(
    plan: WeekPlan,
    tasks: list[PlannedTask],
    beside: _Beside,
    *,
    farm: Farm,
    start: dt.datetime,
    days: list[dt.date],
    by: str,
) -> list[Row]:
    shut = made_once(plan, "windows", lambda: {one["pass"]: one for one in plan.windows.get("passes", [])})
    drawn: dict[Any, SafeString] = made_once(plan, "strips", dict)
    roads, parts = roads_of(plan, farm=farm), parts_of(plan)
    first_part: dict[int, int] = defaultdict(lambda: 1 << 15)
    for task in tasks:
        first_part[task.field_pass_id] = min(first_part[task.field_pass_id], task.part_no)
    spoken, headings = words.speaking(), [words.short_date(day) for day in days]
    field_at, hold_at = addresses("pages:field", farm.code), addresses("pages:hold", farm.code)
    move_at = addresses("pages:move", farm.code, plan.number)
    rows: dict[str, Row] = {}
    for task in tasks:
        if task.operation == Operation.PIVOT_WALK:
            continue
        name, outfit, pass_name = beside.sides[task.pk], beside.outfits[task.pk], pass_key(task.field_pass)
        pulled, driver = parts.get(task.mode, ("", ""))
        row_parts = {OUTFITS: pulled, HANDS: driver}.get(by, "") if name not in WITHOUT_MACHINE else ""
        row = rows.setdefault(name, Row(name, row_parts, [(heading, []) for heading in headings]))
        worked = worked_by_day(plan=plan, task=task)
        first, last = next(iter(worked), None), next(reversed(worked), None)
        said = work_words(Operation(task.operation), spoken)
        part = part_said(task.field_pass.part, spoken)
        shown_as = f"{said} {task.field.name}"
        for index, day in enumerate(days):
            if day not in worked:
                continue
            key = spoken, farm.zone, pass_name, day, *worked[day], shown_as
            if key not in drawn:
                windows = shut.get(pass_name, {})
                strip = strips.of_windows(windows, start=start, zone=farm.zone, days=[day])[day]
                for begins, ends in worked[day]:
                    strips.with_work(strip, farm.zone, begins, ends, shown_as)
                drawn[key] = strips.drawn(strip)
            begins, ends = worked[day][0][0], worked[day][-1][1]
            row.days[index][1].append(
                Cell(
                    field_name=task.field.name,
                    field_code=task.field.code,
                    pass_id=task.field_pass_id if task.field_pass.state in OPEN_STATES else None,
                    work=said + (f" ({part})" if part else ""),
                    hours=_hours(begins, ends),
                    acres=acres_said(task, day, list(worked)),
                    hand=task.hand.name if task.hand else "",
                    part=_("part {number} of {count}").format(number=task.part_no, count=task.part_count)
                    if task.part_count > 1
                    else "",
                    strip=drawn[key],
                    is_fixed=_is_fixed(task, plan),
                    is_first=day == first,
                    why=beside.whys.get(task.task_key) if day == first else None,
                    outfit=words.named(outfit) if outfit in WITHOUT_MACHINE else outfit,
                    begins=box_moment(begins),
                    mode=task.mode,
                    can_move=day == first and task.part_no == first_part[task.field_pass_id],
                    late=beside.late.get(task.task_key, "") if day == last else "",
                    lacks=beside.out.said(task, worked[day])
                    if day >= beside.working and task.field_pass.state in OPEN_STATES
                    else "",
                    road=roads.get(task.task_key) if day == first else None,
                    field_at=field_at(task.field.code),
                    hold_at=hold_at(task.field_pass_id),
                    move_at=move_at(task.field_pass_id),
                )
            )
    ordered = sorted(rows.values(), key=lambda row: _in_order(row.name))
    for row in ordered:
        if row.name in (*WITHOUT_MACHINE, NO_HAND):
            row.name = words.named(row.name)
    return ordered


def _service(
    plan: WeekPlan, stops: list[PlannedCare], whys: Mapping[str, Why], *, farm: Farm, days: list[dt.date]
) -> Row:
    """Return the row of the service stops."""
    zone, roads = ZoneInfo(farm.zone), roads_of(plan, farm=farm)
    row = Row(words.named(SERVICE), "", [(words.short_date(day), []) for day in days])
    for stop in stops:
        begins, ends = stop.starts_at.astimezone(zone), stop.ends_at.astimezone(zone)
        if begins.date() not in days:
            continue
        strip, what = strips.DayStrip(begins.date()), what_is_done(stop.rule, words.speaking())
        strips.with_work(strip, farm.zone, begins, ends, what)
        row.days[days.index(begins.date())][1].append(
            Cell(
                field_name=thing_name(stop.rule, words.speaking()),
                field_code="",
                pass_id=None,
                work=what,
                hours=_hours(begins, ends),
                acres=_stop_place(stop),
                hand=stop.hand.name if stop.hand else "",
                part="",
                strip=strips.drawn(strip),
                is_fixed=False,
                is_first=True,
                why=whys.get(stop.task_key),
                outfit=words.named(SERVICE),
                begins=box_moment(begins),
                road=roads.get(stop.task_key),
            )
        )
    return row


def _stop_place(stop: PlannedCare) -> str:
    """Return where a service stop is made, as the hand's sheet says it."""
    field = field_of_stop(stop)
    if not field:
        return words.named(stop.rule.get_place_display())
    if is_brought(stop):
        return _("bring it to {field}").format(field=field)
    return _("it stands at {field}").format(field=field)


def _is_fixed(task: PlannedTask, plan: WeekPlan) -> bool:
    """Tell whether the manager holds a pass to an outfit or to an hour; one that was over when the plan began no longer holds."""
    held = task.field_pass
    if held.fixed_from is None:
        return bool(held.fixed_outfit)
    return held.fixed_from >= plan.starts_at


def _hours(begins: dt.datetime, ends: dt.datetime) -> str:
    return _("{begins} to {ends}").format(begins=words.clock(begins), ends=words.clock(ends))


def acres_said(task: PlannedTask, day: dt.date, worked: list[dt.date]) -> str:
    """Return the acres on the first day of a task; on a later one that it goes on."""
    if day != worked[0]:
        return _("goes on")
    if not task.area_ac:
        return ""
    acres = f"{task.area_ac:.1f}"
    if len(worked) > 1:
        return _("{acres} ac over {days} days").format(acres=acres, days=len(worked))
    return f"{acres} ac"
