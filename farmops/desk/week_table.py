"""A week plan as plain text: who goes where, with what, when, and what it costs."""

import datetime as dt
from collections.abc import Sequence
from zoneinfo import ZoneInfo

from django.utils.translation import gettext_noop

from scheduling.models import PlannedCare, PlannedTask, WeekPlan
from scheduling.selectors.changes import changes_of, plan_before
from scheduling.selectors.left import LeftWork, left_by_cause
from scheduling.selectors.plans import care_of_plan, tasks_of_plan, uncounted_in_words, worked_by_day
from scheduling.selectors.spoken import names_of

TOLD_CHANGES = ("hour", "day", "outfit", "left", "planned", "new")
HEADINGS = ("day", "time", "outfit", "field", "work")
PARTS = (
    ("direct", gettext_noop("the work itself: machines, implements, hands")),
    ("late", gettext_noop("being late")),
    ("extra", gettext_noop("overtime")),
    ("road", gettext_noop("roads and changing implements")),
    ("change", gettext_noop("changing what was sent")),
    ("left", gettext_noop("left for later")),
    ("weather", gettext_noop("the chance that weather shuts an hour")),
)
"""The parts of a plan's cost with their words, which pages say in their reader's language."""


def clock_12h(instant: dt.datetime) -> str:
    """Return an instant as a 12-hour clock shows it, such as `7:05 am`."""
    return f"{instant.hour % 12 or 12}:{instant.minute:02d} {'am' if instant.hour < 12 else 'pm'}"


def dollars(cents: int) -> str:
    """Return whole cents as dollars, such as `$1,204.50` or `-$3.00`."""
    return f"{'-' if cents < 0 else ''}${abs(cents) // 100:,}.{abs(cents) % 100:02d}"


def week_lines(*, plan: WeekPlan) -> list[str]:
    """Return the lines that show a plan: its tasks, what it left and why, its cost, and what it changes of the sent one."""
    changes = change_lines(plan=plan)
    lines = [*task_lines(plan=plan), "", *left_lines(plan=plan), "", *cost_lines(plan=plan)]
    return [*lines, "", *changes] if changes else lines


def task_lines(*, plan: WeekPlan) -> list[str]:
    """Return a heading and a row for each task of a plan on each day that it is worked."""
    rows = [row for task in tasks_of_plan(plan=plan) for row in _rows(plan, task)]
    rows += [_care_row(plan, stop) for stop in care_of_plan(plan=plan)]
    rows.sort(key=lambda row: row[0])
    first = plan.starts_at.astimezone(ZoneInfo(plan.farm.zone)).date()
    heading = f"{plan.farm.name}: plan {plan.number}, {plan.days} days from {first:%A, %B} {first.day}, {first.year}"
    told = [row for _begins, row in rows]
    return [heading, "", *(_aligned([HEADINGS, *told]) if told else ["Nothing is planned."])]


def left_lines(*, plan: WeekPlan) -> list[str]:
    """Return what a plan left and why, each cause with what waits for it."""
    left = left_by_cause(plan=plan)
    lines = ["Left, and why:" if left else "Nothing is left."]
    for cause in left:
        if len(cause.works) == 1:
            (one,) = cause.works
            lines.append(f"  {_place_and_work(one)}: {cause.why}")
            lines += [f"    so these wait too: {', '.join(one.followers)}" for _ in one.followers[:1]]
            continue
        lines.append(f"  {cause.why}")
        for one in cause.works:
            waits = f" (so these wait too: {', '.join(one.followers)})" if one.followers else ""
            lines.append(f"    {_place_and_work(one)}{waits}")
    return lines


def _place_and_work(one: LeftWork) -> str:
    return ", ".join(filter(None, (one.ground, one.work)))


def change_lines(*, plan: WeekPlan) -> list[str]:
    """Return what a plan made to keep to a sent one changes of it, what had to change first; none if it was not."""
    before = plan_before(plan=plan) if plan.against_id is not None else None
    changes = changes_of(plan=plan, before=before) if before is not None else None
    if before is None or changes is None:
        return []
    names = names_of(farm=plan.farm, problem=before.problem) | names_of(farm=plan.farm, problem=plan.problem)
    told = [row for row in changes["tasks"] if row["kind"] in TOLD_CHANGES]
    told.sort(key=lambda row: (not row["had_to"], row["kind"] == "gone"))
    lines = [f"Beside plan {before.number}, which was sent: {changes['says']}"]
    return [*lines, *(f"  {names.get(row['id'], row['id'])}: {row['says']}" for row in told)]


def _rows(plan: WeekPlan, task: PlannedTask) -> list[tuple[dt.datetime, tuple[str, ...]]]:
    """Return a row for each day on which a task is worked, with the instant it begins."""
    outfit = [one.name for one in (task.machine, task.implement, task.hand) if one is not None]
    days = worked_by_day(plan=plan, task=task)
    rows: list[tuple[dt.datetime, tuple[str, ...]]] = []
    for number, stretches in enumerate(days.values(), 1):
        begins, ends = stretches[0][0], stretches[-1][1]
        until = clock_12h(ends) if ends.date() == begins.date() else f"{ends:%a} {clock_12h(ends)}"
        row = (
            f"{begins:%a} {begins.month}/{begins.day}",
            f"{clock_12h(begins)} to {until}",
            ", ".join(outfit) or ("hired" if task.field_pass.custom_ac_per_h is not None else "by itself"),
            task.field.name,
            _work(task, number, len(days)),
        )
        rows.append((begins, row))
    return rows


def _care_row(plan: WeekPlan, stop: PlannedCare) -> tuple[dt.datetime, tuple[str, ...]]:
    zone = ZoneInfo(plan.farm.zone)
    begins, ends = stop.starts_at.astimezone(zone), stop.ends_at.astimezone(zone)
    until = clock_12h(ends) if ends.date() == begins.date() else f"{ends:%a} {clock_12h(ends)}"
    places = names_of(farm=plan.farm, problem={})
    who = [one.name for one in (stop.machine, stop.implement, stop.rule.pivot, stop.hand) if one is not None]
    row = (
        f"{begins:%a} {begins.month}/{begins.day}",
        f"{clock_12h(begins)} to {until}",
        ", ".join(who),
        places.get(stop.place, stop.place),
        stop.rule.what,
    )
    return begins, row


def _work(task: PlannedTask, day_no: int, days: int) -> str:
    work = task.field_pass.get_operation_display()
    if task.field_pass.part:
        work += f", {task.field_pass.part}"
    if task.part_count > 1:
        work += f", part {task.part_no} of {task.part_count}"
    if day_no > 1:
        return f"{work}, goes on"
    if task.area_ac:
        work += f", {task.area_ac:.1f} ac"
    return f"{work} over {days} days" if days > 1 else work


def _aligned(rows: Sequence[Sequence[str]]) -> list[str]:
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    return ["  ".join(text.ljust(width) for text, width in zip(row, widths)).rstrip() for row in rows]


def cost_lines(*, plan: WeekPlan) -> list[str]:
    """Return what a plan costs, in all and by its parts."""
    parts = plan.plan["cost_parts"]
    told = [(says, dollars(parts[name])) for name, says in PARTS if parts.get(name)]
    width = max((len(says) for says, _ in told), default=0)
    lines = [f"  {says.ljust(width)}  {amount:>12}" for says, amount in told]
    lines += [f"  {says}" for says in [uncounted_in_words(plan=plan)] if says]
    total = dollars(plan.cost_cents or 0)
    if plan.status == "best":
        return [f"Cost {total}; no plan is cheaper.", *lines]
    return [f"Cost {total}; the cheapest possible is not below {dollars(plan.bound_cents or 0)}.", *lines]
