"""Time as the planner counts it: minutes inside stretches, by prefix sums and binary search.

Costs along the time are whole units, 600,000 to the cent: an hourly rate in cents times a chance in
ten-thousandths, per minute, is then always a whole number, so that nothing is rounded before the end.
"""

from collections.abc import Iterable, Sequence

import numpy as np
import numpy.typing as npt

from scheduling.solver.problem import CHANCE_WHOLE_E4, OpenStretch, Stretch, WorkStretch

UNITS_PER_CENT = 60 * CHANCE_WHOLE_E4
Ints = npt.NDArray[np.int64]


class Clock:
    """Counts the minutes of sorted stretches, for road calendars; every answer is looked up, none is searched."""

    def __init__(self, stretches: Iterable[Stretch], horizon: int) -> None:
        inside = np.zeros(horizon, dtype=np.int64)
        for stretch in stretches:
            inside[stretch.start : stretch.end] = 1
        self.always = bool(inside.all())
        self._before: list[int] = np.concatenate(([0], np.cumsum(inside))).tolist()
        self._minutes: list[int] = np.flatnonzero(inside).tolist()

    def before(self, minute: int) -> int:
        """Return how many minutes of the stretches lie before this one, of 0 to the horizon."""
        return self._before[minute]

    def laid_out(self) -> tuple[list[int], list[int]]:
        """Return the count of minutes inside before each minute of 0 to the horizon, and the minutes inside."""
        return self._before, self._minutes

    def reach(self, minute: int, needed: int) -> int | None:
        """Return the soonest minute by which `needed` minutes from `minute` on have passed."""
        if needed == 0:
            return minute
        last = self._before[minute] + needed - 1
        return self._minutes[last] + 1 if last < len(self._minutes) else None

    def leave_by(self, minute: int, needed: int) -> int | None:
        """Return the latest minute from which `needed` minutes still pass before `minute`."""
        if needed == 0:
            return minute
        first = self._before[minute] - needed
        return self._minutes[first] if first >= 0 else None


class Workable:
    """The workable minutes of a mode, in pieces of one cost rate (units per worked minute)."""

    def __init__(
        self, open_stretches: Sequence[OpenStretch], calendars: Sequence[Sequence[WorkStretch]], late: int
    ) -> None:
        pieces = [(s.start, s.end, (CHANCE_WHOLE_E4 - s.chance_e4) * late) for s in open_stretches]
        for calendar in calendars:
            pieces = _crossed(pieces, calendar)
        self.first: Ints = np.array([a for a, _, _ in pieces], dtype=np.int64)
        self.rate: Ints = np.array([rate for _, _, rate in pieces], dtype=np.int64)
        length = np.array([b - a for a, b, _ in pieces], dtype=np.int64)
        self.end: Ints = self.first + length
        self.count: Ints = np.concatenate(([0], np.cumsum(length)))
        self.spent: Ints = np.concatenate(([0], np.cumsum(length * self.rate)))

    def mask(self, horizon: int) -> npt.NDArray[np.bool_]:
        """Return for each minute of the horizon whether it is workable."""
        edges = np.zeros(horizon + 1, dtype=np.int64)
        np.add.at(edges, self.first, 1)
        np.add.at(edges, self.end, -1)
        return np.cumsum(edges[:-1]) > 0

    def grid(self, step: int, earliest: int, latest: int) -> Ints:
        """Return the workable multiples of the step in earliest..latest."""
        lists = []
        for a, b in zip(self.first.tolist(), self.end.tolist()):
            low, high = max(a, earliest), min(b - 1, latest)
            lists.append(np.arange(-(-low // step) * step, high + 1, step, dtype=np.int64))
        return np.concatenate(lists) if lists else np.empty(0, dtype=np.int64)

    def run(self, starts: Ints, minutes: int) -> tuple[Ints, Ints, Ints]:
        """Return (starts that can end, their ends, units spent on the worked minutes).

        A start outside the workable minutes begins to work at the next of them.
        """
        if not len(self.first) or not len(starts):
            empty = np.empty(0, dtype=np.int64)
            return empty, empty, empty
        k = np.searchsorted(self.first, starts, side="right") - 1
        into = np.clip(starts - self.first[k], 0, self.end[k] - self.first[k])
        done = np.where(k < 0, 0, self.count[k] + into)
        spent = np.where(k < 0, 0, self.spent[k] + into * self.rate[k])
        target = done + minutes
        fits = target <= self.count[-1]
        starts, target, spent = starts[fits], target[fits], spent[fits]
        last = np.searchsorted(self.count[1:], target, side="left")
        within = target - self.count[last]
        ends = self.first[last] + within
        return starts, ends, self.spent[last] + within * self.rate[last] - spent


def _crossed(
    pieces: list[tuple[int, int, int]], calendar: Sequence[WorkStretch]
) -> list[tuple[int, int, int]]:
    found = []
    i = j = 0
    while i < len(pieces) and j < len(calendar):
        a, b, rate = pieces[i]
        work = calendar[j]
        low, high = max(a, work.start), min(b, work.end)
        if low < high:
            found.append((low, high, rate + work.extra_cents_per_hour * CHANCE_WHOLE_E4))
        if b <= work.end:
            i += 1
        else:
            j += 1
    return found
