"""A lower bound by prices on the hours of resources.

The problem is relaxed to what each field's chain of jobs would cost on its own: every job in any of its ways at any of
its starts, or left with all that wait for it, each after the one it waits for, and whoever does it got there from
somewhere. What ties the chains together are the resources: of a group of n, no more than n may be held at any time.
Every price put on the holding of a group at its points in time, 0 or more, gives a lower bound: the cheapest chains at
these prices, less what n of each group would earn at every point. The prices are improved step by step in floats; the
bound is then worked out in whole numbers from the rounded prices, so it is exact.
"""

from bisect import bisect_left
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from scheduling.solver.arrivals import arrivals_of, ways_in_of
from scheduling.solver.board import Board, Way
from scheduling.solver.bounds import heads, tails
from scheduling.solver.symmetry import classes_of
from scheduling.solver.timeline import Ints

Floats = npt.NDArray[np.float64]
Number = TypeVar("Number", np.int64, np.float64)
NEVER = 2**59
MOST_UNITS = 2**57
MOST_CELLS = 6_000_000
POINTS_A_STEP = 3
LAST_PACE, INERTIA = 1e-4, 0.9
Pace = tuple[float, float, int]
# How large the first steps of the prices are, and by what they shrink after how many that raised the bound no more. By
# trial on farms of 5 to 60 fields, the one raises the bound higher in 250 steps, the other in the first 60.
SURELY: Pace = (0.5, 0.7, 10)
QUICKLY: Pace = (0.15, 0.5, 3)


@dataclass(slots=True)
class _Row:
    """A job in those of its ways that use the same groups at the same starts; `units` are the least of them."""

    job: int
    pattern: int
    way: Way
    units: int


class Chains:
    """The relaxed problem, laid out as one table: a line for each row, a column for each start on the step."""

    def __init__(self, board: Board, groups: list[list[int]]) -> None:
        self.board, self.groups = board, groups
        self.step = board.problem.step
        self.soonest, self.latest = heads(board), tails(board)
        self._forest()
        self._rows()
        self._columns()

    def _forest(self) -> None:
        """Let each job hang on one of those that it waits for: the one that lets it start last."""
        jobs = self.board.jobs
        self.parent: list[tuple[int, int] | None] = []
        for job in jobs:
            by = max(
                job.before, key=lambda before: (self.soonest[before[0]] + before[1], before[0]), default=None
            )
            self.parent.append(None if by is None else (by[0], by[1]))
        self.children: list[list[tuple[int, int]]] = [[] for _ in jobs]
        for number, parent in enumerate(self.parent):
            if parent is not None:
                self.children[parent[0]].append((number, parent[1]))
        height = [0] * len(jobs)
        self.leave = [min(NEVER, NEVER if job.left_units is None else job.left_units) for job in jobs]
        for number in reversed(self.board.order):
            for child, _ in self.children[number]:
                height[number] = max(height[number], height[child] + 1)
                self.leave[number] = min(NEVER, self.leave[number] + self.leave[child])
        # Jobs stand in the table by height, so that whatever waits for a job is worked out before it.
        self.line = sorted(range(len(jobs)), key=lambda number: (height[number], number))
        self.at = [0] * len(jobs)
        for position, number in enumerate(self.line):
            self.at[number] = position
        self.levels: list[tuple[int, int]] = []
        begin = 0
        for position in range(1, len(jobs) + 1):
            if position == len(jobs) or height[self.line[position]] != height[self.line[begin]]:
                self.levels.append((begin, position))
                begin = position

    def _rows(self) -> None:
        board = self.board
        group_no = {number: i for i, members in enumerate(self.groups) for number in members}
        self.arrivals, ways_in = arrivals_of(board), ways_in_of(board)
        patterns: dict[tuple[tuple[int, int], ...], int] = {}
        self.rows: list[_Row] = []
        self.first_row: list[int] = []
        self.row_of: dict[int, int] = {}  # by the id of a way
        self.units_of: dict[int, int] = {}
        for number in self.line:
            self.first_row.append(len(self.rows))
            found: dict[tuple[int, int], int] = {}
            shifts: dict[int, int] = {}
            for r, minutes in ways_in[number].items():
                points = minutes * POINTS_A_STEP // self.step
                shifts[group_no.get(r, -1)] = min(points, shifts.get(group_no.get(r, -1), points))
            for way in board.jobs[number].ways:
                groups_used = (group_no[r] for r in way.resources if r in group_no)
                used = tuple(sorted((group, shifts[group]) for group in groups_used))
                key = (patterns.setdefault(used, len(patterns)), id(way.options))
                units = way.base_units + self._arrival(way)
                if key not in found:
                    found[key] = len(self.rows)
                    self.rows.append(_Row(number, key[0], way, units))
                row = self.rows[found[key]]
                row.units = min(row.units, units)
                self.units_of[id(way)] = units
                self.row_of[id(way)] = found[key]
            if not found:
                # A job that no way can do has one row, all of it out of reach.
                self.rows.append(_Row(number, patterns.setdefault((), len(patterns)), _NO_WAY, 0))
        self.patterns = list(patterns)

    def _arrival(self, way: Way) -> int:
        found, roads = self.arrivals[way.job], self.board.roads
        return sum(found[r, way.setup if roads[r].changes else -1] for r in way.resources)

    def _columns(self) -> None:
        step, horizon = self.step, self.board.horizon
        spans: dict[tuple[int, int, int], tuple[int, int]] = {}
        used: set[int] = set()
        for row in self.rows:
            starts = row.way.options.starts if row.way is not _NO_WAY else []
            key = (id(row.way), self.soonest[row.job], self.latest[row.job])
            low = bisect_left(starts, self.soonest[row.job])
            spans[key] = low, max(low, bisect_left(starts, self.latest[row.job] + 1))
            used.update(-(-start // step) for start in starts[low : spans[key][1]])
        self.columns = np.array(sorted(used), dtype=np.int64)
        size = (len(self.rows), len(self.columns))
        self.units: Ints = np.full(size, NEVER, dtype=np.int64)
        self.ends: Ints = np.full(size, horizon, dtype=np.int64)
        for i, row in enumerate(self.rows):
            low, high = spans[id(row.way), self.soonest[row.job], self.latest[row.job]]
            if low < high:
                options = row.way.options
                begins = np.array(options.starts[low:high], dtype=np.int64)
                where = np.searchsorted(self.columns, -(-begins // step))
                self.units[i, where] = row.units + np.array(options.units[low:high], dtype=np.int64)
                self.ends[i, where] = options.ends[low:high]
        width = len(self.columns)
        # Some points lie on the step: of two holds that overlap, the later begins on such a point inside the other.
        self.points = -(-horizon * POINTS_A_STEP // step) + 2
        self.from_point = self.columns * POINTS_A_STEP
        self.to_point = -(-self.ends * POINTS_A_STEP // step)
        self._lay_slots()
        self.links: list[list[tuple[Ints, Ints]]] = []
        for begin, end in self.levels:
            first, last = self.first_row[begin], self.last_row(end)
            slots: list[tuple[list[int], list[Ints]]] = []
            for i in range(first, last):
                for slot, (child, gap) in enumerate(self.children[self.rows[i].job]):
                    if slot == len(slots):
                        slots.append(([], []))
                    slots[slot][0].append(i - first)
                    slots[slot][1].append(self.at[child] * (width + 1) + self.link(i, i + 1, gap)[0])
            self.links.append([(np.array(rows), np.array(links)) for rows, links in slots])
        self.leave_line: Ints = np.array([self.leave[number] for number in self.line], dtype=np.int64)

    def link(self, first: int, last: int, gap: int) -> Ints:
        """Return for the cells of some rows the first column that lies a gap behind their end."""
        return np.searchsorted(self.columns, -(-(self.ends[first:last] + gap) // self.step))

    def column_of(self, starts: Ints) -> Ints:
        """Return the column of each start, -1 for one that is in none."""
        wanted = -(-starts // self.step)
        at = np.minimum(np.searchsorted(self.columns, wanted), len(self.columns) - 1)
        return np.where(self.columns[at] == wanted, at, -1)

    def last_row(self, end: int) -> int:
        return self.first_row[end] if end < len(self.line) else len(self.rows)

    @property
    def fits(self) -> bool:
        """Whether whole numbers of the machine's size hold every sum."""
        most = int(self.units[self.units < NEVER].max(initial=0))
        left = max((leave for leave in self.leave if leave < NEVER), default=0)
        return (most + left) * (len(self.line) + 1) < MOST_UNITS

    def _lay_slots(self) -> None:
        """Lay out, slot by slot, the group that each row uses with its way in; what has no group is free."""
        self.begins = sorted({pair for used in self.patterns for pair in used})
        number_of = {pair: i for i, pair in enumerate(self.begins)}
        none = len(self.groups), len(self.begins)
        self.slots: list[tuple[Ints, Ints]] = []
        for slot in range(max(map(len, self.patterns), default=0)):
            pairs = []
            for row in self.rows:
                used = self.patterns[row.pattern]
                pairs.append((used[slot][0], number_of[used[slot]]) if slot < len(used) else none)
            groups, begins = (np.array(column, dtype=np.int64) for column in zip(*pairs))
            self.slots.append((groups[:, None] * self.points, begins))

    def _held(self, prices: npt.NDArray[Number]) -> npt.NDArray[Number]:
        """Return for each row and start what holding its groups, with the way in, costs at these prices."""
        sums = np.zeros((len(self.groups) + 1, self.points), dtype=prices.dtype)
        np.cumsum(prices[:, : self.points - 1], axis=1, out=sums[:-1, 1:])
        before = np.zeros((len(self.begins) + 1, len(self.columns)), dtype=prices.dtype)
        for i, (group, way_in) in enumerate(self.begins):
            before[i] = sums[group, np.maximum(0, self.from_point - way_in)]
        found = np.zeros(self.units.shape, dtype=prices.dtype)
        # One pair of tables serves all slots: fresh memory for each would take longer than the sums.
        where, part = np.empty_like(self.to_point), np.empty_like(found)
        for groups, begins in self.slots:
            np.add(self.to_point, groups, out=where)
            found += sums.ravel().take(where, out=part, mode="clip")
            found -= before.take(begins, axis=0, out=part, mode="clip")
        return found

    def solve(
        self, prices: npt.NDArray[Number]
    ) -> tuple[npt.NDArray[Number], npt.NDArray[Number], npt.NDArray[Number]]:
        """Return (cells, cheapest of each job by column, cheapest from each column on) at these prices.

        The cells hold for each row and start what the job and all that hang on it cost at the least.
        """
        cells = self._held(prices)
        cells += self.units
        width = len(self.columns)
        best = np.empty((len(self.line), width), dtype=cells.dtype)
        onward = np.empty((len(self.line), width + 1), dtype=cells.dtype)
        onward[:, width] = self.leave_line
        flat = onward.ravel()
        for (begin, end), links in zip(self.levels, self.links):
            first, last = self.first_row[begin], self.last_row(end)
            part = cells[first:last]
            for rows, there in links:
                part[rows] += flat[there]
            np.minimum(part, NEVER, out=part)
            at = np.array(self.first_row[begin:end]) - first
            best[begin:end] = np.minimum.reduceat(part, at, axis=0)
            rest = np.minimum.accumulate(best[begin:end, ::-1], axis=1)[:, ::-1]
            onward[begin:end, :width] = np.minimum(rest, self.leave_line[begin:end, None])
        return cells, best, onward

    def total(self, onward: npt.NDArray[Number]) -> npt.NDArray[Number]:
        """Return what each chain costs at the least, of jobs that wait for nobody."""
        roots = [self.at[number] for number, parent in enumerate(self.parent) if parent is None]
        return onward[roots, 0]

    def picked(self, cells: Floats, best: Floats, onward: Floats) -> tuple[list[int], list[int]]:
        """Return (rows, columns) of a cheapest choice of all chains; what is left has none."""
        rows, columns = [], []
        waiting = [(number, 0) for number, parent in enumerate(self.parent) if parent is None]
        while waiting:
            number, low = waiting.pop()
            at = self.at[number]
            if low >= len(self.columns) or onward[at, low] >= self.leave[number]:
                continue
            column = low + int(best[at, low:].argmin())
            first, last = self.first_row[at], self.last_row(at + 1)
            row = first + int(cells[first:last, column].argmin())
            rows.append(row)
            columns.append(column)
            for child, gap in self.children[number]:
                by = -(-(int(self.ends[row, column]) + gap) // self.step)
                waiting.append((child, int(np.searchsorted(self.columns, by))))
        return rows, columns

    def use(self, rows: list[int], columns: list[int]) -> Floats:
        """Return how many of each group a choice holds at each point."""
        found = np.zeros((len(self.groups), self.points), dtype=np.float64)
        for row, column in zip(rows, columns):
            for group, way_in in self.patterns[self.rows[row].pattern]:
                found[group, max(0, self.from_point[column] - way_in)] += 1
                found[group, self.to_point[row, column]] -= 1
        return np.cumsum(found, axis=1)


_NO_WAY: Way = None  # type: ignore[assignment]


@dataclass(slots=True)
class Priced:
    """The prices found, rounded, and the bound that they prove."""

    chains: Chains
    prices: Ints
    units: int


def scarce_groups(board: Board, *, is_fine: bool) -> list[list[int]]:
    """Return the groups of resources that may run short: alike ones, or (coarser) all that get about alike."""
    users: list[set[int]] = [set() for _ in board.roads]
    for job in board.jobs:
        for way in job.ways:
            for number in way.resources:
                users[number].add(job.number)
    if is_fine:
        groups = classes_of(board)
    else:
        work = [frozenset(board.jobs[number].task.operation for number in found) for found in users]
        by: dict[tuple[object, ...], list[int]] = {}
        for number, road in enumerate(board.roads):
            kind = board.problem.resources[number].kind
            key = (
                kind,
                work[number],
                id(road.clock),
                id(road.minutes),
                road.units_per_minute,
                board.calendar_no[number],
            )
            by.setdefault(key, []).append(number)
        groups = list(by.values())
    return [group for group in groups if _can_run_short(board, set().union(*(users[n] for n in group)))]


def _can_run_short(board: Board, jobs: set[int]) -> bool:
    """Whether not all of the jobs come one after the other in any case."""
    line = [number for number in board.order if number in jobs]
    return any(all(ahead != a for ahead, _, _ in board.jobs[b].before) for a, b in pairwise(line))


def priced(
    board: Board,
    groups: list[list[int]],
    incumbent_units: int,
    *,
    steps: int,
    pace: Pace = SURELY,
    begin: "Priced | None" = None,
    is_over: Callable[[], bool] = lambda: False,
) -> Priced | None:
    """Return the best prices found in so many steps, None when the problem is too large or has too large numbers.

    `begin` has prices of the same board by other groups to go on from.
    """
    if not board.jobs or cells_of(board, groups) > MOST_CELLS:
        return None
    chains = Chains(board, groups)
    if not len(chains.columns) or not chains.fits:
        return None
    counts = np.array([len(group) for group in groups], dtype=np.float64)[:, None]
    prices = np.zeros((len(groups), chains.points))
    if begin is not None:
        at = {number: i for i, members in enumerate(begin.chains.groups) for number in members}
        for i, members in enumerate(groups):
            if members[0] in at:
                prices[i] = begin.prices[at[members[0]]]
    toward = np.zeros_like(prices)
    stride, slower, patience = pace
    best_prices, best, since = prices, -np.inf, 0
    for _ in range(steps):
        cells, cheapest, onward = chains.solve(prices)
        bound = float(chains.total(onward).sum() - (counts * prices).sum())
        if bound > best:
            since = 0 if bound > best + 1e-5 * abs(best) else since + 1
            best, best_prices = bound, prices
        else:
            since += 1
        if since >= patience:
            stride, since = stride * slower, 0
            if stride < LAST_PACE:
                break
            if bound < best:
                prices = best_prices
                toward = np.zeros_like(prices)
                continue
        slope = chains.use(*chains.picked(cells, cheapest, onward)) - counts
        toward = slope + INERTIA * toward
        toward = np.where((prices <= 0) & (toward < 0), 0.0, toward)
        steep = float((toward * toward).sum())
        if steep < 1e-9 or incumbent_units - bound <= 0 or is_over():
            break
        prices = np.maximum(0.0, prices + stride * (incumbent_units - bound) / steep * toward)
    whole = np.floor(best_prices).astype(np.int64)
    return Priced(chains, whole, exact_bound(chains, whole))


def cells_of(board: Board, groups: list[list[int]]) -> int:
    """Return about how many cells the table has with these groups."""
    group_no = {number: i for i, members in enumerate(groups) for number in members}
    rows = sum(
        len(
            {(id(way.options), tuple(sorted(group_no.get(r, -1) for r in way.resources))) for way in job.ways}
        )
        for job in board.jobs
    )
    return rows * (board.horizon // board.problem.step + 1)


def exact_bound(chains: Chains, prices: Ints) -> int:
    """Return the bound of whole prices, in whole numbers."""
    earned = sum(len(group) * int(row.sum()) for group, row in zip(chains.groups, prices))
    return sum(chains.total(chains.solve(prices)[2]).tolist()) - earned
