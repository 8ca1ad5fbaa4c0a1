"""The exact cost of a schedule by its parts, and the one rounding to cents."""

from fractions import Fraction

import numpy as np

from scheduling.solver.board import Board, Job
from scheduling.solver.plan import PARTS
from scheduling.solver.schedule import Place, Schedule
from scheduling.solver.timeline import UNITS_PER_CENT, Workable


def cents(units: int) -> int:
    """Return units rounded to whole cents, half to even."""
    return round(Fraction(units, UNITS_PER_CENT))


def cents_below(units: int) -> int:
    """Return units rounded down to whole cents, for bounds."""
    return units // UNITS_PER_CENT


def parts(schedule: Schedule) -> dict[str, int]:
    """Return the exact units of each part of the cost; together they are `schedule.units`."""
    found = dict.fromkeys(PARTS, 0)
    found["road"] = sum(line.units for line in schedule.lines)
    for job, place in zip(schedule.board.jobs, schedule.places):
        if place is None:
            was = job.task.was
            change = 0 if was is None else was.change_cents * UNITS_PER_CENT
            found["change"] += change
            found["left"] += schedule.left_units[job.number] - change
            continue
        for part, units in place_parts(schedule.board, job, place).items():
            found[part] += units
    return found


def place_parts(board: Board, job: Job, place: Place) -> dict[str, int]:
    """Return the exact units of each part that a job costs at its place, without its trips."""
    task, mode, start, end = job.task, place.way.mode, place.start, place.end
    found = dict.fromkeys(PARTS, 0)
    if task.was is not None and (task.was.mode, task.was.start) != (mode.id, start):
        found["change"] = task.was.change_cents * UNITS_PER_CENT
    found["direct"] = (mode.cents if task.under_way is None else task.under_way.cents_left) * UNITS_PER_CENT
    if task.due is not None:
        found["late"] = max(0, end - task.due) * task.late_cents_per_hour * UNITS_PER_CENT // 60
    needed = mode.minutes if task.under_way is None else task.under_way.minutes_left
    calendars = [board.problem.resource_of[name].calendar for name in mode.resources]
    _, _, spent = Workable(task.open, calendars, 0).run(np.array([start], dtype=np.int64), needed)
    found["extra"] = int(spent[0])
    found["weather"] = place.units - sum(found.values())
    return found
