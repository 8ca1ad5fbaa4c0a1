"""Large-neighborhood search by insertion: free a few jobs, put them back at their best places, keep what is better.

The rounds themselves are `kernel`; here is what lies around them: which plan to begin from, how much dearer a plan may
be kept (ever less within a leg of the search, and every leg goes on from the best), and the clock, which is looked at
between chunks of rounds. Several workers search in parts of one plan (`parts`), or, where there is too little for that or
it is not wanted, each on its own from a seed of its own; after each leg they go on from the best of all. With a number
of rounds given, no clock decides anything.
"""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import nullcontext
from random import Random
from time import monotonic

from scheduling.solver import compiled, kernel
from scheduling.solver.board import UNITS_PER_CENT, Board, Job
from scheduling.solver.flat import Flat, State
from scheduling.solver.greedy import MUST_UNITS
from scheduling.solver.guiding import starts_at_prices
from scheduling.solver.lagrange import Priced
from scheduling.solver.parts import TURN_ROUNDS, Parts
from scheduling.solver.schedule import Place, Saved, Schedule

# Legs of the search: share of the time, and how many times the scale a plan may be dearer at first and at last.
# How many are left settles between 8 and 1. By trial on 179 jobs of three farms, one slow cooling and a cooler one after
# it from the best plan of all workers left plans 1 % cheaper than warming up five times; as hot as 14 was no better.
WARM_LEGS = ((0.8125, 8.0, 0.8), (0.1875, 2.5, 1.0))
MENDING_LEGS = ((1.0, 1.0, 0.3),)
BEFORE_PROOF_LEGS = ((0.6, 20.0, 0.3), (0.4, 6.0, 0.2))
LATER_LEGS = ((1.0, 3.0, 0.1),)
LEGS = ((0.65, 8.0, 0.8), (0.35, 2.5, 0.3))
# What there is no time to cool from is not worth warming to: about so much for a round a task, by the cube root.
WARMTH_A_ROUND, LEAST_WARMTH = 1.4, 3.0
# From a plan that is there already the search begins cool and ends cold: what moves without a gain is moved for nothing.
# Between, it warms up: by trial on 10 to 14 fields, cool alone it stuck in plans up to a tenth dearer.
GOING_ON_LEGS = ((0.2, 3.0, 0.1), *((0.1, 5.0, 1.0),) * 4, (0.4, 1.2, 0.03))
STILL_LEGS = ((1.0, 1.0, 0.03),)
Legs = tuple[tuple[float, float, float], ...]
CHUNK_ROUNDS = 50
LOADING_SHARE = 0.6
CHUNK_S = 0.15
MOST_CHUNK_ROUNDS = 20_000
# Below so many rounds times jobs the compiled kernel is not worth loading.
FEW_JOB_ROUNDS = 20_000
IN_PARTS_FROM_JOBS = 300
"""Jobs from which workers share one plan. By trial in 15 s: at 400 jobs the plans were cheaper so, at 100 to 180 dearer."""


class Search:
    """Improves one schedule; `best` is the cheapest sound plan seen."""

    def __init__(self, schedule: Schedule, rng: Random, workers: int = 1) -> None:
        self.schedule = schedule
        self.board: Board = schedule.board
        self.seed = rng.getrandbits(31)
        self.workers = workers
        self.best: Saved = schedule.save()
        self._best_is_sound = schedule.is_sound()
        self.rounds_done = 0
        self._states: list[State] = []
        self._parts: Parts | None = None
        self._may_part = self._is_apart = True
        self._priced: Priced | None = None
        # What a typical job can lose or gain sets the scale of "slightly dearer".
        jobs = [job for job in self.board.jobs if job.ways]
        spread = sum(_spread_units(job) for job in jobs)
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
        is_sound = other.is_sound()
        if (is_sound, -other.units) > (self._best_is_sound, -self.best[2]):
            self.best, self._best_is_sound = other.save(), is_sound
            self.schedule.restore(self.best)

    def go_by(self, priced: Priced) -> None:
        """Go by prices on the hours of resources in some rounds, from the next chunk on; of any thread."""
        self._priced = priced

    def run(
        self,
        *,
        until: float | None,
        rounds: int | None,
        told: Callable[[], None] | None = None,
        enough_units: int | None = None,
        stop: Callable[[], bool] | None = None,
        legs: Legs = LEGS,
        apart: bool = False,
    ) -> None:
        """Search until the monotonic clock shows `until`, or for so many rounds at most; stop early at a bound or when told so.

        Each worker does so many rounds; `apart` on a plan of its own, which asks less of the interpreter.
        """
        if not any(job.ways for job in self.board.jobs):
            return
        if rounds is not None and rounds * len(self.board.jobs) > FEW_JOB_ROUNDS:
            compiled.begin()

        def is_over() -> bool:
            if told is not None:
                told()
            if enough_units is not None and self._best_is_sound and self.best[2] <= enough_units:
                return True
            return stop is not None and stop()

        self._begin(apart)
        try:
            with ThreadPoolExecutor(self.workers) if self.workers > 1 else nullcontext() as pool:
                if rounds is not None:
                    self._count(rounds, legs, pool, is_over)
                else:
                    assert until is not None
                    self._clock(until, legs, pool, is_over)
        finally:
            if self._parts is not None:
                self._parts.end()
            self.schedule.restore(self.best)

    def _begin(self, apart: bool) -> None:
        if not self._states:
            flat = Flat(self.board)
            for number in range(self.workers):
                scale_units = max(1, flat.units(self.scale))
                self._states.append(State(flat, seed=self.seed + 7919 * number, scale_units=scale_units))
            if self.workers > 1:
                self._parts = Parts(flat, self._states, self.seed)
        self._may_part = not apart and len(self.board.jobs) >= IN_PARTS_FROM_JOBS
        self._is_apart = False
        places = self.best[0]
        for state in self._states:
            state.load(places)

    def _count(
        self, rounds: int, legs: Legs, pool: ThreadPoolExecutor | None, is_over: Callable[[], bool]
    ) -> None:
        done = 0
        reached = 0.0
        warmest = self._warmest(rounds)
        for leg, (share, warm, cold) in enumerate(legs):
            reached += share
            end = rounds if leg + 1 == len(legs) else round(rounds * reached)
            began = done
            while done < end:
                chunk = min(CHUNK_ROUNDS, end - done)
                self._chunk(chunk, _warmth(min(warm, warmest), cold, (done - began) / (end - began)), pool)
                done += chunk
                if is_over():
                    return
            self._share()

    def _clock(
        self, until: float, legs: Legs, pool: ThreadPoolExecutor | None, is_over: Callable[[], bool]
    ) -> None:
        # Plain rounds beside the loading would only slow it down.
        compiled.wait(max(0.0, until - monotonic()) * LOADING_SHARE)
        began = monotonic()
        chunk, reached, leg_began = 1, 0.0, began
        rounds_before = self.rounds_done
        warmest = LEAST_WARMTH
        for share, warm, cold in legs:
            reached += share
            end = began + (until - began) * reached
            while True:
                now = monotonic()
                if now >= end:
                    break
                was_compiled = compiled.is_loaded()
                self._chunk(
                    chunk, _warmth(min(warm, warmest), cold, (now - leg_began) / (end - leg_began)), pool
                )
                if is_over():
                    return
                took = monotonic() - now
                # How many rounds there will be in all shows from the pace so far.
                whole = (until - began) / max(monotonic() - began, 1e-6)
                warmest = self._warmest(round((self.rounds_done - rounds_before) * whole))
                pace = max(0.5, min(2.0, CHUNK_S / max(took, 1e-6)))
                still = round((end - monotonic()) * chunk / max(took, 1e-6))
                chunk = max(1, min(MOST_CHUNK_ROUNDS, still, round(chunk * pace + 0.5)))
                if compiled.is_loaded() != was_compiled:
                    chunk *= 10
            self._share()
            leg_began = end

    def _warmest(self, rounds: int) -> float:
        """Return how many times the scale a plan may be dearer at first, with so many rounds to come."""
        return max(LEAST_WARMTH, WARMTH_A_ROUND * (rounds / len(self.board.jobs)) ** (1 / 3))

    def _chunk(self, rounds: int, warmth: float, pool: ThreadPoolExecutor | None) -> None:
        run = compiled.run_now()
        priced, self._priced = self._priced, None
        at_prices = None if priced is None else starts_at_prices(self._states[0].flat, priced)
        for state in self._states:
            state.suit(compiled=run is not kernel.run)
            if at_prices is not None:
                state.take_prices(*at_prices)
            state[kernel.N_WARMTH] = min(2**46, max(1, int(state[kernel.N_SCALE] * warmth)))
        beside = None if run is kernel.run else pool
        if self._parts is not None and self._may_part and self._parts.are_worth_it():
            if self._is_apart:
                self._share()
                self._is_apart = False
            for begun in range(0, rounds, TURN_ROUNDS):
                self._parts.turn(run, min(TURN_ROUNDS, rounds - begun), beside)
        else:
            self._is_apart = True
            self._chunk_apart(run, rounds, beside)
        self.rounds_done += rounds
        self._collect()

    def _chunk_apart(self, run: compiled.Run, rounds: int, pool: ThreadPoolExecutor | None) -> None:
        if self._parts is not None:
            self._parts.end()
        if pool is None:
            for state in self._states:
                state.rounds(run, rounds)
        else:
            for future in [pool.submit(state.rounds, run, rounds) for state in self._states]:
                future.result()

    def _collect(self) -> None:
        """Take over the best of the states where it beats the best so far."""
        for state in self._states:
            if state.is_news():
                self.adopt(state.best())
            if state[kernel.N_BUMP] and state[kernel.N_BEST_MUST] == 0:
                state.load(state.best())  # all that must be done is in: nothing need weigh more any longer

    def _share(self) -> None:
        """Have every worker go on from the best of all."""
        for state in self._states:
            state.load(self.best[0])


def _spread_units(job: Job) -> int:
    """Return how much dearer a job's dearest way is than its cheapest, the price of a change aside.

    That price may be above any plan; a search as warm as that would cool from nowhere to nowhere.
    """
    change_cents = 0 if job.task.was is None else job.task.was.change_cents
    return max(0, job.ways[-1].least_units - job.ways[0].least_units - change_cents * UNITS_PER_CENT)


def _warmth(warm: float, cold: float, into: float) -> float:
    """Return the warmth on the way from the one to the other, of 0 to 1."""
    return warm * (cold / warm) ** into
