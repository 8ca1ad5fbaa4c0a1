"""Routes in time and place: the problem as networks that are tied together only by what is done when.

A choice is a job in one of its ways (alike ones as one) at one start. Each chain of jobs is a network in time that its
choices lead through; each class of alike resources is one in time and place (and setup), from home on: waiting, trips
with their changes, and the choices that hold it. Whatever potentials the nodes of the resources have, 0 or more, they
price the choices; the cheapest chains at these prices, less what the members of each class bring with them, is a lower
bound, in whole numbers. Every plan costs the bound and on top of it what each choice and trip it makes stands above the
cheapest, so that dear ones can go.

Rules that the networks do not know, as the most minutes of a gap, only make plans dearer.
"""

from bisect import bisect_left
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from scheduling.solver.board import Board, Way
from scheduling.solver.bounds import heads, tails
from scheduling.solver.layout import Layout, all_ahead, has_row
from scheduling.solver.timeline import Ints

Bools = npt.NDArray[np.bool_]
State = tuple[int, int]  # place and setup
NEVER = 2**59
MOST_UNITS = 2**57


@dataclass(slots=True)
class Net:
    """The network of one class: its arcs without choices, and for choices that use it the nodes that they lie between.

    Nodes below `ready` are where a resource stands ready for a start; the others are where a choice, or home, lets go.
    """

    members: list[int]
    nodes: int
    ready: int
    tail: Ints
    head: Ints
    units: Ints
    choices: Ints
    begin: Ints
    end: Ints
    count: Ints

    @property
    def home(self) -> int:
        return self.nodes - 1


@dataclass(slots=True)
class Open:
    """What is still allowed: choices, the arcs of each net, and by job whether it may be left."""

    choices: Bools
    arcs: list[Bools]
    left: list[bool]

    def copy(self) -> "Open":
        return Open(self.choices.copy(), [arcs.copy() for arcs in self.arcs], list(self.left))


@dataclass(slots=True)
class Judged:
    """What potentials prove: `units` for every plan, and how far above it each choice, arc and leaving lies."""

    units: int
    choices: Ints
    arcs: list[Ints]
    left: list[int]
    potentials: list[Ints]


class Routes:
    """The networks of a board."""

    def __init__(self, board: Board) -> None:
        self.board = board
        self.layout = Layout(board)
        self.ahead = all_ahead(board)
        self._lay_choices()
        self._lay_forest()
        self.rank = {number: i for i, number in enumerate(board.order)}
        self.nets = [net for no in range(len(self.layout.classes)) if (net := self._net(no)) is not None]

    def _lay_choices(self) -> None:
        board = self.board
        soonest, latest = heads(board), tails(board)
        self.kinds: list[tuple[int, tuple[int, ...], Way]] = []  # job, classes, one of the alike ways
        self.kind_of: dict[tuple[int, object], int] = {}
        self.span: list[tuple[int, int]] = []
        columns: list[tuple[int, int, int, int]] = []
        for job in board.jobs:
            first = len(columns)
            for way in job.ways:
                key = self.layout.key(way)
                if (job.number, key) in self.kind_of:
                    continue
                kind = self.kind_of[job.number, key] = len(self.kinds)
                self.kinds.append((job.number, key[0], way))
                low = bisect_left(way.options.starts, soonest[job.number])
                high = bisect_left(way.options.starts, latest[job.number] + 1)
                options = way.options
                columns += (
                    (kind, options.starts[i], options.ends[i], way.base_units + options.units[i])
                    for i in range(low, high)
                )
            self.span.append((first, len(columns)))
        table = np.array(columns, dtype=np.int64).reshape(-1, 4)
        self.kind, self.start, self.end, self.units = (np.ascontiguousarray(table[:, i]) for i in range(4))
        self.job: Ints = np.array([kind[0] for kind in self.kinds], dtype=np.int64)[self.kind]
        self.starts = [np.unique(self.start[a:z]) for a, z in self.span]

    def _lay_forest(self) -> None:
        """Let each job hang on one of those that it waits for: the one that lets it start last."""
        jobs, soonest = self.board.jobs, heads(self.board)
        self.parent: list[tuple[int, int] | None] = []
        self.children: list[list[tuple[int, int]]] = [[] for _ in jobs]
        self.root = list(range(len(jobs)))
        for job in jobs:
            by = max(job.before, key=lambda one: (soonest[one[0]] + one[1], one[0]), default=None)
            self.parent.append(None if by is None else (by[0], by[1]))
            if by is not None:
                self.children[by[0]].append((job.number, by[1]))
        for number in self.board.order:
            parent = self.parent[number]
            if parent is not None:
                self.root[number] = self.root[parent[0]]

    def _net(self, class_no: int) -> Net | None:
        """Return the network of a class, None where it never matters who uses it when."""
        counts: Ints = np.array([classes.count(class_no) for _, classes, _ in self.kinds], dtype=np.int64)
        used = np.nonzero(counts[self.kind])[0]
        if not len(used):
            return None
        members = self.layout.classes[class_no]
        laying = _Laying(self, members, used)
        if not has_row(self.board, members[0]) and all(laying.has_levels.values()):
            return None  # one after the other in any case, without a way between them
        return laying.net(counts[self.kind[used]])

    @property
    def fits(self) -> bool:
        """Whether whole numbers of the machine's size hold every sum."""
        left = max((job.left_units or 0 for job in self.board.jobs), default=0)
        road = max((int(net.units.max(initial=0)) for net in self.nets), default=0)
        most = int(self.units.max(initial=0)) + left + road * len(self.nets)
        return most * (len(self.board.jobs) + 1) < MOST_UNITS

    def everything(self) -> Open:
        arcs = [np.ones(len(net.tail), dtype=np.bool_) for net in self.nets]
        left = [job.left_units is not None for job in self.board.jobs]
        return Open(np.ones(len(self.job), dtype=np.bool_), arcs, left)

    def leave_units(self, open_: Open) -> list[int]:
        """Return for each job what it costs to leave it and all that hang on it; NEVER where that is not allowed."""
        found = [NEVER] * len(self.board.jobs)
        for number in reversed(self.board.order):
            job = self.board.jobs[number]
            if job.left_units is not None and open_.left[number]:
                found[number] = min(
                    NEVER, job.left_units + sum(found[child] for child, _ in self.children[number])
                )
        return found

    def judge(self, open_: Open, wanted: list[Ints]) -> Judged:
        """Return what potentials near the wanted ones prove of the plans that are still allowed."""
        potentials = [_feasible(net, arcs, near) for net, arcs, near in zip(self.nets, open_.arcs, wanted)]
        own = self.units.copy()
        total = 0
        for net, at in zip(self.nets, potentials):
            own[net.choices] += net.count * (at[net.begin] - at[net.end])
            total -= len(net.members) * int(at[net.home])
        own[~open_.choices] = NEVER
        leave = self.leave_units(open_)
        onward: dict[int, Ints] = {}
        for number in reversed(self.board.order):
            a, z = self.span[number]
            for child, gap in self.children[number]:
                own[a:z] += onward[child][np.searchsorted(self.starts[child], self.end[a:z] + gap)]
            np.minimum(own[a:z], NEVER, out=own[a:z])
            best: Ints = np.full(len(self.starts[number]) + 1, leave[number], dtype=np.int64)
            np.minimum.at(best, np.searchsorted(self.starts[number], self.start[a:z]), own[a:z])
            onward[number] = np.minimum.accumulate(best[::-1])[::-1]
            if self.parent[number] is None:
                total += int(onward[number][0])
        left = self._spread(own, onward, leave)
        arcs = [
            np.where(allowed, net.units + at[net.tail] - at[net.head], NEVER)
            for net, allowed, at in zip(self.nets, open_.arcs, potentials)
        ]
        return Judged(total, own, arcs, left, potentials)

    def _spread(self, own: Ints, onward: dict[int, Ints], leave: list[int]) -> list[int]:
        """Turn what each choice costs with all that hangs on it into what it lies above its chain's cheapest.

        Returns the same for leaving.
        """
        outside: dict[int, Ints] = {}
        left = [NEVER] * len(self.starts)
        for number in self.board.order:
            a, z = self.span[number]
            if self.parent[number] is None:
                cheapest = int(onward[number][0])
                outside[number] = np.full(len(self.starts[number]) + 1, -cheapest, dtype=np.int64)
                left[number] = leave[number] - cheapest
            around = outside[number][np.searchsorted(self.starts[number], self.start[a:z])]
            own[a:z] = np.where((own[a:z] >= NEVER) | (around >= NEVER), NEVER, own[a:z] + around)
            for child, gap in self.children[number]:
                to = np.searchsorted(self.starts[child], self.end[a:z] + gap)
                rest = np.where(own[a:z] >= NEVER, NEVER, own[a:z] - onward[child][to])
                best: Ints = np.full(len(self.starts[child]) + 1, NEVER, dtype=np.int64)
                np.minimum.at(best, to, rest)
                outside[child] = np.minimum.accumulate(best)
                left[child] = min(left[number], int(best.min()) + leave[child])
        return left

    def narrowed(self, open_: Open, judged: Judged, room: int) -> Open:
        """Return what is left of what is allowed when nothing may lie more than `room` above the bound."""
        choices = open_.choices & (judged.choices <= room)
        arcs = [allowed & (above <= room) for allowed, above in zip(open_.arcs, judged.arcs)]
        left = [may and above <= room for may, above in zip(open_.left, judged.left)]
        return Open(choices, arcs, left)


def choices_of(board: Board) -> int:
    """Return how many choices the networks of a board have at the most."""
    layout = Layout(board)
    return sum(
        len(starts)
        for job in board.jobs
        for starts in {layout.key(way): way.options.starts for way in job.ways}.values()
    )


def _feasible(net: Net, arcs: Bools, wanted: Ints) -> Ints:
    """Return potentials like the wanted ones, but such that no open arc earns anything."""
    at = np.maximum(0, wanted)
    at[net.ready :] = 0
    waits = (net.tail < net.ready) & arcs
    # Waits lead from lower to higher numbers only where the time of a level goes on: sweep until nothing moves.
    tail, head = net.tail[waits], net.head[waits]
    while True:
        short = at[tail] < at[head]
        if not short.any():
            break
        np.maximum.at(at, tail[short], at[head[short]])
    trips = (net.tail >= net.ready) & arcs
    np.maximum.at(at, net.tail[trips], at[net.head[trips]] - net.units[trips])
    return at


class _Laying:
    """Lays out the network of one class.

    Where the jobs of a place come one after the other in any case, there is a level for each of them: whoever has done
    one stands ready only for those behind it.
    """

    def __init__(self, routes: Routes, members: list[int], used: Ints) -> None:
        self.routes, self.members, self.used = routes, members, used
        board = routes.board
        self.road = board.roads[members[0]]
        self.where: list[State] = []
        for number, _, way in routes.kinds:
            place = board.jobs[number].place if self.road.minutes is not None else 0
            self.where.append((place, way.setup if self.road.changes else -1))
        self.kind, self.job = routes.kind[used].tolist(), routes.job[used].tolist()
        self._lay_levels(set(self.job))
        self.arcs: list[tuple[int, int, int]] = []
        self.ready: dict[tuple[State, int], tuple[list[int], int]] = {}  # starts, and the node of the first
        self.levels: dict[State, list[int]] = {}
        self.nodes = 0

    def _lay_levels(self, jobs: Iterable[int]) -> None:
        routes = self.routes
        at_place: dict[int, list[int]] = {}
        for number in sorted(jobs, key=lambda number: routes.rank[number]):
            place = routes.board.jobs[number].place if self.road.minutes is not None else 0
            at_place.setdefault(place, []).append(number)
        self.level: dict[int, int] = {}
        self.has_levels: dict[int, bool] = {}
        for place, line in at_place.items():
            in_line = all(a in routes.ahead[b] for a, b in pairwise(line))
            self.has_levels[place] = in_line
            self.level |= {number: i if in_line else 0 for i, number in enumerate(line)}

    def net(self, count: Ints) -> Net:
        starts: dict[State, dict[int, set[int]]] = {}
        ends: set[tuple[State, int, int]] = set()
        start, end = self.routes.start[self.used].tolist(), self.routes.end[self.used].tolist()
        for i, kind in enumerate(self.kind):
            level = self.level[self.job[i]]
            starts.setdefault(self.where[kind], {}).setdefault(level, set()).add(start[i])
            ends.add((self.where[kind], level, end[i]))
        for state, by_level in starts.items():
            self._ready(state, by_level)
        first_free, like, free = self.nodes, {}, {}
        for state, level, minute in sorted(ends):
            found = self._onward(state, level, minute)
            # Ends from which the same starts are in reach are one node.
            if (state, found) not in like:
                like[state, found] = self.nodes
                self._free(found)
            free[state, level, minute] = like[state, found]
        self._free(self._onward((self.road.home, self.road.setup_now), None, 0))
        begin = [
            self._at(self.where[kind], self.level[self.job[i]], start[i]) for i, kind in enumerate(self.kind)
        ]
        stop = [free[self.where[kind], self.level[self.job[i]], end[i]] for i, kind in enumerate(self.kind)]
        tail, head, units = np.array(self.arcs, dtype=np.int64).reshape(-1, 3).T
        nodes = np.array([begin, stop], dtype=np.int64)
        return Net(
            self.members, self.nodes, first_free, tail, head, units, self.used, nodes[0], nodes[1], count
        )

    def _at(self, state: State, level: int, minute: int) -> int:
        minutes, first = self.ready[state, level]
        return first + bisect_left(minutes, minute)

    def _ready(self, state: State, by_level: dict[int, set[int]]) -> None:
        """Lay the nodes of a state: on each level the starts of its own and all higher ones, with the waits between."""
        self.levels[state] = sorted(by_level)
        so_far: set[int] = set()
        above: int | None = None
        for level in reversed(self.levels[state]):
            so_far |= by_level[level]
            minutes = sorted(so_far)
            self.ready[state, level] = minutes, self.nodes
            self.arcs += ((self.nodes + i, self.nodes + i + 1, 0) for i in range(len(minutes) - 1))
            if above is not None:
                for minute in self.ready[state, above][0]:
                    self.arcs.append((self._at(state, level, minute), self._at(state, above, minute), 0))
            self.nodes += len(minutes)
            above = level

    def _onward(self, state: State, level: int | None, minute: int) -> tuple[tuple[int, int], ...]:
        """Return (node, units) of what can be reached from a state in which a resource gets free; level None: at home."""
        road, found = self.road, []
        for to, levels in self.levels.items():
            needed = 0 if road.minutes is None else road.minutes[state[0]][to[0]]
            units = needed * road.units_per_minute
            if road.changes and 0 <= state[1] != to[1] >= 0:
                needed, units = needed + road.change_minutes, units + road.change_units
            is_here = level is not None and (road.minutes is None or state[0] == to[0])
            lowest = level + 1 if is_here and level is not None and self.has_levels[to[0]] else 0
            at = bisect_left(levels, lowest)
            arrival = road.clock.reach(minute, needed)
            if at == len(levels) or arrival is None:
                continue
            minutes, first = self.ready[to, levels[at]]
            i = bisect_left(minutes, arrival)
            if i < len(minutes):
                found.append((first + i, units))
        return tuple(found)

    def _free(self, onward: tuple[tuple[int, int], ...]) -> None:
        self.arcs += ((self.nodes, node, units) for node, units in onward)
        self.nodes += 1
