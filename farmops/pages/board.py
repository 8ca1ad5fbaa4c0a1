"""The week as the manager reads it: one row an outfit, a field or a hand, a column a day, and the sentence that sums it up.

For: seeing who does what, where and when in a week. The manager decides here what moves, and whether it is sent.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from farmops.farms.models import Farm
from farmops.farms.operations import PIVOT_MOVES, PIVOT_WORK, Operation
from farmops.pages import strips, words
from farmops.pages.board_facts import Road, box_moment, late_of, parts_of, roads_of
from farmops.pages.ground import ground_rows
from farmops.pages.left_page import Cause, Later, later_of_week, left_of_week, waiting_keys
from farmops.pages.many_links import addresses
from farmops.pages.plan_cost import Cost, cost_of, how_sure
from farmops.pages.week_says import week_headline
from scheduling.models import PlannedTask, WeekPlan
from scheduling.selectors.care import thing_name, what_is_done
from scheduling.selectors.passes import OPEN_STATES, field_names, part_said, pass_key
from scheduling.selectors.plan_documents import made_once
from scheduling.selectors.plans import care_of_plan, listed_tasks, worked_by_day
from scheduling.selectors.reasons import Why, why_each
from scheduling.selectors.speaking import named_in
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
    road: Road | None = None
    field_at: str = ""
    hold_at: str = ""
    move_at: str = ""

    @property
    def said(self) -> dict[str, str]:
        """Return the names of a cell's links, which the template asks for once a cell."""
        named = {"work": self.work, "field": self.field_name}
        return {
            "what": _("%(work)s on %(field)s") % named,
            "hold": _("hold or move %(work)s on %(field)s") % named,
            "move": _("move %(work)s on %(field)s") % named,
        }


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


def week_board(*, farm: Farm, plan: WeekPlan, today: dt.date, by: str = OUTFITS, page: int = 1) -> Board:
    """Return the board of a plan, read on a day of the farm's clock, with outfits, fields or hands down the side.

    A large plan comes in pages of so many rows; what is told of the whole plan is told on each.
    """
    tasks = listed_tasks(plan=plan)
    zone = ZoneInfo(farm.zone)
    start = plan.starts_at.astimezone(zone)
    days = [start.date() + dt.timedelta(days=count) for count in range(plan.days)]
    whys = why_each(plan=plan)
    planned = {pass_key(task.field_pass) for task in tasks if task.operation not in PIVOT_MOVES}
    direct = plan.plan.get("cost_parts", {}).get("direct", 0)
    waits, later = waiting_keys(plan), later_of_week(plan)
    late = {key.partition("#")[0] for key in late_of(plan)} & planned
    names = _row_names(tasks, by)
    pages = max(1, -(-len(names) // ROWS_ON_A_PAGE[by]))
    page = min(max(1, page), pages)
    names = names[(page - 1) * ROWS_ON_A_PAGE[by] :][: ROWS_ON_A_PAGE[by]]
    shown = [task for task in tasks if _row_name(task, by) in set(names)]
    rows = _rows(plan, shown, whys, farm=farm, start=start, days=days, by=by, has_service=page == pages)
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
        has_price=bool(direct) or not any(task.machine_id or task.hand_id for task in tasks),
        days=[words.short_date(day) for day in days],
        rows=rows,
        left=left_of_week(plan),
        later=later,
        cost=cost_of(plan),
        ground=ground_rows(ground, names=field_names(farm=farm)),
        hands=len(_hands(plan, tasks)),
        head=words.named(HEADS[by]),
        page=page,
        pages=pages,
        by_day=_by_day(rows),
    )


def _row_names(tasks: list[PlannedTask], by: str) -> list[str]:
    """Return the names of the rows of a board in their order: outfits before what works without a machine."""
    names = {_row_name(task, by) for task in tasks if task.operation != Operation.PIVOT_WALK}
    return sorted(names, key=lambda name: (name in WITHOUT_MACHINE, name))


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
    whys: Mapping[str, Why],
    *,
    farm: Farm,
    start: dt.datetime,
    days: list[dt.date],
    by: str,
    has_service: bool,
) -> list[Row]:
    shut = made_once(plan, "windows", lambda: {one["pass"]: one for one in plan.windows.get("passes", [])})
    drawn: dict[Any, SafeString] = made_once(plan, "strips", dict)
    late, roads, parts = late_of(plan), roads_of(plan), parts_of(plan)
    first_part: dict[int, int] = defaultdict(lambda: 1 << 15)
    for task in tasks:
        first_part[task.field_pass_id] = min(first_part[task.field_pass_id], task.part_no)
    field_at, hold_at = addresses("pages:field", farm.code), addresses("pages:hold", farm.code)
    move_at = addresses("pages:move", farm.code, plan.number)
    rows: dict[str, Row] = {}
    for task in tasks:
        if task.operation == Operation.PIVOT_WALK:
            continue
        name, outfit = _row_name(task, by), _row_name(task, OUTFITS)
        pulled, driver = parts.get(task.mode, ("", ""))
        row_parts = {OUTFITS: pulled, HANDS: driver}.get(by, "") if name not in WITHOUT_MACHINE else ""
        row = rows.setdefault(name, Row(name, row_parts, [(words.short_date(day), []) for day in days]))
        worked = worked_by_day(plan=plan, task=task)
        for index, day in enumerate(days):
            if day not in worked:
                continue
            said = work_words(Operation(task.operation), words.speaking())
            part = part_said(task.field_pass.part, words.speaking())
            shown_as = f"{said} {task.field.name}"
            key = words.speaking(), farm.zone, pass_key(task.field_pass), day, *worked[day], shown_as
            if key not in drawn:
                windows = shut.get(pass_key(task.field_pass), {})
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
                    acres=_acres(task, day, list(worked)),
                    hand=task.hand.name if task.hand else "",
                    part=_("part {number} of {count}").format(number=task.part_no, count=task.part_count)
                    if task.part_count > 1
                    else "",
                    strip=drawn[key],
                    is_fixed=_is_fixed(task, plan),
                    is_first=day == next(iter(worked)),
                    why=whys.get(task.task_key) if day == next(iter(worked)) else None,
                    outfit=words.named(outfit) if outfit in WITHOUT_MACHINE else outfit,
                    begins=box_moment(begins),
                    mode=task.mode,
                    can_move=day == next(iter(worked)) and task.part_no == first_part[task.field_pass_id],
                    late=late.get(task.task_key, "") if day == list(worked)[-1] else "",
                    road=roads.get(task.task_key) if day == next(iter(worked)) else None,
                    field_at=field_at(task.field.code),
                    hold_at=hold_at(task.field_pass_id),
                    move_at=move_at(task.field_pass_id),
                )
            )
    ordered = sorted(rows.values(), key=lambda row: (row.name in WITHOUT_MACHINE, row.name))
    service = _service(plan, whys, roads, farm=farm, days=days) if has_service else None
    shown = [*ordered, service] if service is not None else ordered
    for row in shown:
        if row.name in (*WITHOUT_MACHINE, NO_HAND):
            row.name = words.named(row.name)
    return shown


def _hands(plan: WeekPlan, tasks: list[PlannedTask]) -> set[int]:
    """Return the hands that the plan has something to do for."""
    told = {task.hand_id for task in tasks} | {stop.hand_id for stop in care_of_plan(plan=plan)}
    return {hand_id for hand_id in told if hand_id is not None}


def _service(
    plan: WeekPlan, whys: Mapping[str, Why], roads: Mapping[str, Road], *, farm: Farm, days: list[dt.date]
) -> Row | None:
    """Return the row of the service stops; None where the plan has none."""
    zone, row = ZoneInfo(farm.zone), Row(SERVICE, "", [(words.short_date(day), []) for day in days])
    stops = list(care_of_plan(plan=plan))
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
                acres=words.named(stop.rule.get_place_display()),
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
    return row if stops else None


def _is_fixed(task: PlannedTask, plan: WeekPlan) -> bool:
    """Tell whether the manager holds a pass to an outfit or to an hour; one that was over when the plan began no longer holds."""
    held = task.field_pass
    if held.fixed_from is None:
        return bool(held.fixed_outfit)
    return held.fixed_from >= plan.starts_at


def _row_name(task: PlannedTask, by: str) -> str:
    """Return the row of the board that a task stands in: by its field, its hand, or what does it."""
    if by == FIELDS:
        return str(task.field.name)
    if by == HANDS:
        return str(task.hand.name) if task.hand is not None else NO_HAND
    if task.operation in PIVOT_WORK:
        return PIVOTS
    if task.machine is not None and task.implement is not None:
        return f"{named_in(task.machine)} + {named_in(task.implement)}"
    return ON_FOOT if task.hand is not None else HIRED


def _hours(begins: dt.datetime, ends: dt.datetime) -> str:
    return _("{begins} to {ends}").format(begins=words.clock(begins), ends=words.clock(ends))


def _acres(task: PlannedTask, day: dt.date, worked: list[dt.date]) -> str:
    """Return the acres on the first day of a task; on a later one that it goes on."""
    if day != worked[0]:
        return _("goes on")
    if not task.area_ac:
        return ""
    acres = f"{task.area_ac:.1f}"
    if len(worked) > 1:
        return _("{acres} ac over {days} days").format(acres=acres, days=len(worked))
    return f"{acres} ac"
