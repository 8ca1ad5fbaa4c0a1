"""A peer of the planner: large-neighborhood search that plans small freed pieces with the exact model.

From a plan built greedily, a piece of some passes is freed at a time, everything else standing as it is; the solver
library gets a second for it, with the plan that stands as a complete hint and its probing off. The piece is a field
and those around it, what a few resources do around one hour, or passes that are left and what stands near them. To
spare the model what cannot matter, it holds only what shares a resource with the piece, and of the freed passes only
the starts that fit between what stands.
"""

from bisect import bisect_left
from collections.abc import Iterable
from copy import copy
from random import Random
from time import monotonic

import numpy as np

from farmops.bench.plan_exact import ExactPeer
from scheduling.solver.board import Board, Job, Options, Way
from scheduling.solver.line import Gap
from scheduling.solver.schedule import Place, Schedule

FREE_TASKS = 12
PIECE_SECONDS = 1.0
NEAR_MIN = 720


class Pieces:
    """The search; `schedule` is the best plan so far."""

    def __init__(self, schedule: Schedule, *, seed: int, workers: int) -> None:
        self.schedule, self.board = schedule, schedule.board
        self.rng, self.seed, self.workers = Random(seed), seed, workers
        self.pieces_done = 0

    def run(self, until: float) -> None:
        """Improve the plan until the monotonic clock shows `until`."""
        while self.board.jobs and (left := until - monotonic()) > 0:
            if not self.piece(min(PIECE_SECONDS, left)):
                break
            self.pieces_done += 1

    def piece(self, seconds: float) -> bool:
        """Free some passes and take over what the exact model makes of them, if cheaper; False when nothing is free."""
        schedule = self.schedule
        freed = sorted(self._freed())
        if not freed:
            return False
        old = schedule.save()
        for number in freed:
            if schedule.places[number] is not None:
                schedule.take(number)
        part = _Part(schedule, freed)
        schedule.restore(old)
        model = ExactPeer(part.board)
        if model.fits:
            until = monotonic() + seconds
            ended = model.improve(part.hint(schedule), until=until, seed=self.seed, workers=self.workers)
            if ended.places is not None:
                self._take_over(freed, part.places(ended.places, self.board))
        return True

    def _take_over(self, freed: list[int], places: list[tuple[int, Place]]) -> None:
        schedule = self.schedule
        old = schedule.save()
        for number in freed:
            if schedule.places[number] is not None:
                schedule.take(number)
        for number, place in places:
            schedule.put(number, place)
        if schedule.units >= old[2] or not schedule.is_sound():
            schedule.restore(old)

    def _freed(self) -> set[int]:
        rng, schedule = self.rng, self.schedule
        jobs = [job for job in self.board.jobs if job.ways and not job.pinned]
        if not jobs:
            return set()
        left = [job for job in jobs if schedule.places[job.number] is None]
        kind = rng.random()
        seed = rng.choice(left if left and kind < 0.3 else jobs)
        place = schedule.places[seed.number]
        if place is None or kind < 0.65:
            ranked = sorted(jobs, key=lambda job: (self._minutes(seed, job), rng.random()))
        else:
            held, at = set(place.way.resources), place.start
            ranked = sorted(jobs, key=lambda job: (self._strange(job, held, at), rng.random()))
        return {seed.number, *(job.number for job in ranked[:FREE_TASKS])}

    def _minutes(self, seed: Job, job: Job) -> int:
        """Return the road minutes between two passes."""
        return self.board.problem.road_minutes[seed.place][job.place]

    def _strange(self, job: Job, held: set[int], at: int) -> float:
        """Return how far a pass stands from an hour and from the resources of another."""
        place = self.schedule.places[job.number]
        if place is None:
            return 4.0 if any(held & set(way.resources) for way in job.ways) else 9.0
        shared = len(held & set(place.way.resources))
        return abs(place.start - at) / NEAR_MIN + 3 * (not shared)


class _Part:
    """The board of a piece: the freed jobs, and of what stands only what shares something with them."""

    def __init__(self, standing: Schedule, freed: list[int]) -> None:
        board = standing.board
        self.used = {number for f in freed for way in board.jobs[f].ways for number in way.resources}
        kin = {ahead for f in freed for ahead, _, _ in board.jobs[f].before}
        kin |= {behind for f in freed for behind, _, _ in board.jobs[f].behind}
        kept = [
            job.number
            for job in board.jobs
            if job.number in freed
            or job.number in kin
            or ((place := standing.places[job.number]) is not None and self.used & set(place.way.resources))
        ]
        self.numbers = [number for number in board.order if number in set(kept)]
        new = {number: i for i, number in enumerate(self.numbers)}
        self.freed = set(freed)
        self.thinned: dict[tuple[int, bytes], Options | None] = {}
        jobs = [self._job(standing, board.jobs[number], new) for number in self.numbers]
        self.board: Board = copy(board)
        self.board.jobs, self.board.order, self.board.runs = jobs, list(range(len(jobs))), {}
        for job in jobs:
            for ahead, least, most in job.before:
                jobs[ahead].behind.append((job.number, least, most))

    def _job(self, standing: Schedule, job: Job, new: dict[int, int]) -> Job:
        number, place = new[job.number], standing.places[job.number]
        before = [(new[ahead], least, most) for ahead, least, most in job.before if ahead in new]
        left_units = job.left_units
        if job.number in self.freed:
            ways = [found for way in job.ways if (found := self._thinned(standing, way, number)) is not None]
        elif place is None:
            ways = []
        else:
            ways, left_units = [self._held(place, number)], None
            before = [
                (ahead, least, most) for ahead, least, most in before if self.numbers[ahead] in self.freed
            ]
        return Job(number, job.task, job.place, ways, before, left_units, job.pinned)

    def _held(self, place: Place, number: int) -> Way:
        """Return the one way of a job that stands: its one start, and only the resources that matter."""
        way = place.way
        resources = tuple(resource for resource in way.resources if resource in self.used)
        options = _some(way.options, [place.at])
        return Way(number, way.mode, resources, way.setup, way.place, way.base_units, options, place.units)

    def _thinned(self, standing: Schedule, way: Way, number: int) -> Way | None:
        """Return a way with the starts that fit between what stands, or None if there are none."""
        lines = [standing.lines[resource] for resource in way.resources]
        starts = np.array(way.options.starts, dtype=np.int64)
        ends = np.array(way.options.ends, dtype=np.int64)
        keep = np.ones(len(starts), dtype=bool)
        for line in lines:
            # A short cut through a freed stop could make room that the gaps do not show.
            if line.road.metric:
                keep &= _inside(line.gaps(way.place, way.setup), starts, ends)
        # Ways that share their starts go on sharing them: the model looks at alike ways as one.
        key = (id(way.options), keep.tobytes())
        if key not in self.thinned:
            kept = np.flatnonzero(keep).tolist()
            self.thinned[key] = _some(way.options, kept) if kept else None
        options = self.thinned[key]
        if options is None:
            return None
        least = way.base_units + min(options.units)
        return Way(number, way.mode, way.resources, way.setup, way.place, way.base_units, options, least)

    def hint(self, schedule: Schedule) -> Schedule:
        """Return the plan that stands as a schedule of the piece's board."""
        hint = Schedule(self.board, schedule.must_units)
        for job, number in zip(self.board.jobs, self.numbers):
            place = schedule.places[number]
            if place is None:
                continue
            hint.put(job.number, _place(job, place.way.mode.id, place.start))
        return hint

    def places(self, found: Iterable[Place | None], whole: Board) -> list[tuple[int, Place]]:
        """Return the freed jobs' places in the terms of the whole board, each after those it waits for."""
        return [
            (number, _place(whole.jobs[number], place.way.mode.id, place.start))
            for number, place in zip(self.numbers, found)
            if place is not None and number in self.freed
        ]


def _place(job: Job, mode: str, start: int) -> Place:
    way = next(way for way in job.ways if way.mode.id == mode)
    return Place(way, bisect_left(way.options.starts, start))


def _some(options: Options, indexes: list[int]) -> Options:
    return Options(
        np.array([options.starts[i] for i in indexes], dtype=np.int64),
        np.array([options.ends[i] for i in indexes], dtype=np.int64),
        np.array([options.units[i] for i in indexes], dtype=np.int64),
    )


def _inside(gaps: list[Gap], starts: np.ndarray, ends: np.ndarray) -> np.ndarray:
    inside = np.zeros(len(starts), dtype=bool)
    for low, high, _ in gaps:
        inside |= (starts >= low) & (ends <= high)
    return inside
