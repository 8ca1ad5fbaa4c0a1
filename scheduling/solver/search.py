"""Large-neighborhood search by insertion: free a few jobs, put them back at their best places, keep what is better.

A round frees a chain and its neighbors, a stretch of some resources' rows, what stands in the way of a chain that is
left, or jobs picked at random, and puts them back together with the jobs that are left. A slightly dearer plan may be kept for a while; how much dearer shrinks as time passes.
With a number of rounds given, no clock decides anything.
"""

import math
from bisect import bisect_left
from collections.abc import Callable, Sequence
from random import Random
from time import monotonic

from scheduling.solver.board import Board
from scheduling.solver.greedy import MUST_UNITS, fill
from scheduling.solver.schedule import Place, Saved, Schedule

FEWEST_FREED, MOST_FREED = 2, 14
MOST_LEFT_TRIED = 24
BLINK = 0.03
WARM, COLD = 10.0, 0.03
NEAREST = 40


class Search:
    """Improves one schedule; `best` is the cheapest sound plan seen."""

    def __init__(self, schedule: Schedule, rng: Random) -> None:
        self.schedule, self.rng = schedule, rng
        self.board: Board = schedule.board
        self.best: Saved = schedule.save()
        self._best_is_sound = schedule.is_sound()
        self.near = _neighbors(self.board)
        self.chains = _chains(self.board)
        self.rounds_done = 0
        # What a typical job can lose or gain sets the scale of "slightly dearer".
        jobs = [job for job in self.board.jobs if job.ways]
        spread = sum(job.ways[-1].least_units - job.ways[0].least_units for job in jobs)
        worth = sum(job.ways[0].least_units for job in jobs) // 200
        self.scale = max(1, max(spread, worth) // max(1, len(jobs)))

    @property
    def is_complete(self) -> bool:
        """Whether the best plan does every job that must be done."""
        return self._best_is_sound and self.best[2] < MUST_UNITS

    def adopt(self, places: Sequence[Place | None]) -> None:
        """Take over a plan found elsewhere, if it is cheaper than the best."""
        other = Schedule(self.board, MUST_UNITS)
        for number in self.board.order:
            place = places[number]
            if place is not None:
                other.put(number, place)
        if not self.is_complete or other.units < self.best[2]:
            self.best = other.save()
            self._best_is_sound = other.is_sound()
            self.schedule.restore(self.best)

    def run(
        self,
        *,
        until: float | None,
        rounds: int | None,
        told: Callable[[int], None] | None = None,
        enough_units: int | None = None,
    ) -> None:
        """Search until the monotonic clock shows `until`, or for so many rounds; stop early at a bound."""
        began = monotonic()
        done = 0
        if not self.board.jobs:
            return
        while True:
            if rounds is not None:
                if done >= rounds:
                    break
                passed = done / rounds
            else:
                assert until is not None
                now = monotonic()
                if now >= until:
                    break
                passed = (now - began) / max(until - began, 1e-9)
            if enough_units is not None and self.best[2] <= enough_units:
                break
            self.round(WARM * (COLD / WARM) ** passed)
            done += 1
            if told is not None:
                told(self.best[2])
        self.rounds_done += done
        self.schedule.restore(self.best)

    def round(self, warmth: float) -> None:
        schedule, rng = self.schedule, self.rng
        saved = schedule.save()
        freed, first = self._free()
        for number in freed:
            if schedule.places[number] is not None:
                schedule.take(number)
        left = [n for n, place in enumerate(schedule.places) if place is None and self.board.jobs[n].ways]
        extra = [n for n in left if n not in freed]
        if len(extra) > MOST_LEFT_TRIED:
            extra = rng.sample(extra, MOST_LEFT_TRIED)
        order = self._sorted(freed + extra)
        if first:
            ahead = set(first)
            order = [*first, *(number for number in order if number not in ahead)]
        fill(schedule, order, rng, BLINK)
        if not schedule.is_sound():
            schedule.restore(saved)
            return
        if schedule.units < self.best[2] or not self._best_is_sound:
            self.best = schedule.save()
            self._best_is_sound = True
        margin = -math.log(1.0 - rng.random()) * warmth * self.scale
        if schedule.units - saved[2] > margin:
            schedule.restore(saved)

    def _free(self) -> tuple[list[int], list[int]]:
        """Return the jobs to free, and those of them to be put in before all others."""
        rng = self.rng
        count = rng.randint(FEWEST_FREED, MOST_FREED)
        pick = rng.random()
        if pick < 0.35:
            return self._free_near(count), []
        if pick < 0.65:
            return self._free_rows(count), []
        if pick < 0.9:
            return self._free_for_left(count)
        return rng.sample(range(len(self.board.jobs)), min(count, len(self.board.jobs))), []

    def _free_near(self, count: int) -> list[int]:
        """A job's chain, then the chains of its neighbors."""
        rng = self.rng
        seed = rng.randrange(len(self.board.jobs))
        freed = dict.fromkeys(self.chains[seed])
        for near in self.near[seed]:
            if len(freed) >= count:
                break
            if rng.random() < 0.6:
                freed.update(dict.fromkeys(self.chains[near] if rng.random() < 0.5 else [near]))
        return list(freed)[: MOST_FREED * 2]

    def _free_rows(self, count: int) -> list[int]:
        """What stands on a few resources around one moment."""
        rng, lines = self.rng, self.schedule.lines
        busy = [number for number, line in enumerate(lines) if line.stops]
        if not busy:
            return []
        number = rng.choice(busy)
        seed = rng.choice(lines[number].stops)
        freed = {seed.job: None}
        rows = [number]
        others = [other for other in busy if other != number]
        rows += rng.sample(others, min(len(others), rng.randint(0, 3)))
        reach = max(1, count // len(rows))
        for row in rows:
            stops = sorted(lines[row].stops, key=lambda stop: (abs(stop.start - seed.start), stop.job))
            freed.update(dict.fromkeys(stop.job for stop in stops[:reach]))
        return list(freed)

    def _free_for_left(self, count: int) -> tuple[list[int], list[int]]:
        """What stands in the way of a left job and those of its chain that are left with it: they go first."""
        rng, schedule, jobs = self.rng, self.schedule, self.board.jobs
        left = [job.number for job in jobs if job.ways and schedule.places[job.number] is None]
        if not left:
            return self._free_rows(count), []
        chain = self.chains[rng.choice(left)]
        first = [n for n in chain if schedule.places[n] is None and jobs[n].ways]
        freed = dict.fromkeys(first)
        low = 0
        for number in first:
            way = rng.choice(jobs[number].ways)
            starts = way.options.starts
            at = bisect_left(starts, low)
            if at == len(starts):
                break
            at = min(len(starts) - 1, at + int(rng.expovariate(1.0) * len(starts) / 8))
            start, end = starts[at], way.options.ends[at]
            low = end
            for resource in way.resources:
                for stop in schedule.lines[resource].stops:
                    if stop.start < end and stop.end > start:
                        freed[stop.job] = None
        return list(freed)[: MOST_FREED * 2], first

    def _sorted(self, numbers: list[int]) -> list[int]:
        rng, jobs = self.rng, self.board.jobs
        pick = rng.randrange(5)
        rng.shuffle(numbers)
        far = self.board.horizon * 2
        if pick == 1:
            numbers.sort(key=lambda n: far if jobs[n].task.due is None else jobs[n].task.due or 0)
        elif pick == 2:
            numbers.sort(key=lambda n: -self.schedule.left_units[n])
        elif pick == 3:
            numbers.sort(key=lambda n: len(jobs[n].ways))
        elif pick == 4:
            numbers.sort(key=lambda n: -jobs[n].task.late_cents_per_hour)
        return numbers


def _chains(board: Board) -> list[list[int]]:
    """For each job, all jobs bound to it by `after`, itself first."""
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
    return [
        [number, *(other for other in members[root(number)] if other != number)]
        for number in range(len(board.jobs))
    ]


def _neighbors(board: Board) -> list[list[int]]:
    """For each job, others that use the same resources, nearest by road first."""
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
