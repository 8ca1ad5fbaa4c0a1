"""Taking out choices that no plan as cheap as the one in hand can make.

The bound by prices says what every plan costs at the least in which a job begins in one way at one start, or is left.
Where that lies above the cost of a known plan, the choice can go; where leaving does, the job must be done. What is left
is the same problem for whoever looks for something cheaper, only smaller.
"""

from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from scheduling.solver.board import Board, Job, Options, Way
from scheduling.solver.lagrange import NEVER, Chains, Priced
from scheduling.solver.schedule import Place
from scheduling.solver.timeline import Ints


@dataclass(slots=True)
class Spare:
    """How far each choice lies above its chain's cheapest: by row and column, and by job when it is left."""

    cells: Ints
    left: list[int]


def spare_of(chains: Chains, prices: Ints) -> Spare:
    """Return what each choice costs on top of the bound at these prices."""
    cells, _, onward = chains.solve(prices)
    width = len(chains.columns)
    flat = onward.ravel()
    count = len(chains.line)
    outside: Ints = np.full((count, width), NEVER, dtype=np.int64)
    left = [NEVER] * count
    for number, parent in enumerate(chains.parent):
        if parent is None:
            at = chains.at[number]
            # Its chain's cheapest is the bound's share: what lies above it is on top.
            outside[at] = -onward[at, 0]
            left[number] = chains.leave[number] - int(onward[at, 0])
    for at in reversed(range(count)):
        number = chains.line[at]
        first, last = chains.first_row[at], chains.last_row(at + 1)
        for child, gap in chains.children[number]:
            to, by = chains.at[child], chains.link(first, last, gap)
            whole = np.minimum(cells[first:last], NEVER) + outside[at]
            rest = np.where(cells[first:last] >= NEVER, NEVER, whole - flat[to * (width + 1) + by])
            best: Ints = np.full(width + 1, NEVER, dtype=np.int64)
            np.minimum.at(best, by.ravel(), rest.ravel())
            outside[to] = np.minimum.accumulate(best)[:width]
            left[child] = min(left[number], int(best.min()) + chains.leave[child])
    for at in range(count):
        first, last = chains.first_row[at], chains.last_row(at + 1)
        out = (cells[first:last] >= NEVER) | (outside[at] >= NEVER)
        cells[first:last] = np.where(out, NEVER, cells[first:last] + outside[at])
    return Spare(cells, left)


class Follow:
    """Which task may come right after another in a resource's row, by what both would cost on top of the bound."""

    def __init__(self, board: Board, chains: Chains, spare: Spare, room: int) -> None:
        self.board, self.chains, self.spare, self.room = board, chains, spare, room
        self.root = list(range(len(board.jobs)))
        for number in board.order:
            parent = chains.parent[number]
            if parent is not None:
                self.root[number] = self.root[parent[0]]
        self.starting: dict[int, Ints] = {}
        self.ending: dict[int, tuple[Ints, Ints]] = {}

    def can(
        self, number: int, one: int, other: int, units: int, minutes: int, before: int, setup: int
    ) -> bool:
        """Whether one job can come right before another, with a trip and change of so many units and minutes.

        `before` and `setup` are the setups of the two.
        """
        extra = units - self.chains.arrivals[other][number, setup]
        ends, ahead = self._ending(one)
        at = np.searchsorted(self.chains.columns, -(-(ends + minutes) // self.chains.step))
        after = self._starting(other)[at]
        both = ahead + after if self.root[one] != self.root[other] else np.maximum(ahead, after)
        return int(both.min(initial=NEVER)) + extra <= self.room

    def _rows(self, number: int) -> Ints:
        at = self.chains.at[number]
        return self.spare.cells[self.chains.first_row[at] : self.chains.last_row(at + 1)]

    def _starting(self, number: int) -> Ints:
        """Return by column what the job costs on top if it starts there or later."""
        if number not in self.starting:
            best = np.append(self._rows(number).min(axis=0), NEVER)
            self.starting[number] = np.minimum.accumulate(best[::-1])[::-1]
        return self.starting[number]

    def _ending(self, number: int) -> tuple[Ints, Ints]:
        """Return ends in ascending order, and what the job costs on top if it has ended by then."""
        if number not in self.ending:
            at = self.chains.at[number]
            cells = self._rows(number).ravel()
            ends = self.chains.ends[self.chains.first_row[at] : self.chains.last_row(at + 1)].ravel()
            ends, cells = ends[cells <= self.room], cells[cells <= self.room]
            order = np.argsort(ends, kind="stable")
            self.ending[number] = ends[order], cells[order]
        return self.ending[number]


def trimmed(board: Board, priced: Priced, incumbent_units: int) -> tuple[Board, "Follow"]:
    """Return the board without the starts, ways and leavings that cost more than the incumbent by the bound.

    With it comes what may follow what in a resource's row.
    """
    chains = priced.chains
    spare = spare_of(chains, priced.prices)
    room = incumbent_units - priced.units
    cache: dict[tuple[int, int], Options] = {}
    like: dict[tuple[int, bytes], Options] = {}
    jobs = []
    for job in board.jobs:
        ways = []
        for way in job.ways:
            row = chains.row_of[id(way)]
            on_top = chains.units_of[id(way)] - chains.rows[row].units
            key = (row, on_top)
            if key not in cache:
                starts = np.array(way.options.starts, dtype=np.int64)
                columns = chains.column_of(starts)
                keep = (columns >= 0) & (spare.cells[row, columns] <= room - on_top)
                # Alike ways keep one set of starts between them, or they would not be alike any more.
                name = (id(way.options), keep.tobytes())
                if name not in like:
                    like[name] = _kept(way.options, keep)
                cache[key] = like[name]
            if cache[key].starts:
                ways.append(_with(way, cache[key]))
        ways.sort(key=lambda way: way.least_units)
        must = job.left_units is not None and spare.left[job.number] > room and bool(ways)
        jobs.append(replace(job, ways=ways, left_units=None if must else job.left_units))
    return board.with_jobs(jobs), Follow(board, chains, spare, room)


def _kept(options: Options, keep: npt.NDArray[np.bool_]) -> Options:
    columns = (np.array(column, dtype=np.int64) for column in (options.starts, options.ends, options.units))
    starts, ends, units = (column[keep] for column in columns)
    return Options(starts, ends, units)


def _with(way: Way, options: Options) -> Way:
    least = way.base_units + options.units[options.cheapest_from[0]]
    return replace(way, options=options, least_units=least)


def restricted(board: Board, starts_of: Callable[[Way], set[int]], may_be_left: Sequence[bool]) -> Board:
    """Return the board with only some of the starts of each way, and with what must not be left."""
    like: dict[tuple[int, bytes], Options] = {}
    jobs = []
    for job in board.jobs:
        ways = []
        for way in job.ways:
            starts = starts_of(way)
            keep = np.array([start in starts for start in way.options.starts], dtype=np.bool_)
            if keep.any():
                # Alike ways keep one set of starts between them, or they would not be alike any more.
                name = (id(way.options), keep.tobytes())
                if name not in like:
                    like[name] = _kept(way.options, keep)
                ways.append(_with(way, like[name]))
        ways.sort(key=lambda way: way.least_units)
        left = job.left_units if may_be_left[job.number] else None
        jobs.append(replace(job, ways=ways, left_units=left))
    return board.with_jobs(jobs)


def translated(places: Sequence[Place | None], board: Board) -> list[Place | None] | None:
    """Return the same places in the ways of another board of the same problem, None when one is not there."""
    found: list[Place | None] = []
    for number, place in enumerate(places):
        there = None if place is None else _there(board.jobs[number], place)
        if place is not None and there is None:
            return None
        found.append(there)
    return found


def _there(job: Job, place: Place) -> Place | None:
    for way in job.ways:
        if way.mode is place.way.mode:
            at = bisect_left(way.options.starts, place.start)
            if at < len(way.options.starts) and way.options.starts[at] == place.start:
                return Place(way, at)
    return None
