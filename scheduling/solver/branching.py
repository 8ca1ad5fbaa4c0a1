"""The proof by cases: bound by routes, take out what is too dear, and split what is left on one decision after the other.

Each case is a part of the problem. What its bound takes out shrinks it; a case whose bound reaches the cost of the plan
in hand is done; a small one goes to the exact model. Cases are taken up in rounds of as many as there are workers, the
least bound first, so that a count of cases gives the same answer on every machine.
"""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import nullcontext
from dataclasses import dataclass, field, replace
from heapq import heappop, heappush
from time import monotonic

import numpy as np

from scheduling.solver.board import Board, Way
from scheduling.solver.cpsat import Model, is_in_reach
from scheduling.solver.follow import Follow
from scheduling.solver.greedy import schedule_of
from scheduling.solver.routes import Judged, Open, Routes
from scheduling.solver.routes_lp import Floats, solved
from scheduling.solver.schedule import Place, Schedule
from scheduling.solver.symmetry import mirrored_pairs
from scheduling.solver.timeline import Ints
from scheduling.solver.trimming import restricted, translated

MOST_CHOICES = 9_000
LEAF_CHOICES = 350
LEAF_WORK, LAST_WORK, SUPPORT_WORK = 0.15, 3.0, 0.1
AGAIN_SHARE = 0.75
NOTHING, WHOLE = 1e-4, 1 - 1e-4
Places = list[Place | None]


@dataclass(order=True, slots=True)
class _Case:
    units: int
    number: int
    routes: Routes = field(compare=False)
    open: Open = field(compare=False)
    potentials: list[Ints] = field(compare=False)


@dataclass(slots=True)
class _Looked:
    """What came of a case: cases that it splits into, a cheaper plan (on the board of its routes), or nothing."""

    cases: list[tuple[int, Routes, Open, list[Ints]]]
    places: tuple[Board, Places] | None = None
    is_open: bool = False  # not settled for want of time


@dataclass(slots=True)
class Proof:
    """The best plan known at the end, the bound, and how many cases it took."""

    places: Places
    units: int
    bound_units: int
    cases: int


class Branching:
    """The cases of one board below the cost of a plan in hand."""

    def __init__(
        self,
        board: Board,
        schedule: Schedule,
        *,
        workers: int,
        seed: int,
        until: float | None,
        most_cases: int | None,
        stop: Callable[[], bool] | None,
    ) -> None:
        self.board, self.workers, self.seed = board, workers, seed
        self.until, self.most_cases, self.stop = until, most_cases, stop
        self.places, self.upper = list(schedule.places), schedule.units
        self.heap: list[_Case] = []
        self.made = self.done = 0
        self.unsettled: list[int] = []

    def run(self, least: int) -> Proof:
        """Go through cases until all are settled or a limit is reached; `least` is a bound known before."""
        routes = Routes(self.board)
        if routes.fits:
            open_ = routes.everything()
            _tell_apart(routes, open_)
            near = [np.zeros(net.nodes, dtype=np.int64) for net in routes.nets]
            self._push(least, routes, open_, near)
            with ThreadPoolExecutor(self.workers) if self.workers > 1 else nullcontext() as pool:
                while self.heap and not self._is_over():
                    self._round(pool)
            least = max(least, min([case.units for case in self.heap] + self.unsettled, default=self.upper))
        return Proof(self.places, self.upper, min(least, self.upper), self.done)

    def _is_over(self) -> bool:
        if self.heap[0].units >= self.upper:
            self.heap.clear()
            return True
        if self.most_cases is not None and self.done >= self.most_cases:
            return True
        return (self.until is not None and monotonic() > self.until) or (
            self.stop is not None and self.stop()
        )

    def _push(self, units: int, routes: Routes, open_: Open, potentials: list[Ints]) -> None:
        self.made += 1
        heappush(self.heap, _Case(units, self.made, routes, open_, potentials))

    def _round(self, pool: ThreadPoolExecutor | None) -> None:
        cases: list[_Case] = []
        while self.heap and len(cases) < self.workers:
            case = heappop(self.heap)
            if case.units < self.upper:
                cases.append(case)
        upper = self.upper
        if pool is None:
            looked = [self._look(case, upper) for case in cases]
        else:
            looked = list(pool.map(lambda case: self._look(case, upper), cases))
        for case, found in zip(cases, looked):
            self.done += 1
            if found.places is not None and not self._take(*found.places):
                self.unsettled.append(case.units)
            for units, routes, open_, potentials in found.cases:
                if units < self.upper:
                    self._push(max(units, case.units), routes, open_, potentials)
            if found.is_open:
                self.unsettled.append(case.units)

    def _take(self, board: Board, places: Places) -> bool:
        """Keep a plan if it is cheaper; no when it does not stand on the whole board."""
        there = translated(places, self.board)
        if there is None:
            return False
        schedule = schedule_of(self.board, there)
        if not schedule.is_sound():
            return False
        if schedule.units < self.upper:
            self.places, self.upper = there, schedule.units
        return True

    def _seconds(self) -> float | None:
        return None if self.until is None else self.until - monotonic()

    def _look(self, case: _Case, upper: int) -> _Looked:
        routes, open_, best = case.routes, case.open, case.units
        plan: tuple[Board, Places] | None = None
        while True:
            found = solved(routes, open_, seconds=self._seconds())
            if found is None:
                return self._last(routes, open_, None, upper, plan)
            judged = routes.judge(open_, found.potentials)
            best = max(best, judged.units)
            if best >= upper:
                return _Looked([], plan)
            before = int(open_.choices.sum())
            open_ = routes.narrowed(open_, judged, upper - judged.units)
            now = int(open_.choices.sum())
            cheaper = self._support(routes, open_, found.shares, upper)
            if cheaper is not None:
                plan, upper = cheaper[:2], cheaper[2]
                if best >= upper:
                    return _Looked([], plan)
                open_ = routes.narrowed(open_, judged, upper - judged.units)
                now = int(open_.choices.sum())
            if now <= LEAF_CHOICES:
                settled = self._exact(routes, open_, judged, upper, LEAF_WORK)
                if settled is not None:
                    settled.places = settled.places or plan
                    return settled
            if now > AGAIN_SHARE * before:
                break
            routes = Routes(self.part(routes, open_))
            open_ = routes.everything()
        cases = self._split(routes, open_, judged, found.shares, upper)
        if cases is None:
            return self._last(routes, open_, judged, upper, plan)
        return _Looked(cases, plan)

    def _last(
        self,
        routes: Routes,
        open_: Open,
        judged: Judged | None,
        upper: int,
        plan: tuple[Board, Places] | None,
    ) -> _Looked:
        """Settle a case for which nothing else is left but the exact model."""
        settled = self._exact(routes, open_, judged, upper, LAST_WORK)
        if settled is None:
            return _Looked([], plan, is_open=True)
        # All that is allowed was narrowed below the plan found on the way: it must not get lost.
        settled.places = settled.places or plan
        return settled

    def part(self, routes: Routes, open_: Open) -> Board:
        """Return the board of what is allowed."""
        keep: dict[int, set[int]] = {}
        for kind, start in zip(routes.kind[open_.choices].tolist(), routes.start[open_.choices].tolist()):
            keep.setdefault(kind, set()).add(start)

        def starts(way: Way) -> set[int]:
            return keep.get(routes.kind_of[way.job, routes.layout.key(way)], set())

        return restricted(routes.board, starts, open_.left)

    def _exact(
        self, routes: Routes, open_: Open, judged: Judged | None, upper: int, work: float
    ) -> _Looked | None:
        """Settle a case by the exact model; None when that is not done in so much work."""
        board = self.part(routes, open_)
        if not is_in_reach(board):
            return None
        follow = None if judged is None else Follow(routes, judged, upper - judged.units).can
        model = Model(board, follow)
        if not model.fits:
            return None
        model.below(upper)
        found = model.solve(
            None, seconds=self._seconds(), work=work, seed=self.seed, workers=1, stop=self.stop
        )
        if not found.proved:
            return None
        return _Looked([], None if found.places is None else (board, found.places))

    def _support(
        self, routes: Routes, open_: Open, shares: Floats, upper: int
    ) -> tuple[Board, Places, int] | None:
        """Look for a cheaper plan among the choices that the program took a share of."""
        some = replace(open_, choices=open_.choices & (shares > 0.01))
        board = self.part(routes, some)
        model = Model(board) if is_in_reach(board) else None
        if model is None or not model.fits:
            return None
        model.below(upper)
        found = model.solve(
            None, seconds=self._seconds(), work=SUPPORT_WORK, seed=self.seed, workers=1, stop=self.stop
        )
        if found.places is None:
            return None
        schedule = schedule_of(board, found.places)
        return (
            (board, found.places, schedule.units) if schedule.is_sound() and schedule.units < upper else None
        )

    def _split(
        self, routes: Routes, open_: Open, judged: Judged, shares: Floats, upper: int
    ) -> list[tuple[int, Routes, Open, list[Ints]]] | None:
        """Return the two cases of one decision, None when nothing is left to decide."""
        sides = _decision(routes, open_, shares)
        if sides is None:
            return None
        cases = []
        for side in sides:
            judged_side = routes.judge(side, judged.potentials)
            if judged_side.units < upper:
                narrow = routes.narrowed(side, judged_side, upper - judged_side.units)
                cases.append((judged_side.units, routes, narrow, judged.potentials))
        return cases


def _tell_apart(routes: Routes, open_: Open) -> None:
    """Of two resources that can change places, let the first do a job that is done by one of them in any case.

    Whatever plan the other does it in has a twin that costs the same.
    """
    board = routes.board
    for one, other in mirrored_pairs(board):
        for number in board.order:
            ways = board.jobs[number].ways
            if ways and all((one in way.resources) != (other in way.resources) for way in ways):
                a, z = routes.span[number]
                class_no = routes.layout.class_no[other]
                banned = [kind for kind, (_, classes, _) in enumerate(routes.kinds) if class_no in classes]
                open_.choices[a:z] &= ~np.isin(routes.kind[a:z], banned)
                break


def _decision(routes: Routes, open_: Open, shares: Floats) -> tuple[Open, Open] | None:
    """Return the two sides of the decision that is least decided: who, or whether, or else when."""
    best, found = 0.0, None
    for number, (a, z) in enumerate(routes.span):
        allowed = open_.choices[a:z]
        kinds = routes.kind[a:z]
        for kind in np.unique(kinds[allowed]).tolist():
            share = float(shares[a:z][kinds == kind].sum())
            doubt = min(share, 1 - share)
            if doubt > max(best, 0.02):
                best, found = doubt, (number, kinds == kind)
    if found is None:
        for number, (a, z) in enumerate(routes.span):
            allowed, starts, part = open_.choices[a:z], routes.start[a:z], shares[a:z]
            if len(np.unique(starts[allowed])) < 2 or part.sum() < NOTHING:
                continue
            middle = float((starts * part).sum() / part.sum())
            spread = float((np.abs(starts - middle) * part).sum())
            early = starts <= middle
            if spread > best and (early & allowed).any() and (~early & allowed).any():
                best, found = spread, (number, early)
    if found is None:
        return None
    number, inside = found
    a, z = routes.span[number]
    yes, no = open_.copy(), open_.copy()
    yes.choices[a:z] &= inside
    yes.left[number] = False
    no.choices[a:z] &= ~inside
    return yes, no
