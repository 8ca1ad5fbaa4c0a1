"""In words: minutes as the farm's clock shows them, and why a task was left."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from scheduling.solver.board import Board, Job
from scheduling.solver.problem import Mode, Problem, Task
from scheduling.solver.schedule import Schedule
from scheduling.solver.timeline import UNITS_PER_CENT, Workable

Name = Callable[[str], str]


def dollars(units: int) -> str:
    cents = -(-units // UNITS_PER_CENT)
    return f"${cents // 100:,}.{cents % 100:02d}"


def local(problem: Problem, minute: int) -> datetime:
    """Return a minute of the horizon as a time of the problem's zone."""
    return (problem.start.astimezone(UTC) + timedelta(minutes=minute)).astimezone(ZoneInfo(problem.zone))


def clock(problem: Problem, minute: int) -> str:
    """Return a minute of the horizon as a 12-hour clock of the problem's zone shows it."""
    at = local(problem, minute)
    return f"{at.hour % 12 or 12}:{at:%M} {'am' if at.hour < 12 else 'pm'}"


def day(problem: Problem, minute: int) -> str:
    """Return the weekday and date of a minute of the horizon."""
    at = local(problem, minute)
    return f"{at:%a %b} {at.day}"


def moment(problem: Problem, minute: int) -> str:
    """Return a minute of the horizon as the problem's zone shows it: a weekday and a 12-hour clock."""
    return f"{day(problem, minute)} {clock(problem, minute)}"


def lasting(minutes: int) -> str:
    """Return minutes as people say them: "45 minutes", "2 h", "2 h 30 min", "3 days"."""
    if minutes < 60:
        return f"{minutes} minute{'' if minutes == 1 else 's'}"
    if minutes % 1440 == 0:
        return f"{minutes // 1440} day{'' if minutes == 1440 else 's'}"
    hours, rest = divmod(minutes, 60)
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def why_hopeless(schedule: Schedule, job: Job, name: Name = str) -> tuple[str, int | None, str] | None:
    """Return why nothing else of the plan matters to this left job: a kind, the job it waits for, a sentence."""
    board, task = schedule.board, job.task
    if task.fixed is not None and task.under_way is None and not job.ways:
        return "fixed", None, _why_not_fixed(board, task, name)
    for ahead, _, _ in job.before:
        if schedule.places[ahead] is None:
            return "predecessor", ahead, f"It waits for {name(board.jobs[ahead].task.id)}, which is left."
    return None if job.ways else ("never", None, why_never(board, task))


def why_left(schedule: Schedule, job: Job) -> str:
    """Return the sentence that tells why this job is left in the schedule."""
    hopeless = why_hopeless(schedule, job)
    if hopeless is not None:
        return hopeless[2]
    found = schedule.best_insertion(job, schedule.must_units)
    if found is None:
        window = schedule.window(job)
        assert window is not None
        low = window[0]
        if all(way.options.starts[-1] < low for way in job.ways):
            return "What it waits for ends too late to do it after that in these days."
        return (
            "All outfits that could do it are taken by other work, or on the road, in the hours it is open."
        )
    more = found[0] - schedule.left_units[job.number]
    if more < 0:
        return "Room for it was not found in the time given."
    return f"Doing it would cost {dollars(more)} more than leaving it."


def _why_not_fixed(board: Board, task: Task, name: Name) -> str:
    fixed = task.fixed
    assert fixed is not None
    mode = task.mode(fixed.mode)
    if mode is None:
        return f"It is fixed to {name(fixed.mode)}, which is no longer among its modes."
    at = (
        moment(board.problem, fixed.start)
        if 0 <= fixed.start < board.horizon
        else "a time outside the days that are planned"
    )
    if task.earliest > fixed.start:
        return f"It is fixed to {at}, before the first minute it may start."
    if task.latest is not None and task.latest < fixed.start:
        return f"It is fixed to {at}, after the last minute it may start."
    workable = board.workable(task, mode)
    grid = workable.grid(1, fixed.start, fixed.start)
    if not len(grid):
        return f"It is fixed to {at}, when the work is shut or one of {name(mode.id)} is off."
    starts, ends, _ = workable.run(grid, mode.minutes)
    if not len(starts):
        return f"It is fixed to {at}, and could not end in the days that are planned."
    if task.hold_limit is not None and int(ends[0] - starts[0]) > task.hold_limit:
        return f"It is fixed to {at}, and would not be done within the {lasting(task.hold_limit)} it may take once begun."
    return (
        f"It is fixed to {at}, and its outfit cannot be there by then, from where it stands or from the other "
        "work that is fixed or under way."
    )


def why_never(board: Board, task: Task) -> str:
    """Return why no mode of a task can be done even if it stood alone."""
    if not task.modes:
        return "There is no outfit for it."
    return min((_why_no_mode(board, task, mode) for mode in task.modes), key=lambda reason: reason[0])[1]


def _why_no_mode(board: Board, task: Task, mode: Mode) -> tuple[int, str]:
    workable = board.workable(task, mode)
    if not task.open:
        return 5, "It is shut all through these days."
    if not len(workable.first):
        return 4, "It is never open while all of an outfit are at work."
    latest = board.horizon if task.latest is None else task.latest
    needed = mode.minutes if task.under_way is None else task.under_way.minutes_left
    grid = workable.grid(board.problem.step, task.earliest, latest)
    if task.under_way is not None:
        grid = np.zeros(1, dtype=np.int64)
    if not len(grid):
        return 3, "It is shut at every time it may start."
    starts, _, _ = workable.run(grid, needed)
    if not len(starts):
        return 2, _too_short(workable, int(grid[0]), needed)
    return (
        1,
        f"Once begun it must be done within {lasting(task.hold_limit or 0)}, and its open hours are too few for that.",
    )


def _too_short(workable: Workable, first: int, needed: int) -> str:
    minutes = int((workable.end - workable.first.clip(first)).clip(0).sum())
    most = f"no more than {lasting(minutes)} of these days are open with its outfit at work"
    return f"It needs {lasting(needed)}, and {most}."
