"""Large-neighborhood search by insertion: free a few jobs, put them back at their best places, keep what is better.

A round frees a chain and its neighbors, a stretch of some resources' rows, what stands in the way of a chain that is
left, or jobs picked at random, and puts them back together with the jobs that are left. A slightly dearer plan may be
kept for a while; how much dearer shrinks as time passes. Where there is time enough, the search starts over a few times
and goes on from the best. With a number of rounds given, no clock decides anything.
"""

import math
from collections.abc import Callable, Sequence
from random import Random
from time import monotonic

from scheduling.solver.board import Board
from scheduling.solver.freeing import Freeing
from scheduling.solver.greedy import MUST_UNITS, fill
from scheduling.solver.schedule import Place, Saved, Schedule

BLINK = 0.03
WARM, COLD = 10.0, 0.03
PLAIN, SOONER = 0.3, 0.7
STARTS, START_SHARE, ROUNDS_A_JOB = 3, 0.2, 25
TRIAL_ROUNDS = 10


class Search:
    """Improves one schedule; `best` is the cheapest sound plan seen."""

    def __init__(self, schedule: Schedule, rng: Random) -> None:
        self.schedule, self.rng = schedule, rng
        self.board: Board = schedule.board
        self.freeing = Freeing(schedule, rng)
        self.first: Saved = schedule.save()
        self.best: Saved = self.first
        self._best_is_sound = schedule.is_sound()
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
        told: Callable[[], None] | None = None,
        enough_units: int | None = None,
        stop: Callable[[], bool] | None = None,
    ) -> None:
        """Search until the monotonic clock shows `until`, or for so many rounds at most; stop early at a bound or when told so."""

        def leg(end: float | None, count: int | None) -> None:
            self._leg(end, count, told, enough_units, stop)

        many = len(self.board.jobs) * ROUNDS_A_JOB
        if rounds is not None:
            if rounds >= many:
                for _ in range(STARTS):
                    self.schedule.restore(self.first)
                    leg(until, round(rounds * START_SHARE))
                rounds -= STARTS * round(rounds * START_SHARE)
            self.schedule.restore(self.best)
            leg(until, rounds)
        else:
            assert until is not None
            began = monotonic()
            leg(until, TRIAL_ROUNDS)
            now = monotonic()
            if now < until and (until - now) / (now - began) * TRIAL_ROUNDS >= many:
                share = (until - now) * START_SHARE
                for number in range(STARTS):
                    self.schedule.restore(self.first)
                    leg(now + share * (number + 1), None)
            self.schedule.restore(self.best)
            leg(until, None)
        self.schedule.restore(self.best)

    def _leg(
        self,
        until: float | None,
        rounds: int | None,
        told: Callable[[], None] | None,
        enough_units: int | None,
        stop: Callable[[], bool] | None,
    ) -> None:
        """Search from the schedule as it stands, ever cooler; stop at the clock or the count, whatever comes first."""
        began = monotonic()
        done = 0
        while self.board.jobs and (rounds is None or done < rounds):
            passed = 0.0 if rounds is None else done / rounds
            if until is not None:
                now = monotonic()
                if now >= until:
                    break
                if rounds is None:
                    passed = (now - began) / (until - began)
            if enough_units is not None and self._best_is_sound and self.best[2] <= enough_units:
                break
            if stop is not None and stop():
                break
            self.round(WARM * (COLD / WARM) ** passed)
            done += 1
            if told is not None:
                told()
        self.rounds_done += done

    def round(self, warmth: float) -> None:
        """Free some jobs and put them back; keep the outcome if it is sound and not too dear."""
        schedule, rng = self.schedule, self.rng
        saved = schedule.save()
        freed, order = self.freeing.next()
        for number in freed:
            if schedule.places[number] is not None:
                schedule.take(number)
        pull = 0 if rng.random() < PLAIN else int(self.scale * 10 ** rng.uniform(-1, 1)) // 1440
        schedule.pull = pull if rng.random() < SOONER else -pull
        fill(schedule, order, rng, BLINK)
        schedule.pull = 0
        if not schedule.is_sound():
            schedule.restore(saved)
            return
        if schedule.units < self.best[2] or not self._best_is_sound:
            self.best = schedule.save()
            self._best_is_sound = True
        margin = -math.log(1.0 - rng.random()) * warmth * self.scale
        if schedule.units - saved[2] > margin:
            schedule.restore(saved)
