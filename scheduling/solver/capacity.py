"""A sharper lower bound: what is done in a span of days must fit into the minutes in which its resources can work.

The problem is relaxed to a choice for each job: leave it, or begin it in one of its ways on one of the days, at that day's
cheapest start. Two kinds of rules tie the choices together. Each resource has, from minute 0 to the end of each day,
only so many minutes in which any of its ways can be worked. And a job may not have begun by a day by which one that it
waits for has not. Every price put on breaking these rules gives a lower bound (Lagrange); the prices are improved
step by step in floats, and the bound is then worked out in whole numbers from the rounded prices, so it is exact.
"""

from bisect import bisect_left

import numpy as np
import numpy.typing as npt

from scheduling.solver.board import Board, Options
from scheduling.solver.bounds import heads, trips_of
from scheduling.solver.timeline import Ints

SPAN_MIN = 1440
STEPS = 200
MOST_CHOICES = 24_000
MOST_UNITS = 2**53
Floats = npt.NDArray[np.float64]


class _Choices:
    """The choices of all jobs, side by side, and the rows of the rules that tie them."""

    def __init__(self, board: Board) -> None:
        self.board = board
        self.spans = -(-board.horizon // SPAN_MIN)
        self.units: list[int] = []
        self.owner: list[int] = []
        self.entries: list[tuple[int, int, int]] = []  # row, choice, factor
        self.limits: list[int] = []
        self.capacity_rows = self._capacities()
        order = self._order_rows()
        soonest, trips = heads(board), trips_of(board)
        cache: dict[tuple[int, int], list[tuple[int, int, int]]] = {}
        for job in board.jobs:
            if job.left_units is not None:
                self._add(job.number, job.left_units)
            for way in job.ways:
                key = (id(way.options), soonest[job.number])
                if key not in cache:
                    cache[key] = self._spans_of(way.options, soonest[job.number])
                needed = way.mode.minutes if job.task.under_way is None else job.task.under_way.minutes_left
                for span, least, last_span in cache[key]:
                    choice = self._add(job.number, way.base_units + least + trips[job.number][id(way)][0])
                    for number in way.resources:
                        for row in self.capacity_rows.get(number, {}).values():
                            if self.capacity_end[row] >= last_span:
                                self.entries.append((row, choice, needed))
                    for row, by in order.get((job.number, 1), ()):
                        if span <= by:
                            self.entries.append((row, choice, 1))
                    for row, by in order.get((job.number, -1), ()):
                        if span <= by:
                            self.entries.append((row, choice, -1))

    def _add(self, job: int, units: int) -> int:
        self.units.append(units)
        self.owner.append(job)
        return len(self.units) - 1

    def _spans_of(self, options: Options, soonest: int) -> list[tuple[int, int, int]]:
        """Return (day of the start, cheapest units on it, last day by which all that start on it have ended)."""
        found = []
        low = bisect_left(options.starts, soonest)
        while low < len(options.starts):
            span = options.starts[low] // SPAN_MIN
            high = bisect_left(options.starts, (span + 1) * SPAN_MIN, low)
            least = options.units[options.cheapest(low, high)]
            found.append((span, least, (options.ends[high - 1] - 1) // SPAN_MIN))
            low = high
        return found

    def _capacities(self) -> dict[int, dict[int, int]]:
        """Lay a row for each resource and day: minutes up to its end in which some way can be worked."""
        board = self.board
        self.capacity_end: dict[int, int] = {}
        used: dict[int, dict[int, npt.NDArray[np.bool_]]] = {}
        for job in board.jobs:
            for way in job.ways:
                workable = board.workable(job.task, way.mode)
                for number in way.resources:
                    used.setdefault(number, {})[id(workable)] = workable.mask(board.horizon)
        rows: dict[int, dict[int, int]] = {}
        for number, masks in sorted(used.items()):
            count = np.concatenate(([0], np.cumsum(np.any(list(masks.values()), axis=0))))
            rows[number] = {}
            for span in range(self.spans):
                row = len(self.limits)
                rows[number][span] = row
                self.capacity_end[row] = span
                self.limits.append(int(count[min(board.horizon, (span + 1) * SPAN_MIN)]))
        return rows

    def _order_rows(self) -> dict[tuple[int, int], list[tuple[int, int]]]:
        """Lay a row for each pair of `after` and day; by job and sign: the rows it stands in, each with its day."""
        rows: dict[tuple[int, int], list[tuple[int, int]]] = {}
        for job in self.board.jobs:
            for ahead, _, _ in job.before:
                for span in range(self.spans):
                    rows.setdefault((job.number, 1), []).append((len(self.limits), span))
                    rows.setdefault((ahead, -1), []).append((len(self.limits), span))
                    self.limits.append(0)
        return rows


def size(board: Board) -> int:
    """Return about how many choices the relaxed problem has."""
    return sum(len(job.ways) for job in board.jobs) * -(-board.horizon // SPAN_MIN)


def capacity_bound(board: Board, incumbent_units: int) -> int:
    """Return units that no plan goes below, 0 when the problem is too large for it or cannot be bounded so."""
    if size(board) > MOST_CHOICES:
        return 0
    choices = _Choices(board)
    if not choices.units or max(choices.units) * len(board.jobs) > MOST_UNITS * 64:
        return 0
    if len(set(choices.owner)) < len(board.jobs) or not choices.entries:
        return 0  # some job has no choice at all, or no choice is tied to another
    return _climb(choices, incumbent_units)


def _climb(choices: _Choices, incumbent_units: int) -> int:
    units = np.array(choices.units, dtype=np.float64)
    owner = np.array(choices.owner, dtype=np.int64)
    starts = np.flatnonzero(np.concatenate(([True], owner[1:] != owner[:-1])))
    counts = np.diff(np.append(starts, len(units)))
    rows, columns, factors = (np.array(column, dtype=np.int64) for column in zip(*choices.entries))
    limits = np.array(choices.limits, dtype=np.float64)
    weights = factors.astype(np.float64)
    prices = np.zeros(len(limits))
    best_prices, best, pace, since = prices, -np.inf, 1.0, 0
    for _ in range(STEPS):
        priced = units + np.bincount(columns, weights * prices[rows], minlength=len(units))
        least = np.minimum.reduceat(priced, starts)
        bound = float(least.sum() - prices @ limits)
        if bound > best:
            best, best_prices, since = bound, prices, 0
        else:
            since += 1
            if since >= 8:
                pace, since, prices = pace / 1.6, 0, best_prices
        picked = (priced <= np.repeat(least, counts)).astype(np.float64)
        share = picked / np.repeat(np.add.reduceat(picked, starts), counts)
        slope = np.bincount(rows, weights * share[columns], minlength=len(limits)) - limits
        slope = np.where((prices <= 0) & (slope < 0), 0.0, slope)
        steep = float(slope @ slope)
        if steep < 1e-9 or incumbent_units - bound <= 0:
            break
        prices = np.maximum(0.0, prices + pace * (incumbent_units - bound) / steep * slope)
    return _exactly(choices, np.floor(best_prices).astype(np.int64), starts.tolist())


def _exactly(choices: _Choices, prices: Ints, starts: list[int]) -> int:
    listed = prices.tolist()
    priced = list(choices.units)
    for row, choice, factor in choices.entries:
        if listed[row]:
            priced[choice] += factor * listed[row]
    total = -sum(price * limit for price, limit in zip(listed, choices.limits))
    for a, b in zip(starts, [*starts[1:], len(priced)]):
        total += min(priced[a:b])
    return total
