"""A board laid out as flat lists of whole numbers, the way `kernel` reads them."""

import math
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from scheduling.solver import compiled
from scheduling.solver import kernel as k
from scheduling.solver.board import Board, Road, Way
from scheduling.solver.schedule import Place
from scheduling.solver.timeline import Clock

NEAREST = 40
# A way is overlooked each so many ways on average. By trial, two of the left tried beside what is freed found plans as
# cheap by rounds as four did, in a seventh less time; one alone dearer plans.
MOST_FREED, MOST_LEFT_TRIED, BLINK = 6, 2, 64
MUST_LEFT_TRIED, BUMP_SHIFT = 12, 5
# By trial on four farms of 30 fields, so many rounds in a hundred by prices made plans 1.2 % cheaper, 75 no cheaper.
PRICED_PERCENT = 50
# Sums of all costs, must-be-done penalties included, stay below this, so that no whole number runs over.
MOST_UNITS = 2**58
MOST_TABLED = 4_000_000
Columns = Any  # int64 arrays for the compiled functions, lists for the plain ones


class Flat:
    """The lists that no search changes: jobs, ways, starts, order, resources, roads, clocks."""

    def __init__(self, board: Board) -> None:
        self.board = board
        jobs = board.jobs
        self.ways: list[Way] = [way for job in jobs for way in job.ways]
        self.way_no = {id(way): number for number, way in enumerate(self.ways)}
        most = _most_units(board) + 1
        musts = sum(job.left_units is None for job in jobs)
        heaviest = most * (musts * (k.MOST_WEIGHT + 2) + 2)
        self.shift = max(0, heaviest.bit_length() - MOST_UNITS.bit_length())
        self.must_units = (most >> self.shift) + len(self.ways) + 1
        self.caps = [0] * len(board.roads)
        for job in jobs:
            for number in {number for way in job.ways for number in way.resources}:
                self.caps[number] += 1
        self.gaps = self.keys = 0
        self.clocks: list[int] = []
        self._starts()
        self._order()
        self._jobs()
        self._resources()
        low = [round(-1024 * math.log(1 - (i + 0.5) / 1024)) for i in range(1024)]
        wide = [round(1024 * 10 ** ((i - 511.5) / 512)) for i in range(1024)]
        self.T = np.array(low + wide, dtype=np.int64)

    def units(self, units: int) -> int:
        """Return units as the search counts them: the same, or a power of two to one where sums would run over."""
        return units >> self.shift

    def _starts(self) -> None:
        """Lay out all starts, once for ways that share them."""
        self.starts_at: dict[int, tuple[int, int, int]] = {}
        self.shortest: dict[int, int] = {}
        kinds = len({id(way.options) for way in self.ways})
        # Tables of the first start by time, one entry for so many minutes: a power of two, larger where they are many. One
        # for about four steps: to look at the next few starts takes less than to fetch what is not near at hand.
        self.time_shift = (self.board.problem.step - 1).bit_length() + 2
        while 2 * kinds * (self.board.horizon >> self.time_shift) > MOST_TABLED:
            self.time_shift += 1
        edges = np.arange((self.board.horizon >> self.time_shift) + 1, dtype=np.int64) << self.time_shift
        parts = []
        all_units: list[int] = []
        at = 0
        for way in self.ways:
            options = way.options
            if id(options) in self.starts_at:
                continue
            by_start = len(self.clocks)
            self.clocks += np.searchsorted(np.array(options.starts), edges, side="left").tolist()
            by_end = len(self.clocks)
            self.clocks += np.searchsorted(np.array(options.ends), edges, side="right").tolist()
            self.starts_at[id(options)] = (at, by_start, by_end)
            at += len(options.starts)
            units = [self.units(each) for each in options.units]
            self.shortest[id(options)] = min(end - start for start, end in zip(options.starts, options.ends))
            less = next_less(units)
            parts.append(np.array([options.starts, options.ends, less, less], dtype=np.int32).T)
            all_units += units
        self.E = np.concatenate(parts).ravel() if parts else np.zeros(k.E_SIZE, dtype=np.int32)
        self.starts = len(all_units)
        self.U = np.array([*all_units, *all_units, 0], dtype=np.int64)

    def _order(self) -> None:
        """Lay out what waits for what, then chains and neighbors; note where each begins."""
        board, jobs = self.board, self.board.jobs
        triples: list[int] = []
        self.spans: list[tuple[int, ...]] = []
        for job in jobs:
            begins = len(triples) // k.A_SIZE
            for other, least, most in job.before:
                triples += [other, least, -1 if most is None else most]
            between = len(triples) // k.A_SIZE
            for other, least, most in job.behind:
                triples += [other, least, -1 if most is None else most]
            self.spans.append((begins, between, between, len(triples) // k.A_SIZE))
        chain_at: dict[int, tuple[int, int]] = {}
        for chain in chains(board):
            for number in chain:
                chain_at[number] = (len(triples), len(triples) + len(chain))
            triples += chain
        self.lists: list[tuple[int, ...]] = []
        for number, near in enumerate(neighbors(board)):
            self.lists.append((*chain_at[number], len(triples), len(triples) + len(near)))
            triples += near
        self.A = np.array([*triples, 0], dtype=np.int32)

    def _jobs(self) -> None:
        board = self.board
        J = np.zeros((max(1, len(board.jobs)), k.J_SIZE), dtype=np.int64)
        W = np.zeros((max(1, len(self.ways)), k.W_SIZE), dtype=np.int64)
        V: list[int] = []
        w = 0
        for job in board.jobs:
            keys: dict[tuple[int, int], int] = {}
            pairs: dict[tuple[int, int], int] = {}
            fits: dict[tuple[int, int], int] = {}
            folds = 0
            first = w
            for way in job.ways:
                uses = len(V) // k.V_SIZE
                own = []
                for number in way.resources:
                    key = (number, way.setup if board.roads[number].changes else -1)
                    own.append(keys.setdefault(key, len(keys)))
                    V += [number, own[-1]]
                pair = pairs.setdefault((own[0], own[1]), len(pairs)) if len(own) > 2 else 0
                fit = fits.setdefault((own[-1], id(way.options)), len(fits)) if own else 0
                folds += sum(self.caps[number] + 1 for number in way.resources) * max(0, len(own) - 3)
                starts, by_start, by_end = self.starts_at[id(way.options)]
                W[w] = (
                    starts, len(way.options.starts), self.units(way.base_units), self.units(way.least_units),
                    uses, uses + len(own), way.setup, pair, fit, by_start,
                    by_end,
                )  # fmt: skip
                w += 1
            rows = {key: self.caps[number] + 1 for (number, _), key in keys.items()}
            gaps = sum(rows.values()) + sum(rows[one] + rows[other] for one, other in pairs) + folds + 2
            gaps += sum(rows[one] for one, _ in fits)
            self.gaps, self.keys = max(self.gaps, gaps), max(self.keys, len(keys) + len(pairs) + len(fits))
            task, far = job.task, 2 * board.horizon
            must = job.left_units is None
            due = min(far if task.due is None else task.due, far if task.latest is None else task.latest)
            left = self.must_units if job.left_units is None else self.units(job.left_units)
            least = self.units(job.ways[0].least_units) if job.ways else 0
            J[job.number] = (
                job.place, first, w, *self.spans[job.number], *self.lists[job.number], left, must, job.holds,
                job.pinned, due, task.late_cents_per_hour, least, len(keys), len(pairs), len(fits),
                min((self.shortest[id(way.options)] for way in job.ways), default=0),
                min((way.options.starts[0] for way in job.ways), default=0),
                max((way.options.ends[-1] for way in job.ways), default=0),
            )  # fmt: skip
        self.J, self.W = J.ravel(), W.ravel()
        self.V = np.array([*V, 0], dtype=np.int32)

    def _resources(self) -> None:
        board = self.board
        carried = {
            number for way in self.ways if way.setup < 0 for number in way.resources
        }  # a row in which some job leaves the setup as it was
        tables: dict[int, int] = {}
        clocks: dict[int, tuple[int, int, int]] = {}
        table_parts: list[int] = []
        R = np.zeros((max(1, len(board.roads)), k.R_SIZE), dtype=np.int64)
        row, far = 0, board.horizon + 1
        for number, road in enumerate(board.roads):
            if road.minutes is not None and id(road.minutes) not in tables:
                tables[id(road.minutes)] = len(table_parts)
                # What takes longer than all the time there is fits nowhere, however much longer it takes.
                table_parts += [min(minutes, far) for line in road.minutes for minutes in line]
            if id(road.clock) not in clocks:
                clocks[id(road.clock)] = _clock(road.clock, self.clocks)
            R[number] = (
                -1 if road.minutes is None else tables[id(road.minutes)], self.units(road.units_per_minute),
                road.change_minutes, self.units(road.change_units), road.home, road.setup_now,
                *clocks[id(road.clock)], road.changes, self._breaks(road, number in carried), row,
                road.clock.always,
            )  # fmt: skip
            row += k.S_HEAD + (self.caps[number] + 1) * k.S_SIZE
        self.R, self.row_size = R.ravel(), row
        self.D = np.array([*table_parts, 0], dtype=np.int32)
        self.C = np.array([*self.clocks, 0], dtype=np.int32)

    @staticmethod
    def _breaks(road: Road, carried: bool) -> bool:
        """Whether taking out a stop could break the row: roads with short cuts, or setups carried along."""
        return not road.metric or (road.changes and carried)


class State:
    """One search at work on a flat board, with lists of its own for all that changes.

    `columns` are the arguments of `kernel.run` in their order: arrays for the compiled functions, or plain lists.
    """

    def __init__(self, flat: Flat, *, seed: int, scale_units: int) -> None:
        self.flat = flat
        board = flat.board
        count = max(1, len(board.jobs))
        N, P, S, G, K, X, B = (
            np.zeros(max(1, size), dtype=np.int64)
            for size in (
                k.N_SIZE, count * k.P_SIZE, flat.row_size, flat.gaps * k.G_SIZE,
                (flat.keys + 1) * k.K_SIZE, count * k.X_SIZE, 4 * count,
            )
        )  # fmt: skip
        N[k.N_JOBS], N[k.N_HORIZON] = len(board.jobs), board.horizon
        N[k.N_PLACES], N[k.N_RESOURCES] = len(board.problem.places), len(board.roads)
        N[k.N_SCALE], N[k.N_MUST] = scale_units, flat.must_units
        N[k.N_RNG] = 1 + (seed * 2654435761 + 12345) % (2**32 - 1)
        N[k.N_HOLDS] = any(job.holds for job in board.jobs)
        N[k.N_BREAKS] = flat.R[k.R_BREAKS :: k.R_SIZE].any()
        N[k.N_SHIFT] = flat.time_shift
        N[k.N_FLOOR] = k.NONE
        N[k.N_TO] = board.horizon
        N[k.N_PRICES] = flat.starts
        N[k.N_CLOSE] = any(most is not None for job in board.jobs for _, _, most in job.before)
        N[k.N_MOST_FREED], N[k.N_BLINK] = MOST_FREED, BLINK
        N[k.N_NEXT_BLINK] = 1 + seed % (2 * BLINK)
        fixed = [flat.W, flat.V, flat.E, flat.U, flat.A, flat.R, flat.D, flat.C]
        self.columns: list[Columns] = [N, flat.J.copy(), P, *fixed, S, G, K, X, B, flat.T]
        self.is_compiled = True
        self._bound: tuple[compiled.Run, Callable[[int], None]] | None = None
        self.told = (0, k.FAR)

    def suit(self, *, compiled: bool) -> None:
        """Turn the columns into arrays or into lists."""
        if compiled != self.is_compiled:
            self.columns = [
                np.array(column, dtype=np.int32 if number in k.SHORT else np.int64)
                if compiled
                else column.tolist()
                for number, column in enumerate(self.columns)
            ]
            self.is_compiled = compiled
            self._bound = None

    def take_prices(self, units: npt.NDArray[np.int64], less: npt.NDArray[np.int32]) -> None:
        """Go by prices in some rounds from now on: per start its units at prices, and how far the next cheaper one is."""
        E, U, starts = self.columns[5], self.columns[6], self.flat.starts
        E[k.E_PRICED : starts * k.E_SIZE : k.E_SIZE] = less if self.is_compiled else less.tolist()
        U[starts : 2 * starts] = units if self.is_compiled else units.tolist()
        self[k.N_PRICED] = PRICED_PERCENT

    def rounds(self, run: compiled.Run, rounds: int) -> None:
        """Do so many rounds, or move (`kernel.run`)."""
        if self._bound is None or self._bound[0] is not run:
            self._bound = run, compiled.bound(run, self.columns)
        self._bound[1](rounds)

    def __getitem__(self, number: int) -> int:
        return int(self.columns[0][number])

    def __setitem__(self, number: int, value: int) -> None:
        self.columns[0][number] = value

    def load(self, places: Sequence[Place | None]) -> None:
        """Stand as these places say; penalties of what must be done are as at first. The best so far is this plan."""
        N, J, P, W, V, E, U, A, R, D, C, S, _, _, _, B, _ = self.columns
        board = self.flat.board
        J[:] = self.flat.J if self.is_compiled else self.flat.J.tolist()
        for number in range(len(board.jobs)):
            P[number * k.P_SIZE + k.P_WAY] = -1
        N[k.N_UNITS] = sum(int(J[job.number * k.J_SIZE + k.J_LEFT]) for job in board.jobs)
        N[k.N_MUST_LEFT] = sum(job.left_units is None for job in board.jobs)
        for number, road in enumerate(board.roads):
            row = R[number * k.R_SIZE + k.R_ROW]
            S[row + k.S_COUNT], S[row + k.S_UNITS], S[row + k.S_SETUP] = 0, 0, road.setup_now
        for number in board.order:
            place = places[number]
            if place is not None:
                way = self.flat.way_no[id(place.way)]
                k.put(N, J, P, W, V, E, U, R, D, S, number, way, place.at)
        N[k.N_BEST], N[k.N_BEST_MUST] = k.FAR, len(board.jobs) + 1
        # Where something that must be done is left, that weighs ever more, and more of what is left is tried.
        N[k.N_BUMP] = self.flat.must_units >> BUMP_SHIFT if N[k.N_MUST_LEFT] else 0
        N[k.N_MOST_LEFT] = MUST_LEFT_TRIED if N[k.N_MUST_LEFT] else MOST_LEFT_TRIED
        if k.is_sound(N, J, P, W, A, R, D, C, S):
            k.keep_best(N, P, B)
        self.told = (self[k.N_BEST_MUST], self[k.N_BEST])

    def is_news(self) -> bool:
        """Whether a better plan was found since this was last asked."""
        best = (self[k.N_BEST_MUST], self[k.N_BEST])
        is_news = best != self.told and best[1] < k.FAR
        self.told = best
        return is_news

    def best(self) -> list[Place | None]:
        """Return the places of the best plan so far."""
        B = self.columns[15]
        return [
            Place(self.flat.ways[B[2 * number]], int(B[2 * number + 1])) if B[2 * number] >= 0 else None
            for number in range(len(self.flat.board.jobs))
        ]


def _most_units(board: Board) -> int:
    """Return more than all jobs together can add to or take from the cost."""
    longest: dict[int, int] = {}
    for road in board.roads:
        if road.minutes is not None and id(road.minutes) not in longest:
            longest[id(road.minutes)] = max(map(max, road.minutes))
    roads = [
        2 * (longest[id(road.minutes)] if road.minutes is not None else 0) * road.units_per_minute
        + 2 * road.change_units
        for road in board.roads
    ]
    timed: dict[int, int] = {}
    total = 0
    for job in board.jobs:
        most = abs(job.left_units or 0)
        for way in job.ways:
            options = way.options
            if id(options) not in timed:
                timed[id(options)] = max(abs(max(options.units)), abs(min(options.units)))
            own = abs(way.base_units) + timed[id(options)] + sum(roads[number] for number in way.resources)
            most = max(most, own)
        total += most
    return total


def next_less(units: list[int]) -> list[int]:
    """Return for each start how many starts on the next cheaper one is, 0 where none is."""
    found = [0] * len(units)
    waiting: list[int] = []
    for i in range(len(units) - 1, -1, -1):
        while waiting and units[waiting[-1]] >= units[i]:
            waiting.pop()
        found[i] = waiting[-1] - i if waiting else 0
        waiting.append(i)
    return found


def _clock(clock: Clock, parts: list[int]) -> tuple[int, int, int]:
    """Lay out a road clock; return where its counts and its minutes begin, and how many minutes there are."""
    counts, minutes = clock.laid_out()
    at = len(parts)
    parts += counts
    parts += minutes
    return at, at + len(counts), len(minutes)


def chains(board: Board) -> list[list[int]]:
    """Return the groups of jobs bound to each other by `after`, each job after those it waits for."""
    group = list(range(len(board.jobs)))

    def root(number: int) -> int:
        while group[number] != number:
            group[number] = group[group[number]]
            number = group[number]
        return number

    for job in board.jobs:
        for ahead, _, _ in job.before:
            group[root(job.number)] = root(ahead)
    members: dict[int, list[int]] = {}
    for number in board.order:
        members.setdefault(root(number), []).append(number)
    return list(members.values())


def neighbors(board: Board) -> list[list[int]]:
    """Return for each job others that use the same resources, nearest by road first."""
    table = board.problem.road_minutes
    uses = [
        set().union(*(way.resources for way in job.ways)) if job.ways else set[int]() for job in board.jobs
    ]
    near = []
    for job in board.jobs:
        row = table[job.place]
        others = [other for other in board.jobs if other is not job and uses[other.number] & uses[job.number]]
        others.sort(key=lambda other: (row[other.place], other.number))
        near.append([other.number for other in others[:NEAREST]])
    return near
