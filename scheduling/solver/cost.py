"""The exact cost of a schedule by its parts, and the one rounding to cents."""

from fractions import Fraction

import numpy as np

from scheduling.solver.plan import PARTS
from scheduling.solver.schedule import Schedule
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
        task = job.task
        change = 0 if task.was is None else task.was.change_cents * UNITS_PER_CENT
        if place is None:
            found["change"] += change
            found["left"] += schedule.left_units[job.number] - change
            continue
        mode, start, end = place.way.mode, place.start, place.end
        if task.was is not None and (task.was.mode, task.was.start) != (mode.id, start):
            found["change"] += change
        direct = mode.cents if task.under_way is None else task.under_way.cents_left
        found["direct"] += direct * UNITS_PER_CENT
        late = 0
        if task.due is not None:
            late = max(0, end - task.due) * task.late_cents_per_hour * UNITS_PER_CENT // 60
        found["late"] += late
        needed = mode.minutes if task.under_way is None else task.under_way.minutes_left
        calendars = [schedule.board.problem.resource_of[name].calendar for name in mode.resources]
        _, _, spent = Workable(task.open, calendars, 0).run(np.array([start], dtype=np.int64), needed)
        extra = int(spent[0])
        found["extra"] += extra
        timed = place.units - direct * UNITS_PER_CENT - late - extra
        stays = task.was is not None and (task.was.mode, task.was.start) == (mode.id, start)
        found["weather"] += timed - (0 if stays or task.was is None else change)
    return found
